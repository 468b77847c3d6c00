"""What to give up, in which order and at which charge, to reach landfall with the lights on.

The order is that of need; the charges are found day by day in some simulated passages
(ladder_needs.py), as a table that a person can keep (ladder_table.py). How it goes by that table
is simulated in other passages, with the errors of whoever reads the bank (ladder_kept.py).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from powersim.defaults import MEMBERS, RISK_FRAC, SEED
from powersim.errors import refused
from powersim.physics.bank import soc_of
from powersim.planning.cases import lost_together
from powersim.planning.days_left import searched_worst
from powersim.planning.dropping import charge_Ah_per_day
from powersim.planning.endurance import WORST, first_step
from powersim.planning.endurance_lines import begun
from powersim.planning.ladder_kept import Kept, bank_alone_days, kept
from powersim.planning.ladder_rungs import Rungs, forcings_of, reading_errors, readings_from
from powersim.planning.ladder_search import (
    SEARCH_MEMBERS,
    SEARCH_STEP_h,
    all_at_once,
    at_no_charge,
    searched,
)
from powersim.planning.ladder_steps import LadderStep, Steps, given_up, steps_of
from powersim.planning.ladder_table import LadderTable
from powersim.planning.scenario import FEW, changed, first_step_from, state_at
from powersim.records.brief import brief
from powersim.simulation.ensemble_forcing import EnsembleForcing, draw_ensemble
from powersim.simulation.prepare import prepare
from powersim.simulation.verdict import too_often

if TYPE_CHECKING:
    from powersim.planning.cases import Case
    from powersim.records import Passage
    from powersim.records.arrays import Array
    from powersim.simulation.aboard import ForcingAboard
    from powersim.simulation.prepared import Prepared
    from powersim.simulation.prepared_passage import PreparedPassage
    from powersim.simulation.result import SimulationResult

#: What is named where nothing is lost.
NOTHING = "nothing"
_NO_LADDER = "a loss that leaves something to switch off; know how to close the protection by hand"
#: Shares of the work, in hundredths.
_PARTS = {"before": 10, "searched": 50, "told": 40}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ladder:
    """What is given up, when, and how it goes by that.

    Attributes
    ----------
    passage : Passage
        Without what is lost.
    loss : str
        What that is, as the table of failures calls it; failures.WORKING for nothing.
    notes : tuple of str
        What is meant by it, where the name does not say so.
    from_h : float
        The moment of the loss, after departure, at a step's edge. [h]
    soc : ndarray, shape (members,)
        What the bank holds then. [-]
    to_landfall_days : float
        From then on. [days]
    steps : Steps
        What is given up, in order.
    table : LadderTable
        At which charge.
    by_ladder : Kept
        How it goes by the table.
    on_rung : tuple of Kept
        How it goes with the first so many steps given up from the first hour to landfall, and no
        more: nothing first, and last all.
    alone_days : tuple of ndarray, shape (few members,)
        How long the bank alone lasts until all is dark, on each rung, if nothing charges any more;
        infinite past landfall. [days]
    bare : Passage
        With all of the steps taken.
    prepared : Prepared
        The passage in average weather.
    members, seed : int
        In how many passages that is told, and which.
    risk_frac : float
        Share of them that may go dark, or below the floor. [-]
    """

    passage: Passage
    loss: str
    notes: tuple[str, ...]
    from_h: float
    soc: Array
    to_landfall_days: float
    steps: Steps
    table: LadderTable
    by_ladder: Kept
    on_rung: tuple[Kept, ...]
    alone_days: tuple[Array, ...]
    bare: Passage
    prepared: Prepared
    members: int
    seed: int
    risk_frac: float

    __repr__ = brief

    @property
    def holds(self) -> bool:
        """Whether by the ladder no more passages go dark than may."""
        return not self.too_dark(self.by_ladder)

    @property
    def needless(self) -> bool:
        """Whether all loads may stay on all the way, above the floor."""
        return not too_often(float(self.on_rung[0].below_floor.mean()), self.risk_frac)

    @property
    def below_floor_too_often(self) -> bool:
        """Whether by the ladder more passages fall below the floor than may."""
        return bool(too_often(float(self.by_ladder.below_floor.mean()), self.risk_frac))

    @property
    def never_asked(self) -> bool:
        """Whether no charge asks for any step."""
        return bool(np.all(self.table.least_soc == -np.inf))

    @property
    def all_at_once(self) -> bool:
        """Whether every step is asked for at any charge."""
        return bool(np.all(self.table.least_soc == np.inf))

    def too_dark(self, one: Kept) -> bool:
        """Whether more passages go dark than may."""
        return bool(too_often(float(one.dark.mean()), self.risk_frac))

    def evenings(self, step: LadderStep) -> Array:
        """On how many evenings a step is given up by the ladder. (members,)"""
        return self.by_ladder.evenings(self.steps.worth.index(step))


def ladder(
    result: SimulationResult | PreparedPassage[Any],
    *,
    from_h: float | str = 0.0,
    without: Sequence[str] | None = None,
    members: int = MEMBERS,
    seed: int = SEED,
    risk_frac: float = RISK_FRAC,
    progress: Callable[[float], object] | None = None,
) -> Ladder:
    """Find what to give up from a moment of a passage on.

    Parameters
    ----------
    result : SimulationResult or PreparedPassage
        The passage at its step.
    from_h : float or "worst"
        As for `endurance`. [h]
    without : sequence of str or None
        What is lost then: names of failures, loads or roles of loads. None for the engine of a boat
        that has one.
    members, seed : int
        As for `endurance`: passage 7 has the same weather.
    risk_frac : float
        Share of the passages that may fail. [-]
    progress : callable, optional
        Called with the share of the work that is done.

    Raises
    ------
    ValueError
        If from_h lies before departure or not before landfall.
    InputError
        If `without` names what is not aboard.
    BalanceError
        If any books do not close.
    """
    tell = _by_parts(progress)
    passage, fine = result.passage, result.prepared
    if without is None:
        without = ("engine",) if passage.boat.engine is not None else ()
    case = lost_together(_named(without), passage, fine)
    if case.dark:
        raise refused("without", f"{case.loss}: everything is dark at once", _NO_LADDER)
    drawn: dict[str, Any] = {"members": members + SEARCH_MEMBERS, "seed": seed}
    forcing = draw_ensemble(passage, fine, **drawn)
    if from_h == WORST:
        first = searched_worst(result, forcing.first(members), progress=lambda done_frac: None).step
    else:
        first = first_step(fine.track, float(from_h))
    hours = first * fine.track.step_h
    told = _begun(forcing, case, first, some=slice(0, members), tell=tell("before"))
    coarse = forcing
    if fine.track.step_h < SEARCH_STEP_h:
        coarse = draw_ensemble(passage, prepare(passage, step_h=SEARCH_STEP_h), **drawn)
    at = first_step_from(hours, coarse.prepared.track.step_h)
    others = _begun(coarse, case, at, some=slice(members, None))
    return _made(case, told, others, seed=seed, risk_frac=risk_frac, tell=tell)


def ladder_as_simulated(
    result: SimulationResult, *, progress: Callable[[float], object] | None = None
) -> Ladder | None:
    """The ladder from departure, in the members that a passage was simulated in.

    Parameters
    ----------
    result : SimulationResult
        With members; in average weather nothing is found.
    progress : callable, optional
        Called with the share of the work that is done.
    """
    ensemble = result.ensemble
    if ensemble is None:
        return None
    return ladder(
        result,
        members=ensemble.members,
        seed=ensemble.seed,
        risk_frac=result.risk_frac,
        progress=progress,
    )


def ladder_aboard(
    case: Case,
    told: ForcingAboard,
    others: ForcingAboard,
    *,
    risk_frac: float,
    progress: Callable[[float], object] | None = None,
) -> Ladder:
    """The same for a boat as her log shows her to be, from the beginning of what is left.

    Parameters
    ----------
    case : Case
        What is lost, of the rest of the passage.
    told, others : ForcingAboard
        Members of that case's passage, `told` the first of them and `others` those behind, which
        may have a longer step.
    risk_frac : float
        Share of the passages that may fail. [-]
    progress : callable, optional
        Called with the share of the work that is done.

    Raises
    ------
    BalanceError
        If any books do not close.
    """
    return _made(
        case,
        _aboard(case, told, first_member=0),
        _aboard(case, others, first_member=told.members),
        seed=told.seed,
        risk_frac=risk_frac,
        tell=_by_parts(progress),
        drawn_loads=False,
    )


def _made(
    case: Case,
    told: Rungs,
    others: Rungs,
    *,
    seed: int,
    risk_frac: float,
    tell: Callable[[str], Callable[[float], object]],
    drawn_loads: bool = True,
) -> Ladder:
    """The ladder of a boat with nothing given up yet, in members of the answer and in others."""
    prepared, track, first = told.forcings[0].prepared, told.track, told.read_at[0]
    steps = steps_of(
        case.passage,
        charge_Ah_per_day(prepared.demand, case.passage, first=first, until=told.until),
    )
    passages = tuple(given_up(case.passage, steps.worth))
    rungs, searched_in = (
        replace(one, forcings=forcings_of(one.forcings[0], passages, drawn_loads=drawn_loads))
        for one in (told, others)
    )
    table = searched(searched_in, steps.worth, risk_frac=risk_frac, tell=tell("searched"))
    every = range(len(rungs.forcings))
    by_ladder, *on_rung = kept(rungs, [table, *every], progress=tell("told"))
    if not too_often(float(on_rung[0].below_floor.mean()), risk_frac):
        table, by_ladder = at_no_charge(table), on_rung[0]
    if too_often(float(by_ladder.dark.mean()), risk_frac) and _longer(on_rung[-1], by_ladder):
        # The search was lucky, or nothing is enough. Whoever may go dark gives up all at once.
        table, by_ladder = all_at_once(table), on_rung[-1]
    held_Ah = np.broadcast_to(rungs.state.total_Ah, rungs.members)
    return Ladder(
        passage=case.passage,
        loss=case.loss,
        notes=case.notes,
        from_h=first * track.step_h,
        soc=np.asarray(soc_of(rungs.plant.bank, held_Ah)),
        to_landfall_days=rungs.to_go_days[0],
        steps=steps,
        table=table,
        by_ladder=by_ladder,
        on_rung=tuple(on_rung),
        alone_days=bank_alone_days(rungs.chosen(slice(0, min(FEW, rungs.members)))),
        bare=passages[-1],
        prepared=prepared,
        members=rungs.members,
        seed=seed,
        risk_frac=risk_frac,
    )


def _longer(one: Kept, other: Kept) -> bool:
    """Whether by one all but the worst tenth stay alight as long as by another, and no more end."""
    (least, least_other) = (np.sort(each.flat_days)[each.dark.size // 10] for each in (one, other))
    return bool(least >= least_other and one.dark.mean() <= other.dark.mean())


def _named(without: Sequence[str]) -> Sequence[str]:
    return () if [word.strip().casefold() for word in without] == [NOTHING] else without


def _begun(
    forcing: EnsembleForcing, case: Case, first: int, *, some: slice, tell: Any = None
) -> Rungs:
    """The boat as she is when something is lost, with nothing given up yet."""
    battery, track = case.passage.boat.battery, forcing.prepared.track
    lost = changed(forcing, case.passage)
    assert isinstance(lost, EnsembleForcing), "made of many members"
    before_it = forcing.chosen(some)
    state = state_at(
        before_it, first, soc=forcing.prepared.passage.boat.battery.soc_at_departure, progress=tell
    )
    own = lost.chosen(some)
    until = first_step_from(track.arrival_h, track.step_h)
    read_at = readings_from(track, first, until)
    return Rungs(
        forcings=(own,),
        plant=own.plant,
        switches=case.switches,
        state=begun(case, before_it, own, state),
        battery=battery,
        read_at=read_at,
        until=until,
        errs=reading_errors(track, read_at, seed=forcing.seed, members=forcing.members)[:, some],
    )


def _aboard(case: Case, members: ForcingAboard, *, first_member: int) -> Rungs:
    """The same as the log shows her to be, at the last entry."""
    track, aboard, works = members.prepared.track, members.aboard, case.switches
    plant = aboard.plant(members.plant)
    switches = aboard.switches(engine=works.engine)
    until = first_step_from(track.arrival_h, track.step_h)
    read_at = readings_from(track, 0, until)
    every = first_member + members.members
    errs = reading_errors(track, read_at, seed=members.seed, members=every)
    return Rungs(
        forcings=(members.forcing,),
        plant=plant,
        switches=switches._replace(
            solar=switches.solar * works.solar,
            alternator=switches.alternator * works.alternator,
            others=switches.others * works.others,
        ),
        state=aboard.state(plant, members=members.members),
        battery=case.passage.boat.battery,
        read_at=read_at,
        until=until,
        errs=errs[:, first_member:],
    )


def _by_parts(progress: Callable[[float], object] | None) -> Callable[[str], Callable]:
    """From the name of a part of the work to the callback for its own share done."""
    whole = sum(_PARTS.values())
    begins = dict(zip(_PARTS, np.cumsum([0, *_PARTS.values()])[:-1] / whole, strict=True))

    def part(name: str) -> Callable[[float], object]:
        def tell(done_frac: float) -> object:
            if progress is None:
                return None
            return progress(float(begins[name]) + done_frac * _PARTS[name] / whole)

        return tell

    return part
