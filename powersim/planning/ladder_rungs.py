"""The boat on each rung of a ladder, in the same members: what is simulated of her there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from powersim.kernel.state import State
from powersim.physics.bank import soc_of
from powersim.records.brief import brief
from powersim.simulation import ensemble_forcing as drawing
from powersim.simulation.differing import of_members
from powersim.simulation.reading import SOCS, anew_soc, errors_anew
from powersim.simulation.reading_parts import most_days

if TYPE_CHECKING:
    from powersim.kernel.plant import Plant
    from powersim.kernel.state import BatchState, Switches
    from powersim.records import Battery, Passage
    from powersim.records.arrays import Array, Ints
    from powersim.simulation.ensemble_forcing import EnsembleForcing
    from powersim.voyage.track import Track

#: When the bank is read, after the day's sun and before the night that it must last
#: (common practice, no source), ship's time. [h]
READ_AT_h = 20.0
#: The first reading after the loss comes no sooner: at the loss itself the bank is read too. [h]
_LEAST_APART_h = 6.0
_DAY_h = 24.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rungs:
    """A boat from one moment of her passage on, with nothing given up, and after each step.

    Attributes
    ----------
    forcings : tuple of EnsembleForcing
        The members, rung by rung; the first with nothing given up.
    plant : Plant
        The boat as it really is, of arrays shaped (members,) where members differ.
    switches : Switches
        What still works.
    state : State
        As it begins, of arrays shaped (members,).
    battery : Battery
        For its floor.
    read_at : tuple of int
        Steps that begin with a reading of the bank; the first is the one that all begins with.
    until : int
        The step at which she arrives.
    errs : ndarray, shape (readings, members)
        What is new in each member's error at each reading, in standard deviations. [-]
    """

    forcings: tuple[EnsembleForcing, ...]
    plant: Plant
    switches: Switches
    state: BatchState
    battery: Battery
    read_at: tuple[int, ...]
    until: int
    errs: Array

    __repr__ = brief

    @property
    def members(self) -> int:
        """How many."""
        return self.forcings[0].members

    @property
    def track(self) -> Track:
        """Hers."""
        return self.forcings[0].prepared.track

    @property
    def days(self) -> list[slice]:
        """The steps from each reading to the next, and from the last to landfall."""
        return [slice(*edges) for edges in pairwise([*self.read_at, self.until])]

    @property
    def to_go_days(self) -> list[float]:
        """Time from each reading to landfall. [days]"""
        track = self.track
        return [(track.arrival_h - step * track.step_h) / _DAY_h for step in self.read_at]

    def each_state(self) -> State[Any, Any]:
        """What it begins with, an array of each."""
        return State(*(np.broadcast_to(one, self.members) for one in self.state))

    def chosen(self, some: slice) -> Rungs:
        """Some members alone.

        Parameters
        ----------
        some : slice
            Which.
        """
        return replace(
            self,
            forcings=tuple(forcing.chosen(some) for forcing in self.forcings),
            plant=of_members(self.plant, some),
            switches=of_members(self.switches, some),
            state=State(*(np.asarray(one)[some] for one in self.each_state())),
            errs=self.errs[:, some],
        )


def forcings_of(
    forcing: EnsembleForcing, passages: Sequence[Passage], *, drawn_loads: bool = True
) -> tuple[EnsembleForcing, ...]:
    """The same members with other loads, in turn.

    Parameters
    ----------
    forcing : EnsembleForcing
        With the first of the passages.
    passages : sequence of Passage
        That differ in their loads alone.
    drawn_loads : bool
        Whether what each load really draws differs between members; a log has told it otherwise.
    """
    found = [forcing]
    for passage in passages[1:]:
        made = drawing.with_loads(forcing, passage)
        if not drawn_loads:
            made = replace(made, factors=np.ones_like(made.factors))
        found.append(made)
    return tuple(found)


def readings_from(track: Track, first: int, until: int) -> tuple[int, ...]:
    """Steps that begin with a reading: the first, and those at READ_AT_h of the ship's day.

    Parameters
    ----------
    track : Track
        For the ship's time.
    first, until : int
        Steps between which they lie, the first among them.
    """
    steps = np.arange(first, until)
    clock_h = (track.edge_utc_s[steps] / 3600.0 + track.ship_offset_h[steps] - READ_AT_h) % _DAY_h
    rolls = np.flatnonzero(np.diff(clock_h) < -_DAY_h / 2.0) + first + 1
    found = [first]
    for step in rolls.tolist():
        if (step - found[-1]) * track.step_h >= _LEAST_APART_h:
            found.append(step)
    return tuple(found)


def reading_errors(track: Track, read_at: Sequence[int], *, seed: int, members: int) -> Array:
    """What is new in each member's error at each reading, in standard deviations.

    Parameters
    ----------
    track : Track
        For the hour of the calendar, which `simulation.reading` draws by.
    read_at : sequence of int
        Steps that begin with a reading.
    seed, members : int
        As they are drawn.

    Returns
    -------
    ndarray, shape (readings, members)
        Standard normal. [-]
    """
    hours = [int(track.edge_utc_s[step] // 3600.0) for step in read_at]
    return np.concatenate(
        [errors_anew(first_hour=hour, hours=1, seed=seed, members=members) for hour in hours]
    )


class Reader:
    """What each member reads off its bank, with the errors that it has.

    Parameters
    ----------
    rungs : Rungs
        The boat.
    """

    def __init__(self, rungs: Rungs) -> None:
        self._rungs, self._misread = rungs, rungs.forcings[0].misread
        mean_soc, sd_soc = anew_soc(rungs.forcings[0].prepared)
        at = list(rungs.read_at)
        self._anew_soc = mean_soc[at, None] + sd_soc[at, None] * rungs.errs
        self._most_h = _DAY_h * most_days(rungs.battery)

    def reads_soc(self, reading: int, soc: Array, since_full_h: Array, member: Ints) -> Array:
        """What a bank seems to hold.

        Parameters
        ----------
        reading : int
            Which of `Rungs.read_at`.
        soc : ndarray
            What it holds. [-]
        since_full_h : ndarray
            Time since it was full. [h]
        member : ndarray of int
            Whose it is; the last axis of all of them.

        Returns
        -------
        ndarray
            From 0 to 1. [-]
        """
        place = np.clip(soc, 0.0, 1.0) * (len(SOCS) - 1)
        below = np.minimum(place.astype(int), len(SOCS) - 2)
        low, high = (self._misread.seems_soc[at, member] for at in (below, below + 1))
        seems = low + (place - below) * (high - low)
        drift_soc = self._misread.drift_per_h[member] * np.minimum(since_full_h, self._most_h)
        return np.clip(seems + drift_soc + self._anew_soc[reading, member], 0.0, 1.0)

    def now(self, reading: int, state: BatchState, member: Ints) -> Array:
        """The same of banks as they are.

        Parameters
        ----------
        reading : int
            Which of `Rungs.read_at`.
        state : State
            Of arrays, one for each bank.
        member : ndarray of int
            Whose they are.
        """
        bank = of_members(self._rungs.plant.bank, member)
        return self.reads_soc(
            reading,
            np.asarray(soc_of(bank, state.total_Ah)),
            np.asarray(state.since_full_h),
            member,
        )


def grid(*sizes: int) -> Iterator[Ints]:
    """Indices of every combination of so many of each, flat, the last changing quickest.

    Examples
    --------
    >>> [each.tolist() for each in grid(2, 3)]
    [[0, 0, 0, 1, 1, 1], [0, 1, 2, 0, 1, 2]]
    """
    return (each.ravel() for each in np.indices(sizes))
