"""Days until the bank is at its floor and flat, with this or that lost, from any moment on."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from powersim.defaults import MEMBERS, SEED
from powersim.physics.bank import soc_of
from powersim.planning.cases import ALL_LOADS, NO_COMFORT, cases_of
from powersim.planning.days_left import days_from
from powersim.planning.dropping import Dropping, Loss, dropping
from powersim.planning.endurance_lines import EnduranceLines
from powersim.planning.endurance_table import EnduranceTable
from powersim.planning.failures import NO_CHARGING, NO_ENGINE, WORKING
from powersim.planning.fuel_lasts import LONGER, FuelCourse, fuel_course
from powersim.planning.hour_in_gear import engine_hours
from powersim.planning.scenario import (
    FEW,
    Scenario,
    first_of,
    first_step_from,
    forcing_of,
    scalar_if_single,
    state_at,
    state_of_first,
)
from powersim.planning.session_costs import litres_per_Ah, session_costs
from powersim.planning.sessions_left import SessionTable, bank_buys
from powersim.planning.slower import slowed
from powersim.planning.worst_moment import WorstMoment, worst_moment

if TYPE_CHECKING:
    from powersim.simulation.prepared_passage import PreparedPassage
    from powersim.simulation.result import SimulationResult
    from powersim.voyage.track import Track

#: How long the boat is held at her last position where what comes after landfall is asked for.
HOLD_DAYS = 60.0
#: Given in place of a moment, it asks for the worst one.
WORST = "worst"
#: About how long the parts of the work take, in hundredths.
_PARTS = {"worst": 20, "before": 5, "lines": 50, "dropping": 20, "fuel": 15}


def endurance(
    result: SimulationResult | PreparedPassage,
    *,
    from_h: float | str = 0.0,
    members: int = MEMBERS,
    seed: int = SEED,
    without: Sequence[str] = (),
    beyond: bool = False,
    costs: bool = True,
    progress: Callable | None = None,
) -> EnduranceTable:
    """The endurance table of a simulated passage.

    Parameters
    ----------
    result : SimulationResult or PreparedPassage
        The passage in the mean sky.
    from_h : float or "worst"
        Hours after departure, taken at the step's edge before; or the moment from which the bank
        lasts shortest if nothing charges. [h]
    members : int
        Number of members; 1 for the mean sky.
    seed : int
        Seed of the random numbers. Member 7 has the same weather here as in an ensemble.
    without : sequence of str
        Names of failures, loads or roles of loads that are lost together, in one more line.
    beyond : bool
        Whether to hold the boat at her last position for HOLD_DAYS after landfall, where sun,
        nights and loads go on.
    costs : bool
        Whether to work out as well what each load costs, how long the diesel lasts and the lines
        from the worst moment; the lines alone take half of the time.
    progress : callable, optional
        Called with the share of the work that is done, now and then.

    Returns
    -------
    EnduranceTable
        Of floats in the mean sky, else of arrays shaped (members,).

    Raises
    ------
    ValueError
        If from_h lies before departure or not before landfall.
    InputError
        If `without` names what is not aboard.

    Notes
    -----
    Until that moment everything works and all loads are on. From then on each line goes its own
    way, from the state of the bank, or of each member's bank, and with all of the physics. Without
    an engine there is no motoring either, but the boat is kept on her legs and dates all the same.
    """
    idle = {"worst": not costs and from_h != WORST, "dropping": not costs, "fuel": not costs}
    parts = {name: part for name, part in _PARTS.items() if not idle.get(name)}
    study = _Study(
        result,
        members=members,
        seed=seed,
        beyond=beyond,
        progress=_progress_of_parts(progress, parts),
    )
    return study.table(from_h=from_h, without=without, costs=costs)


def endurance_as_simulated(result: SimulationResult) -> EnduranceTable:
    """The endurance table from departure, in the members that a passage was simulated in.

    Parameters
    ----------
    result : SimulationResult
        In average weather, or with members.
    """
    ensemble = result.ensemble
    members, seed = (1, SEED) if ensemble is None else (ensemble.members, ensemble.seed)
    return endurance(result, members=members, seed=seed)


def first_step(track: Track, from_h: float) -> int:
    """The step within which an hour after departure lies.

    ValueError says that it lies before departure or not before landfall.
    """
    first = math.floor(from_h / track.step_h + 1e-9) if math.isfinite(from_h) else -1
    if not 0 <= first < track.n_steps or not from_h < track.arrival_h:
        raise ValueError(f"from_h must be 0 to below {track.arrival_h:g}, got {from_h!r}")
    return first


class _Study:
    """The work on one table: a passage, and the members that it is simulated in."""

    def __init__(self, result, *, members, seed, beyond, progress):
        if not members >= 1:
            raise ValueError(f"members must be 1 or more, got {members!r}")
        track = result.prepared.track
        self.passage, self.step_h = result.passage, track.step_h
        self.boat, self.battery = result.passage.boat, result.passage.boat.battery
        self.held_days = HOLD_DAYS if beyond else 0.0
        self.scenario = Scenario(
            members=None if members == 1 else members,
            seed=seed,
            step_h=self.step_h,
            hold_h=24.0 * self.held_days,
        )
        self.forcing = (
            self.scenario.of(self.passage)
            if beyond
            else forcing_of(result, members=members, seed=seed)
        )
        self.track = self.forcing.prepared.track
        self.landfall = first_step_from(self.track.arrival_h, self.step_h)
        self.until = self.track.n_steps if beyond else self.landfall
        self.progress = progress

    def table(self, *, from_h, without, costs) -> EnduranceTable:
        cases = cases_of(self.passage, self.forcing.prepared, without=without)
        asked = None if from_h == WORST else first_step(self.track, from_h)
        worst = self._worst() if costs or asked is None else None
        # Beside the moment that is asked for stands the worst, and beside the worst departure.
        steps = [step for step in (asked, worst.step if worst else None) if step is not None]
        steps = ([*steps, 0] if asked is None else steps) if costs else steps[:1]
        states = [self._state_at(step, tell=step == max(steps)) for step in steps]
        lines = EnduranceLines(self.forcing, cases, boat=self.boat)
        questions = [lines.questions(*each) for each in zip(steps, states, strict=True)]
        questions[1:] = [_told_beside(each) for each in questions[1:]]
        lasts_h = lines.lasts_h(questions, until=self.until, progress=self.progress("lines"))
        moments = [
            days_from(
                hours,
                forcing=self.forcing,
                state=state,
                step=step,
                worst=worst if (asked is None) == (place == 0) else None,
                limit_h=self._limit_h(step),
                at_once=[key for key, question in questions[place].items() if question is None],
            )
            for place, (hours, state, step) in enumerate(zip(lasts_h, states, steps, strict=True))
        ]
        counted = moments[0]
        return EnduranceTable(
            from_h=counted.from_h,
            soc=counted.soc,
            days_to_landfall=counted.days_to_landfall,
            held_days=self.held_days,
            lines=counted.lines,
            notes=tuple(dict.fromkeys(note for case in cases for note in case.notes)),
            dropping=self._dropping(cases, questions[0], lasts_h[0]) if costs else None,
            fuel=self._fuel(states[0], steps[0]) if costs and self.boat.fuel else (),
            sessions=self._sessions(states[0], steps[0]) if costs else SessionTable(),
            worst=counted.worst,
            beside=moments[1] if costs else None,
            seed=self.scenario.seed if self.scenario.members else None,
        )

    def _worst(self) -> WorstMoment:
        return worst_moment(
            first_of(self.forcing, FEW),
            soc=self.battery.soc_at_departure,
            floor_soc=self.battery.floor_soc,
            until=self.until,
            landfall=self.landfall,
            progress=self.progress("worst"),
        )

    def _state_at(self, step, *, tell):
        return state_at(
            self.forcing,
            step,
            soc=self.battery.soc_at_departure,
            progress=self.progress("before") if tell else None,
        )

    def _limit_h(self, step):
        """The time after which nothing counts. [h]"""
        end_h = self.until * self.step_h if self.held_days else self.track.arrival_h
        return end_h - step * self.step_h

    def _dropping(self, cases, questions, lasts_h) -> Dropping:
        passages = {case.loss: case.passage for case in cases}
        # Without an engine to lose, what the sun alone does is the boat as she is.
        beside = NO_ENGINE if NO_ENGINE in passages else WORKING
        none, milder = (
            Loss(
                question=questions[name, ALL_LOADS],
                passage=passages[name],
                lasts_h=lasts_h[name, ALL_LOADS],
            ).first(FEW)
            for name in (NO_CHARGING, beside)
        )
        return dropping(
            none,
            milder,
            beside_name=beside,
            until=self.until,
            landfall=self.landfall,
            limit_h=self._limit_h(none.question.step),
            floor_soc=self.battery.floor_soc,
            progress=self.progress("dropping"),
        )

    def _sessions(self, state, first) -> SessionTable:
        few = first_of(self.forcing, FEW)
        costs = session_costs(
            few.prepared,
            fuel_L_per_Ah=litres_per_Ah(engine_hours(self.passage, few.prepared)),
        )
        state = state_of_first(state, members=self.forcing.members, count=few.members)
        return bank_buys(
            few,
            state=state,
            step=first,
            until=self.until,
            limit_h=self._limit_h(first),
            costs=costs,
            soc=scalar_if_single(few, soc_of(few.plant.bank, state.total_Ah)),
        )

    def _fuel(self, state, first) -> tuple[FuelCourse, ...]:
        tell = self.progress("fuel")
        planned = fuel_course(
            self.forcing,
            state,
            fuel=self.boat.fuel,
            first=first,
            until=self.landfall,
            factor=1.0,
            progress=lambda part: tell(0.4 * part),
        )
        slow = slowed(self.passage, self.track, step=first, factor=LONGER)
        forcing = replace(self.scenario, hold_h=0.0).of(slow)
        longer = fuel_course(
            forcing,
            state,
            fuel=self.boat.fuel,
            first=0,
            until=first_step_from(forcing.prepared.track.arrival_h, self.step_h),
            factor=LONGER,
            progress=lambda part: tell(0.4 + 0.6 * part),
        )
        return planned, longer


def _told_beside(questions) -> dict:
    """The lines that stand beside the table: every loss, and of all charging every set of loads."""
    return {
        (loss, loads): question
        for (loss, loads), question in questions.items()
        if loads != NO_COMFORT or loss == NO_CHARGING
    }


def _progress_of_parts(progress, parts):
    """From the name of a part of the work to the callback for its own share done."""
    starts = dict(zip(parts, np.cumsum([0, *parts.values()]) / sum(parts.values()), strict=False))

    def part(name):
        if progress is None:
            return lambda done_frac: None
        share = parts[name] / sum(parts.values())
        return lambda done_frac: progress(float(starts[name]) + share * done_frac)

    return part
