"""How many messages the bank still has in it: each kind of session by itself.

Of what is left the safe sum is told: nothing charges any more, what must stay on stays on, and all
else is off. How many of them that buys hangs on how often they are sent, for the lights go on
burning from one to the next.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from powersim.planning.depletion_batch import Question, before, depletion_times_h
from powersim.planning.failures import NOTHING_CHARGES
from powersim.planning.scenario import (
    departure_state,
    first_step_from,
    scalar_if_single,
    with_loads,
)
from powersim.planning.session_costs import (
    SessionCost,
    litres_per_Ah,
    session_costs,
    session_count,
)
from powersim.records import Companion, Load, Passage
from powersim.records.brief import brief
from powersim.simulation import prepare as preparing
from powersim.simulation.mean_sky import MeanSky

if TYPE_CHECKING:
    from powersim.kernel.state import BatchState
    from powersim.planning.hour_in_gear import EngineHour
    from powersim.records.arrays import Array
    from powersim.simulation.member_signals import EnsembleForcing
    from powersim.simulation.prepared import Prepared

#: Protected loads, and the sessions that are asked about; nothing else is on.
STAYS_ON = (1.0, 1.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BankBuys:
    """How many of one kind a bank still has in it, or of all kinds together.

    Attributes
    ----------
    days_to_floor, days_to_flat : float or ndarray, shape (members,)
        Days for which they can be sent as often as now; infinite where landfall comes first.
        [days]
    to_floor, to_flat : float or ndarray, shape (members,)
        How many get through by then, or by landfall.
    """

    days_to_floor: float | Array
    days_to_flat: float | Array
    to_floor: float | Array
    to_flat: float | Array

    __repr__ = brief


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SessionTable:
    """All kinds of sessions of a passage.

    Attributes
    ----------
    costs : tuple of SessionCost
        In the order of the load list; those of loads that are never on are left out.
    buys : tuple of BankBuys
        One for each, by itself.
    together : BankBuys or None
        All of them; None where there is but one.
    soc : float or ndarray, shape (members,)
        Charge of the bank that buys them. [-]
    stays_on : tuple of str
        Loads that are on meanwhile.
    stays_on_Ah_per_day : float
        What they take, on the mean from there to landfall. [Ah/day]
    nominal_V : float
        Of the bank. [V]
    fuel_word : str
        What the engine burns.
    """

    costs: tuple[SessionCost, ...] = ()
    buys: tuple[BankBuys, ...] = ()
    together: BankBuys | None = None
    soc: float | Array = math.nan
    stays_on: tuple[str, ...] = ()
    stays_on_Ah_per_day: float = 0.0
    nominal_V: float = 12.0
    fuel_word: str = "diesel"

    __repr__ = brief

    @property
    def passages(self) -> int:
        """In how many simulated passages it is told; 1 in average weather."""
        return max((np.size(one.days_to_flat) for one in self.buys), default=1)


def sessions_from_departure(prepared: Prepared, hours: Sequence[EngineHour]) -> SessionTable:
    """What each kind costs, and how many the bank has in it at departure, in average weather.

    Parameters
    ----------
    prepared : Prepared
        The passage.
    hours : sequence of EngineHour
        From `hour_in_gear.engine_hours`.
    """
    track, soc = prepared.track, prepared.passage.boat.battery.soc_at_departure
    forcing = MeanSky(prepared=prepared)
    return bank_buys(
        forcing,
        state=departure_state(forcing, soc=soc),
        step=0,
        until=first_step_from(track.arrival_h, track.step_h),
        limit_h=track.arrival_h,
        costs=session_costs(prepared, fuel_L_per_Ah=litres_per_Ah(hours)),
        soc=soc,
    )


def bank_buys(
    forcing: MeanSky | EnsembleForcing,
    *,
    state: BatchState,
    step: int,
    until: int,
    limit_h: float,
    costs: Sequence[SessionCost],
    soc: float | Array,
) -> SessionTable:
    """How many sessions of each kind the bank has in it from a moment on.

    Parameters
    ----------
    forcing : MeanSky or EnsembleForcing
        The members.
    state : State
        Of their banks as it begins.
    step, until : int
        The step that it begins with, and the one before which it ends.
    limit_h : float
        Time to landfall, after which nothing counts. [h]
    costs : sequence of SessionCost
        The kinds.
    soc : float or ndarray
        Charge of the banks. [-]
    """
    floor_soc = forcing.prepared.passage.boat.battery.floor_soc

    def lasts_h(passages: Sequence[Passage]) -> list[tuple[Array, Array]]:
        switches = NOTHING_CHARGES._replace(groups=STAYS_ON)
        questions = (
            Question(
                forcing=with_loads(forcing, passage), state=state, switches=switches, step=step
            )
            for passage in passages
        )
        found = depletion_times_h(questions, until=until, floor_soc=floor_soc)
        return [before(limit_h, one) for one in found]

    return sessions_bought(
        forcing.prepared,
        costs=costs,
        lasts_h=lasts_h,
        step=step,
        limit_h=limit_h,
        soc=soc,
        told=lambda values: scalar_if_single(forcing, values),
    )


def sessions_bought(
    prepared: Prepared,
    *,
    costs: Sequence[SessionCost],
    lasts_h: Callable[[Sequence[Passage]], Sequence[tuple[Array, Array]]],
    step: int,
    limit_h: float,
    soc: float | Array,
    told: Callable[[Array], float | Array],
) -> SessionTable:
    """The same where somebody else knows how long the banks last.

    Parameters
    ----------
    prepared : Prepared
        The passage in average weather, with all its loads.
    costs : sequence of SessionCost
        The kinds.
    lasts_h : callable
        Gives hours to the floor and to flat of each of some passages, all on the boat's own load
        list with nothing but protected and essential loads, and none of them charged; infinite
        after landfall.
    step : int
        The step that it begins with.
    limit_h : float
        Time to landfall. [h]
    soc : float or ndarray
        Charge of the banks. [-]
    told : callable
        Makes of an array shaped (members,) what a record holds.
    """
    if not costs:
        return SessionTable()
    passage = prepared.passage
    places = {load.name: place for place, load in enumerate(passage.loads)}
    sets = [[places[cost.load]] for cost in costs]
    if len(costs) > 1:
        sets.append([place for (place,) in sets])
    bare = preparing.with_loads(prepared, with_sessions_only(passage, ()))
    asked = lasts_h([with_sessions_only(passage, some) for some in sets])
    found = []
    for some, (floor_h, flat_h) in zip(sets, asked, strict=True):
        counts = np.sum([session_count(prepared, place) for place in some], axis=0)
        to_floor, to_flat = (
            _counted(counts, prepared, step, np.minimum(hours, limit_h))
            for hours in (floor_h, flat_h)
        )
        found.append(
            BankBuys(
                days_to_floor=told(floor_h / 24.0),
                days_to_flat=told(flat_h / 24.0),
                to_floor=told(to_floor),
                to_flat=told(to_flat),
            )
        )
    return SessionTable(
        costs=tuple(costs),
        buys=tuple(found[: len(costs)]),
        together=found[-1] if len(costs) > 1 else None,
        soc=soc,
        stays_on_Ah_per_day=_Ah_per_day(bare, step),
        stays_on=tuple(load.name for load in passage.loads if load.protected and load.count),
        nominal_V=passage.boat.battery.nominal_V,
        fuel_word=passage.boat.fuel_word,
    )


def with_sessions_only(passage: Passage, places: Sequence[int]) -> Passage:
    """The passage with what must stay on, and with some sessions; all else is off.

    Parameters
    ----------
    passage : Passage
        With all its loads.
    places : sequence of int
        Of the loads whose sessions go on. They are essential here, so that nothing sheds them.
    """
    wanted = {passage.loads[place].known_as for place in places}
    beside = {
        row.base for row in passage.drawn if isinstance(row, Companion) and row.for_load in wanted
    }
    return replace(
        passage,
        loads=tuple(
            replace(load, priority="essential")
            if place in places
            else load
            if load.protected
            else _at_hand(load)
            if load.known_as in beside
            else replace(load, count=0)
            for place, load in enumerate(passage.loads)
        ),
    )


def _at_hand(load: Load) -> Load:
    """A load that is on for sessions and never of its own."""
    return replace(
        load,
        states=frozenset(),
        on_frac=0.0,
        on_h_per_day=None,
        session=None,
        standby_A=0.0,
        standby_W=0.0,
    )


def _Ah_per_day(prepared: Prepared, step: int) -> float:
    """What all loads take from a step to landfall, but for what idles though nothing needs it."""
    demand, nominal_V = prepared.demand, prepared.passage.boat.battery.nominal_V
    until = first_step_from(prepared.track.arrival_h, prepared.track.step_h)
    kept = [row for row, group in enumerate(demand.groups) if group in ("protected", "essential")]
    mean_A = (demand.current_A + demand.power_W / nominal_V)[kept, step:until].mean(axis=1)
    return 24.0 * math.fsum(mean_A)


def _counted(counts: Array, prepared: Prepared, step: int, hours: Array) -> Array:
    """How many get through in some hours from a step on: whole ones."""
    edges_h = np.arange(len(counts)) * prepared.track.step_h
    begun = counts[step]
    through = np.interp(edges_h[step] + hours, edges_h, counts) - begun
    return np.floor(through + 1e-9)
