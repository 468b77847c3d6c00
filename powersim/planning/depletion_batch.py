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
from powersim.simulation.differing import of_members
from powersim.simulation.ensemble import blocks
from powersim.simulation.ensemble_forcing import EnsembleForcing
from powersim.simulation.flat import Laid
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
        step_h = self._forcings[0].prepared.track.step_h
        joins_h = np.repeat([(one.step - self.first) * step_h for one in questions], sizes)
        self._batch = Batch(
            plant=self._plant(questions),
            state=State(*self._of_banks([one.state for one in questions], sizes, wide=True)),
            step_h=step_h,
            switches=Switches(*self._of_banks([one.switches for one in questions], sizes)),
            floor_soc=floor_soc,
            until_dark=True,
            source_of=self._sources(),
            joins_h=joins_h[self._bank],
        )

    @property
    def open(self) -> int:
        """How many banks are not flat yet."""
        return len(self._bank)

    def through(self, steps: slice) -> None:
        """Simulate the next steps, from `first` on, of all banks that are not flat."""
        batch = self._batch
        batch.through(Laid(*(forcing.signals(steps) for forcing in self._forcings)))
        told = batch.told
        # A bank that goes dark by its voltage or by cold is past its floor, whatever it holds.
        floor_h = np.minimum(told["floor_h"], told["flat_h"])
        self.floor_h[self._bank] = floor_h - told["joins_h"]
        self.flat_h[self._bank] = told["flat_h"] - told["joins_h"]
        self._keep(np.isinf(told["flat_h"]))

    def close(self, places: Iterable[slice]) -> None:
        """Simulate some banks no further."""
        wanted = np.ones(len(self.flat_h), dtype=bool)
        for each in places:
            wanted[each] = False
        self._keep(wanted[self._bank])

    def _keep(self, keep) -> None:
        if keep.all():
            return
        kept = np.flatnonzero(keep)
        self._bank, self._member = self._bank[kept], self._member[kept]
        # Weather that nobody meets any more is not laid out.
        met, self._forcing = np.unique(self._forcing[kept], return_inverse=True)
        self._forcings = [self._forcings[place] for place in met]
        self._batch = self._batch.taken(kept, source_of=self._sources())

    def _sources(self):
        """Which of the members that are laid out each bank meets."""
        begins = list(accumulate((one.members for one in self._forcings), initial=0))
        return np.array(begins)[self._forcing] + self._member

    def _plant(self, questions) -> Plant:
        """The plant, with a number for each bank where they differ."""
        plants, sizes = zip(
            *((one.forcing.plant, one.forcing.members) for one in questions), strict=True
        )
        return self._of_bank(plants, sizes, wide=False)

    def _of_banks(self, records, sizes, *, wide=False) -> list[Any]:
        """Fields of records, a number for each bank; as they are where all agree, unless `wide`."""
        return [self._of_bank(values, sizes, wide=wide) for values in zip(*records, strict=True)]

    def _of_bank(self, values, sizes, *, wide) -> Any:
        first: Any = values[0]
        if not wide and all(value is first for value in values):
            return of_members(first, self._member)  # as where one plant stands in all questions
        if is_dataclass(first) and not isinstance(first, type):
            names = [field.name for field in fields(first)]
            each = [tuple(getattr(value, name) for name in names) for value in values]
            return replace(first, **dict(zip(names, self._of_banks(each, sizes), strict=True)))
        if isinstance(first, tuple):
            return tuple(self._of_banks(values, sizes))
        if not wide and all(np.ndim(value) == 0 and value == first for value in values):
            return first
        wide = [np.broadcast_to(value, size) for value, size in zip(values, sizes, strict=True)]
        return np.concatenate(wide)[self._bank]


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
