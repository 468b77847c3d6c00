"""Days until the bank is at its floor and flat, with this or that lost, from any moment on."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from powersim.defaults import MEMBERS, SEED
from powersim.physics.bank import soc_of
from powersim.planning.cases import ALL_LOADS, LOAD_SETS, cases_of
from powersim.planning.depletion_batch import Question, before, depletion_times_h
from powersim.planning.dropping import Dropping, Loss, dropping
from powersim.planning.endurance_table import Endurance, EnduranceTable
from powersim.planning.failures import NO_CHARGING, NO_ENGINE, WORKING
from powersim.planning.fuel_lasts import LONGER, FuelCourse, fuel_course
from powersim.planning.scenario import (
    Scenario,
    changed,
    first_of,
    first_step_from,
    scalar_if_single,
    state_at,
)
from powersim.planning.slower import slowed
from powersim.planning.worst_moment import SEARCHED, WorstMoment, worst_moment

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
        Whether to work out as well what each load costs and how long the diesel lasts; the lines
        alone take half of the time.
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
    idle = {"worst": from_h != WORST, "dropping": not costs, "fuel": not costs}
    parts = {name: part for name, part in _PARTS.items() if not idle.get(name)}
    study = _Study(
        result,
        members=members,
        seed=seed,
        beyond=beyond,
        progress=_progress_of_parts(progress, parts),
    )
    return study.table(from_h=from_h, without=without, costs=costs)


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
        self.boat = result.passage.boat
        self.held_days = HOLD_DAYS if beyond else 0.0
        self.scenario = Scenario(
            members=None if members == 1 else members,
            seed=seed,
            step_h=self.step_h,
            hold_h=24.0 * self.held_days,
        )
        self.forcing = self.scenario.of(self.passage)
        self.track = self.forcing.prepared.track
        self.landfall = first_step_from(self.track.arrival_h, self.step_h)
        self.until = self.track.n_steps if beyond else self.landfall
        self.progress = progress

    def table(self, *, from_h, without, costs) -> EnduranceTable:
        cases = cases_of(self.passage, self.forcing.prepared, without=without)
        worst = self._worst() if from_h == WORST else None
        first = worst.step if worst else first_step(self.track, from_h)
        state = state_at(
            self.forcing,
            first,
            soc=self.boat.battery.soc_at_departure,
            progress=self.progress("before"),
        )
        questions = self._questions(cases, state, first)
        lasts_h = self._depletion_times_h(questions, first)
        return EnduranceTable(
            from_h=first * self.step_h,
            soc=scalar_if_single(self.forcing, soc_of(self.forcing.plant.bank, state.total_Ah)),
            days_to_landfall=(self.track.arrival_h - first * self.step_h) / 24.0,
            held_days=self.held_days,
            lines=tuple(
                Endurance(
                    loss=loss,
                    loads=loads,
                    days_to_floor=scalar_if_single(self.forcing, floor_h / 24.0),
                    days_to_flat=scalar_if_single(self.forcing, flat_h / 24.0),
                    at_once=questions[loss, loads] is None,
                )
                for (loss, loads), (floor_h, flat_h) in lasts_h.items()
            ),
            notes=tuple(dict.fromkeys(note for case in cases for note in case.notes)),
            dropping=self._dropping(cases, questions, lasts_h, first) if costs else None,
            fuel=self._fuel(state, first) if costs and self.boat.fuel else (),
            worst=worst,
            seed=self.scenario.seed if self.scenario.members else None,
        )

    def _worst(self) -> WorstMoment:
        return worst_moment(
            first_of(self.forcing, SEARCHED),
            soc=self.boat.battery.soc_at_departure,
            floor_soc=self.boat.battery.floor_soc,
            until=self.until,
            landfall=self.landfall,
            progress=self.progress("worst"),
        )

    def _questions(self, cases, state, first) -> dict:
        """From (loss, loads) to a Question, or to None where all goes dark at once."""
        found = {}
        for case in cases:
            forcing = (
                self.forcing
                if case.passage is self.passage
                else changed(self.forcing, case.passage)
            )
            begun = self._begun(case, forcing, state)
            for loads, groups in LOAD_SETS.items():
                switches = case.switches._replace(groups=groups)
                found[case.loss, loads] = (
                    None
                    if case.dark
                    else Question(forcing=forcing, state=begun, switches=switches, step=first)
                )
        return found

    def _begun(self, case, forcing, state):
        """The state that a case begins with, for its own bank and fuel."""
        share = forcing.plant.bank.full_Ah / self.forcing.plant.bank.full_Ah
        state = state._replace(
            total_Ah=state.total_Ah * share, available_Ah=state.available_Ah * share
        )
        if not case.cans_only:
            return state
        usable_L = self.boat.fuel.usable_L
        in_cans_L = np.minimum(self.boat.fuel.jerrycans_L, usable_L - state.burnt_L)
        return state._replace(burnt_L=usable_L - in_cans_L)

    def _depletion_times_h(self, questions, first) -> dict:
        """From (loss, loads) to hours to the floor and to flat, shaped (members,)."""
        asked = {key: question for key, question in questions.items() if question is not None}
        tell = self.progress("lines")
        found = depletion_times_h(
            asked.values(),
            until=self.until,
            floor_soc=self.boat.battery.floor_soc,
            progress=lambda answered: tell(answered / len(asked)),
        )
        limit_h = self._limit_h(first)
        lasts_h = {key: before(limit_h, both) for key, both in zip(asked, found, strict=True)}
        at_once = (np.zeros(self.forcing.members),) * 2
        return {key: lasts_h.get(key, at_once) for key in questions}

    def _limit_h(self, first):
        """The time after which nothing counts. [h]"""
        end_h = self.until * self.step_h if self.held_days else self.track.arrival_h
        return end_h - first * self.step_h

    def _dropping(self, cases, questions, lasts_h, first) -> Dropping:
        passages = {case.loss: case.passage for case in cases}
        # Without an engine to lose, what the sun alone does is the boat as she is.
        beside = NO_ENGINE if NO_ENGINE in passages else WORKING
        none, milder = (
            Loss(
                question=questions[name, ALL_LOADS],
                passage=passages[name],
                lasts_h=lasts_h[name, ALL_LOADS],
            )
            for name in (NO_CHARGING, beside)
        )
        return dropping(
            none,
            milder,
            beside_name=beside,
            first=first,
            until=self.until,
            landfall=self.landfall,
            limit_h=self._limit_h(first),
            floor_soc=self.boat.battery.floor_soc,
            progress=self.progress("dropping"),
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


def _progress_of_parts(progress, parts):
    """From the name of a part of the work to the callback for its own share done."""
    starts = dict(zip(parts, np.cumsum([0, *parts.values()]) / sum(parts.values()), strict=False))

    def part(name):
        if progress is None:
            return lambda done_frac: None
        share = parts[name] / sum(parts.values())
        return lambda done_frac: progress(float(starts[name]) + share * done_frac)

    return part
