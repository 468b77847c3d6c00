"""Banks simulated side by side until each is flat: all lines of a table, in all members."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from powersim.kernel.plant import Plant
from powersim.kernel.state import State, Switches
from powersim.simulation.carry import Batch
from powersim.simulation.ensemble import blocks
from powersim.simulation.ensemble_forcing import EnsembleForcing
from powersim.simulation.flat import Laid, Room
from powersim.simulation.mean_sky import MeanSky

if TYPE_CHECKING:
    from powersim.kernel.state import BatchState

#: Banks simulated at once: enough for arrays to pay, few enough for a small memory.
AT_ONCE = 12_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """How long does one bank last, in each member?

    Attributes
    ----------
    forcing : MeanSky or EnsembleForcing
        The members.
    state : State
        The state at the beginning, of arrays shaped (members,).
    switches : Switches
        What works and which loads are on, the same for all members.
    step : int
        The step that it begins with.
    """

    forcing: MeanSky | EnsembleForcing
    state: BatchState
    switches: Switches
    step: int = 0


class DepletionBatch:
    """Banks on one plant, simulated side by side, each from its own step until it is flat.

    Parameters
    ----------
    questions : sequence of Question
        Whose plants differ in numbers alone.
    floor_soc : float
        Charge that counts as the floor. [-]

    Attributes
    ----------
    first : int
        The step with which the first of them begins.
    places : list of slice
        Where the members of each question stand in `floor_h` and `flat_h`.
    floor_h, flat_h : ndarray, shape (banks,)
        Time from its own beginning until a bank is below the floor or flat, and until it is flat;
        infinite as long as it is not. [h]
    """

    def __init__(self, questions: Sequence[Question], *, floor_soc: float) -> None:
        sizes = [one.forcing.members for one in questions]
        self.first = min(one.step for one in questions)
        self.places = [slice(*edges) for edges in pairwise(accumulate(sizes, initial=0))]
        self.floor_h, self.flat_h = (np.full(sum(sizes), np.inf) for _ in range(2))
        self._forcings: list[MeanSky | EnsembleForcing] = []
        for one in questions:
            if all(one.forcing is not known for known in self._forcings):
                self._forcings.append(one.forcing)
        order = {id(forcing): place for place, forcing in enumerate(self._forcings)}
        forcing = np.repeat([order[id(one.forcing)] for one in questions], sizes)
        member = np.concatenate([np.arange(size) for size in sizes])
        # Banks that meet the same weather are neighbours: the kernel lays it out for them once.
        self._bank = np.lexsort((member, forcing))
        self._forcing, self._member = forcing[self._bank], member[self._bank]
        self._step_h = step_h = self._forcings[0].prepared.track.step_h
        joins_h = np.repeat([(one.step - self.first) * step_h for one in questions], sizes)
        boats, boat_of = _boats_of(questions)
        self._batch = Batch(
            plant=_joined([plant for plant, _ in boats]),
            state=self._states([one.state for one in questions], sizes),
            step_h=step_h,
            switches=_joined([switches for _, switches in boats]),
            floor_soc=floor_soc,
            until_dark=True,
            source_of=self._sources(),
            boat_of=boat_of[self._bank],
            joins_h=joins_h[self._bank],
        )
        self._room = Room()

    @property
    def open(self) -> int:
        """How many banks are not flat yet, nor closed."""
        return int(np.count_nonzero(self._is_open()))

    def laid(self, steps: slice) -> Laid:
        """The next steps as all banks meet them, until others are laid out."""
        return Laid(*(forcing.signals(steps) for forcing in self._forcings), room=self._room)

    def through(self, steps: slice | Laid) -> None:
        """Simulate the next steps, from `first` on, of all banks that are open."""
        batch = self._batch
        batch.through(self.laid(steps) if isinstance(steps, slice) else steps)
        told = batch.told
        # A bank that goes dark by its voltage or by cold is past its floor, whatever it holds.
        floor_h = np.minimum(told["floor_h"], told["flat_h"])
        self.floor_h[self._bank] = floor_h - told["joins_h"]
        self.flat_h[self._bank] = told["flat_h"] - told["joins_h"]
        self._keep(self._is_open())

    def begin(self, questions: Sequence[int], states: Sequence[np.ndarray]) -> None:
        """Before their steps, have the banks of some questions begin with other states.

        Each as `Batch.states_now` gives them.
        """
        at = np.empty(len(self.flat_h), dtype=int)
        at[self._bank] = np.arange(len(self._bank))
        places = [at[self.places[place]] for place in questions]
        self._batch.begin(np.concatenate(places), np.concatenate(states))

    def close(self, places: Iterable[slice], *, after_h: float = 0.0) -> None:
        """Simulate some banks no further, or for no more than some time after their beginning."""
        closed = np.zeros(len(self.flat_h), dtype=bool)
        for each in places:
            closed[each] = True
        told, here = self._batch.told, closed[self._bank]
        told["leaves_h"][here] = np.minimum(told["leaves_h"], told["joins_h"] + after_h)[here]
        self._keep(self._is_open())

    def _is_open(self):
        """Which of the banks at hand are simulated further."""
        told = self._batch.told
        return np.isinf(told["flat_h"]) & (told["leaves_h"] > self._batch.step * self._step_h)

    def _keep(self, keep) -> None:
        """Have at hand what is open alone, once that is half as much or meets less weather."""
        kept = np.flatnonzero(keep)
        all_met = len(self._forcings) == 1 or len(set(self._forcing[kept])) == len(self._forcings)
        if 2 * len(kept) > len(keep) and all_met:
            return
        self._bank, self._member = self._bank[kept], self._member[kept]
        # Weather that nobody meets any more is not laid out.
        met, self._forcing = np.unique(self._forcing[kept], return_inverse=True)
        self._forcings = [self._forcings[place] for place in met]
        self._batch = self._batch.taken(kept, source_of=self._sources())

    def _states(self, states: Sequence[BatchState], sizes: Sequence[int]) -> State[Any, Any]:
        """The states of all banks."""
        if all(state is states[0] for state in states):
            alike = (np.broadcast_to(value, sizes[0]) for value in states[0])
            return State(*(value[self._member] for value in alike))
        of_each = (
            list(map(np.broadcast_to, values, sizes)) for values in zip(*states, strict=True)
        )
        return State(*(np.concatenate(values)[self._bank] for values in of_each))

    def _sources(self):
        """Which of the members that are laid out each bank meets."""
        begins = list(accumulate((one.members for one in self._forcings), initial=0))
        return np.array(begins)[self._forcing] + self._member


def _boats_of(questions: Sequence[Question]):
    """The boats of some questions, each once with its number of members; which each bank has."""
    boats: list[tuple[tuple[Plant, int], tuple[Switches, int]]] = []
    begins, boat_of, last = {}, [], 0
    for one in questions:
        members = one.forcing.members
        boat = id(one.forcing.plant), one.switches
        if boat not in begins:
            begins[boat], last = last, last + members
            boats.append(((one.forcing.plant, members), (one.switches, members)))
        boat_of.append(begins[boat] + np.arange(members))
    return boats, np.concatenate(boat_of)


def _joined(records: Sequence[tuple[Any, int]]) -> Any:
    """Records of so many members as one: an array of all where they differ, else a number."""
    first, sizes = records[0][0], [size for _, size in records]
    values = [value for value, _ in records]
    if len(records) == 1:
        return first

    def of_each(parts) -> list[Any]:
        return [_joined(list(zip(each, sizes, strict=True))) for each in zip(*parts, strict=True)]

    if is_dataclass(first) and not isinstance(first, type):
        names = [field.name for field in fields(first)]
        parts = of_each([[getattr(value, name) for name in names] for value in values])
        return replace(first, **dict(zip(names, parts, strict=True)))
    if isinstance(first, tuple):
        made = of_each(values)
        return type(first)(*made) if hasattr(first, "_fields") else tuple(made)
    if all(np.ndim(value) == 0 and value == first for value in values):
        return first
    return np.concatenate(list(map(np.broadcast_to, values, sizes)))


def depletion_times_h(
    questions: Iterable[Question],
    *,
    until: int,
    floor_soc: float,
    at_once: int = AT_ONCE,
    progress: Callable | None = None,
) -> list[tuple[np.ndarray, np.ndarray]]:
    """Hours to the floor and to flat for each question, of arrays shaped (members,). [h]

    Each counts from its own beginning, and all end before the step `until`; what does not come by
    then is infinite. Questions are taken as they are needed, so that only `at_once` banks, or those
    of a single question, take memory. `progress` is called with the number answered, parts counted.
    """
    found, answered = {}, 0
    for batch in _batches(questions, at_once):
        banks = DepletionBatch([one for _, one in batch], floor_soc=floor_soc)
        step_h = batch[0][1].forcing.prepared.track.step_h
        for steps in blocks(until, step_h=step_h, first=banks.first):
            if not banks.open:
                break
            banks.through(steps)
            if progress is not None:
                done_frac = (steps.stop - banks.first) / (until - banks.first)
                progress(answered + len(batch) * done_frac)
        answered += len(batch)
        for (place, _), members in zip(batch, banks.places, strict=True):
            found[place] = banks.floor_h[members], banks.flat_h[members]
    return [found[place] for place in range(len(found))]


def before(limit_h: float, lasts_h: tuple[np.ndarray, np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    """Hours to the floor and to flat, infinite where they come after a limit such as landfall."""
    floor_h, flat_h = (np.where(hours > limit_h, np.inf, hours) for hours in lasts_h)
    return floor_h, flat_h


def _batches(questions, at_once):
    """Questions in batches of one plant each, every question with its place."""
    waiting: dict[object, list] = {}
    for place, question in enumerate(questions):
        # Bank and rule are each member's own: the one that it has, and how wrongly it reads it.
        boat = replace(question.forcing.prepared.plant, rule=None), question.forcing.plant.usable_L
        batch = waiting.setdefault(boat, [])
        if batch and (len(batch) + 1) * question.forcing.members > at_once:
            yield waiting.pop(boat)
            batch = waiting.setdefault(boat, [])
        batch.append((place, question))
    yield from waiting.values()
