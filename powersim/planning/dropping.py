"""How many days of endurance each load costs, and so what dropping it gains."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from powersim.physics.demand import Demand, group_of
from powersim.planning.cases import without_loads
from powersim.planning.depletion_batch import Question, before, depletion_times_h
from powersim.planning.scenario import (
    first_of,
    scalar_if_single,
    state_of_first,
    with_loads,
)
from powersim.records import Companion, Passage
from powersim.records.brief import brief

#: Groups of loads in the order in which they are switched off; protected ones never are.
SWITCHED_OFF = ("comfort", "useful", "essential")
_GAINED = ("days_to_floor", "days_to_flat", "beside_days_to_floor", "beside_days_to_flat")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoadGain:
    """How much longer the bank lasts without one load.

    Attributes
    ----------
    load : str
        The load's name.
    group : str
        One of physics.demand.GROUPS. A load that is "protected" (records.PROTECTED) is never to be
        dropped, whatever it would gain.
    charge_Ah_per_day : float
        What it takes at the bank's nominal voltage, on the mean until landfall. [Ah/day]
    days_to_floor, days_to_flat : float or ndarray, shape (members,)
        Days gained with all charging lost; infinite where landfall then comes first, 0 where it
        does in any case. [days]
    beside_days_to_floor, beside_days_to_flat : float or ndarray, shape (members,)
        The same with only `Dropping.beside` lost. [days]
    """

    load: str
    group: str
    charge_Ah_per_day: float
    days_to_floor: float | np.ndarray
    days_to_flat: float | np.ndarray
    beside_days_to_floor: float | np.ndarray
    beside_days_to_flat: float | np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Dropping:
    """What dropping gains, for every load that is on at some time.

    Attributes
    ----------
    beside : str
        The milder loss that stands beside that of all charging: a line of the table.
    gains : tuple of LoadGain
        The largest gain first, protected loads in their place among the others.
    """

    beside: str
    gains: tuple[LoadGain, ...]

    __repr__ = brief

    @property
    def passages(self) -> int:
        """In how many simulated passages it is told; 1 in average weather."""
        return max((np.size(gain.days_to_flat) for gain in self.gains), default=1)

    @property
    def switch_off(self) -> tuple[LoadGain, ...]:
        """What to switch off, in order: comfort first, then useful, essential loads last.

        Within each the most days gained come first. What is protected (navigation lights, lookout,
        VHF, bilge pump) is not in it.
        """
        return tuple(gain for group in SWITCHED_OFF for gain in self.gains if gain.group == group)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Loss:
    """A line of the table with all loads on, from which the gains are counted.

    Attributes
    ----------
    question : Question
        The line's question.
    passage : Passage
        The passage of that line.
    lasts_h : tuple of two ndarray, shape (members,)
        Time to the floor and to flat, infinite where landfall comes first. [h]
    """

    question: Question
    passage: Passage
    lasts_h: tuple[np.ndarray, np.ndarray]

    __repr__ = brief

    def first(self, count: int) -> Loss:
        """The same in the first members alone."""
        forcing = first_of(self.question.forcing, count)
        if forcing is self.question.forcing:
            return self
        members = self.question.forcing.members
        state = state_of_first(self.question.state, members=members, count=count)
        floor_h, flat_h = self.lasts_h
        return replace(
            self,
            question=replace(self.question, forcing=forcing, state=state),
            lasts_h=(floor_h[:count], flat_h[:count]),
        )


def dropping(
    none: Loss,
    beside: Loss,
    *,
    beside_name: str,
    until: int,
    landfall: int,
    limit_h: float,
    floor_soc: float,
    progress: Callable,
) -> Dropping:
    """Drop every load in turn, in the same members and from the step that the losses begin with.

    An inverter that feeds no load any more is off too. What a load takes is counted up to the step
    `landfall`; days count up to `limit_h`. `progress` is called with the share done.
    """
    first = none.question.step
    demand = none.question.forcing.prepared.demand
    charge_Ah = charge_Ah_per_day(demand, none.passage, first=first, until=landfall)
    taken_Ah = charge_Ah_per_day(demand, none.passage, first=first, until=until)
    used = [place for place, amount in enumerate(taken_Ah) if amount > 0.0]

    def questions():
        for place in used:
            for loss in (none, beside):
                question = loss.question
                forcing = with_loads(question.forcing, without_loads(loss.passage, [place]))
                yield replace(question, forcing=forcing)

    lasts_h = depletion_times_h(
        questions(),
        until=until,
        floor_soc=floor_soc,
        progress=lambda answered: progress(answered / (2 * len(used))),
    )
    gains = []
    for order, place in enumerate(used):
        load = none.passage.loads[place]
        gained = [
            scalar_if_single(none.question.forcing, _gained_days(new_h, old_h))
            for loss, found_h in zip(
                (none, beside), lasts_h[2 * order : 2 * order + 2], strict=True
            )
            for new_h, old_h in zip(
                before(limit_h, found_h), before(limit_h, loss.lasts_h), strict=True
            )
        ]
        gains.append(
            LoadGain(
                load=load.name,
                group=group_of(load),
                charge_Ah_per_day=float(charge_Ah[place]),
                **dict(zip(_GAINED, gained, strict=True)),
            )
        )
    gains.sort(key=_rank, reverse=True)
    return Dropping(beside=beside_name, gains=tuple(gains))


def charge_Ah_per_day(demand: Demand, passage: Passage, *, first: int, until: int) -> np.ndarray:
    """What every load takes a day with what its sessions switch on, on the mean of some steps.

    Parameters
    ----------
    demand : Demand
        Of the passage.
    passage : Passage
        For its loads and the nominal voltage of its bank.
    first, until : int
        Steps, the last left out.

    Returns
    -------
    ndarray, shape (loads,)
        In the order of the loads, without what supplies idle at. [Ah/day]
    """
    rows = passage.drawn
    current_A, power_W = (
        array[: len(rows), first:until].mean(axis=1) for array in (demand.current_A, demand.power_W)
    )
    taken_Ah = 24.0 * (current_A + power_W / passage.boat.battery.nominal_V)
    places = {load.known_as: place for place, load in enumerate(passage.loads)}
    for row, load in enumerate(rows):
        if isinstance(load, Companion):
            taken_Ah[places[load.for_load]] += taken_Ah[row]
    return taken_Ah[: len(passage.loads)]


def _gained_days(new_h, old_h):
    with np.errstate(invalid="ignore"):
        return np.where(np.isinf(old_h), 0.0, new_h - old_h) / 24.0


def _rank(gain):
    """What a gain is sorted by: the median of days to flat without any charging first."""
    return tuple(
        float(np.median(days))
        for days in (gain.days_to_flat, gain.days_to_floor, gain.beside_days_to_flat)
    )
