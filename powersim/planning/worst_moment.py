"""The moment of a passage from which the bank lasts shortest if nothing charges any more."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from powersim.physics.bank import soc_of
from powersim.planning.depletion_batch import DepletionBatch, Question
from powersim.planning.failures import NOTHING_CHARGES
from powersim.planning.scenario import departure_state
from powersim.simulation.bands import quantiles
from powersim.simulation.carry import Batch, state_of
from powersim.simulation.ensemble import blocks
from powersim.simulation.flat import Laid

if TYPE_CHECKING:
    from powersim.kernel.state import BatchState
    from powersim.simulation.mean_sky import MeanSky
    from powersim.simulation.member_signals import EnsembleForcing

#: How far apart moments are at first, near enough for one at the end of any night. [h]
APART_h = 3.0
#: Most moments of that kind; on a long passage they are further apart.
MOST_MOMENTS = 400
#: How much of the passage is gone through at once. [days]
DAYS_AT_ONCE = 2
#: One in so many of the moments is looked at first.
SPARSE = 4
#: Left for what a later loss can bring sooner after all: a fuller bank sheds its loads later. [h]
SLACK_h = 1.0
#: A moment counts by this quantile of its members. [-]
WORST_FRAC = 0.1
#: Landfall must be so many times as far off as the time in which the bank gives out: else only the
#: worst of the members are caught by it, and from an earlier moment most would be.
ROOM = 1.5


@dataclass(frozen=True, slots=True, kw_only=True)
class WorstMoment:
    """The moment from which the bank lasts shortest.

    Attributes
    ----------
    step : int
        The step of the passage that begins then.
    from_h : float
        Time since departure. [h]
    judged_by : str
        "flat": all goes dark soonest from there. "floor": all goes dark from no moment before
        landfall, and the bank is at its floor soonest from there. "charge": neither happens, and
        the charge is lowest there.
    apart_h : float
        How far apart the moments are that were compared, except around this one. [h]
    """

    step: int
    from_h: float
    judged_by: str
    apart_h: float


def worst_moment(
    forcing: MeanSky | EnsembleForcing,
    *,
    soc: float,
    floor_soc: float,
    until: int,
    landfall: int,
    progress: Callable,
) -> WorstMoment:
    """Find the moment before landfall from which the bank lasts shortest; the first if several do.

    Until each moment everything works and all loads are on. A moment counts by how long the bank
    lasts from it in the worst tenth of the members, or in the mean sky. Around the worst of
    moments far apart every step is compared. A bank must be at its floor or flat before the step
    `until` to count, and if that leaves room (ROOM) from any moment, it counts from those alone.
    `progress` is called with the share of the work that is done.
    """
    step_h = forcing.prepared.track.step_h
    every = round(APART_h / step_h) * math.ceil(landfall * step_h / APART_h / MOST_MOMENTS)
    moments = _Moments(forcing=forcing, floor_soc=floor_soc, until=until)
    coarse = range(0, landfall, every)
    _, worst, states = moments.worst(
        coarse,
        departure_state(forcing, soc=soc),
        first=0,
        sparse=SPARSE,
        progress=lambda part: progress(0.8 * part),
    )
    near = range(max(0, worst - every + 1), min(landfall, worst + every))
    before = near.start // every
    judged_by, worst, _ = moments.worst(
        near,
        state_of(states[before]),
        first=coarse[before],
        progress=lambda part: progress(0.8 + 0.2 * part),
    )
    return WorstMoment(
        step=worst, from_h=worst * step_h, judged_by=judged_by, apart_h=every * step_h
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Moments:
    """The moments of a passage in some members, with all charging lost at each of them."""

    forcing: MeanSky | EnsembleForcing
    floor_soc: float
    until: int

    @property
    def step_h(self) -> float:
        return self.forcing.prepared.track.step_h

    def worst(
        self,
        starts: Sequence[int],
        state: BatchState,
        *,
        first: int,
        progress: Callable,
        sparse: int = 1,
    ) -> tuple[str, int, list[np.ndarray]]:
        """The worst of some moments, with everything working from a state at the step `first` on.

        Returns by what it was found (`WorstMoment.judged_by`), its step, and the states at all of
        them. One in `sparse` of them is looked at first, and then those that can still be worse:
        whoever loses all charging later is dark no sooner, so that a bank lasts at least as long
        as from a moment before, less the time between.
        """
        asked = range(0, len(starts), sparse)
        # So long the banks of these must be followed to tell of those in between.
        between = starts[min(sparse, len(starts)) - 1] - starts[0]
        beyond_h = 0.0 if sparse == 1 else SLACK_h + between * self.step_h
        looked = _Looked(self, [starts[place] for place in asked], state, beyond_h=beyond_h)
        part = 1.0 if sparse == 1 else 0.7
        states = self._carried(
            starts, state, looked, first=first, progress=lambda share: progress(part * share)
        )
        lasts = {name: np.full(len(starts), np.inf) for name in ("flat", "floor")}
        for name, found_h in looked.lasts_h().items():
            lasts[name][::sparse] = found_h
        rest = np.setdiff1d(np.arange(len(starts)), asked)
        if np.isfinite(looked.shortest_h):
            at_h = np.asarray(starts) * self.step_h
            before = rest - rest % sparse
            least_h = lasts["flat"][before] - (at_h[rest] - at_h[before])
            rest = rest[least_h <= looked.shortest_h + SLACK_h]
        if len(rest):
            more = _Looked(
                self,
                [starts[place] for place in rest],
                [state_of(states[place]) for place in rest],
                shortest_h=looked.shortest_h,
            )
            self._followed(more, progress=lambda share: progress(part + (1.0 - part) * share))
            for name, found_h in more.lasts_h().items():
                lasts[name][rest] = found_h
        left_h = (self.until - np.asarray(starts)) * self.step_h
        by = {name: with_room(found_h, left_h) for name, found_h in lasts.items()}
        by["charge"] = _worst_tenth([self._soc(state) for state in states])
        judged_by = next(name for name, values in by.items() if np.isfinite(values).any())
        return judged_by, starts[int(by[judged_by].argmin())], states

    def _carried(
        self,
        starts: Sequence[int],
        state: BatchState,
        looked: _Looked,
        *,
        first: int,
        progress: Callable,
    ) -> list[np.ndarray]:
        """The states at all moments; the banks that are looked at follow stretch by stretch."""
        working = Batch(plant=self.forcing.plant, state=state, step_h=self.step_h)
        if first < starts[0]:
            working.through(self.forcing.signals(slice(first, starts[0])))
        states: list[np.ndarray] = []
        until = max(self.until, starts[-1] + 1)
        for steps in blocks(until, step_h=self.step_h, first=starts[0], days=DAYS_AT_ONCE):
            follow, at, before = looked.banks.open > 0, steps.start, len(states)
            laid = looked.banks.laid(steps) if follow else Laid(self.forcing.signals(steps))
            for start in starts[before:]:
                if start >= steps.stop:
                    break
                if at < start:
                    working.through(laid.between(at - steps.start, start - steps.start))
                states.append(working.states_now())
                at = start
            looked.begin(dict(zip(starts[before:], states[before:], strict=False)))
            if len(states) < len(starts):
                working.through(laid.between(at - steps.start, steps.stop - steps.start))
            if follow:
                looked.through(laid)
            if len(states) == len(starts) and not looked.banks.open:
                break
            progress((steps.stop - starts[0]) / (self.until - starts[0]))
        return states

    def _followed(self, looked: _Looked, *, progress: Callable) -> None:
        """Follow banks that have their states already."""
        first = looked.banks.first
        for steps in blocks(self.until, step_h=self.step_h, first=first, days=DAYS_AT_ONCE):
            if not looked.banks.open:
                break
            looked.through(looked.banks.laid(steps))
            progress((steps.stop - first) / (self.until - first))

    def _soc(self, states: np.ndarray) -> np.ndarray:
        soc = soc_of(self.forcing.plant.bank, states["total_Ah"])
        return np.broadcast_to(soc, self.forcing.members)


class _Looked:
    """Some moments at which the banks are followed until it is known how long they last.

    Parameters
    ----------
    moments : _Moments
        Of the passage.
    starts : sequence of int
        Their steps.
    states : State or sequence of State
        At each of them, or one for all until they begin.
    beyond_h : float
        How much longer than the shortest banks are followed. [h]
    shortest_h : float
        Of moments looked at before; infinite for none. [h]
    """

    def __init__(
        self,
        moments: _Moments,
        starts: Sequence[int],
        states: BatchState | list[BatchState],
        *,
        beyond_h: float = 0.0,
        shortest_h: float = math.inf,
    ) -> None:
        self.starts, self.beyond_h, self.shortest_h = starts, beyond_h, shortest_h
        self._step_h, self._shape = moments.step_h, (len(starts), moments.forcing.members)
        self._left_h = (moments.until - np.asarray(starts)) * self._step_h
        self._undecided = np.ones(len(starts), dtype=bool)
        each = states if isinstance(states, list) else [states] * len(starts)
        self.banks = DepletionBatch(
            [
                Question(forcing=moments.forcing, state=state, switches=NOTHING_CHARGES, step=step)
                for step, state in zip(starts, each, strict=True)
            ],
            floor_soc=moments.floor_soc,
        )
        self._close_what_outlasts()

    def begin(self, states: Mapping[int, np.ndarray]) -> None:
        """Have those of its banks begin whose steps come next."""
        begun = [(place, states[step]) for place, step in enumerate(self.starts) if step in states]
        if begun:
            places, found = zip(*begun, strict=True)
            self.banks.begin(places, found)

    def through(self, laid: Laid) -> None:
        """Follow the banks over the next steps."""
        self.banks.through(laid)
        flat_h = _worst_tenth(self.banks.flat_h.reshape(self._shape))
        decided, counts = np.isfinite(flat_h), has_room(flat_h, self._left_h)
        places = np.flatnonzero(self._undecided & decided)
        self.banks.close(self.banks.places[place] for place in places)
        self._undecided &= ~decided
        if counts.any():
            self.shortest_h = min(self.shortest_h, float(flat_h[counts].min()))
            self._close_what_outlasts()

    def lasts_h(self) -> dict[str, np.ndarray]:
        """What each moment counts by, infinite where its banks were followed no further. [h]"""
        return {
            name: _worst_tenth(found_h.reshape(self._shape))
            for name, found_h in (("flat", self.banks.flat_h), ("floor", self.banks.floor_h))
        }

    def _close_what_outlasts(self) -> None:
        """Follow no bank for longer than tells whether its moment is as bad as the worst."""
        if math.isfinite(self.shortest_h):
            latest_h = _latest_h(self.shortest_h + self.beyond_h, self._shape[1]) + self._step_h
            self.banks.close(self.banks.places, after_h=latest_h)


def has_room(lasts_h: np.ndarray, left_h: np.ndarray) -> np.ndarray:
    """From which moments landfall is far enough off for most members to be caught before it.

    Parameters
    ----------
    lasts_h : ndarray, shape (moments,)
        How long the bank lasts from each in the worst of the members. [h]
    left_h : ndarray, shape (moments,)
        Time to landfall. [h]
    """
    return ROOM * lasts_h <= left_h


def with_room(lasts_h: np.ndarray, left_h: np.ndarray) -> np.ndarray:
    """The same without the moments that have no room, if any has.

    Parameters
    ----------
    lasts_h, left_h : ndarray, shape (moments,)
        As for `has_room`. [h]

    Examples
    --------
    Landfall is 18 minutes after the worst of the members are dark: the day before counts, from
    which all of them are.

    >>> with_room(np.array([36.0, 35.0]), np.array([59.3, 35.3]))
    array([36., inf])
    >>> with_room(np.array([np.inf, 35.0]), np.array([59.3, 35.3]))
    array([inf, 35.])
    """
    counts = has_room(lasts_h, left_h)
    return np.where(counts, lasts_h, np.inf) if counts.any() else lasts_h


def _latest_h(worst_tenth_h: float, members: int) -> float:
    """When the last of the members is flat that make a moment count by no more than this. [h]

    Between the two neighbours of the quantile its share of the way is gone, from 0 h or later on.
    """
    if members == 1:
        return worst_tenth_h
    place = WORST_FRAC * (members - 1)
    return worst_tenth_h / max(place - math.floor(place), WORST_FRAC)


def _worst_tenth(values) -> np.ndarray:
    """What each moment counts by, from the values of its members."""
    (found,) = quantiles(np.asarray(values), (WORST_FRAC,))
    return found
