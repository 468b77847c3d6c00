"""The moment of a passage from which the bank lasts shortest if nothing charges any more."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
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
        self, starts: Sequence[int], state: BatchState, *, first: int, progress: Callable
    ) -> tuple[str, int, list[np.ndarray]]:
        """The worst of some moments, with everything working from a state at the step `first` on.

        Returns by what it was found (`WorstMoment.judged_by`), its step, and the states at all of
        them. The boat is carried from moment to moment, and the banks behind it stretch by stretch.
        """
        working = Batch(plant=self.forcing.plant, state=state, step_h=self.step_h)
        if first < starts[0]:
            working.through(self.forcing.signals(slice(first, starts[0])))
        banks = DepletionBatch(
            [
                Question(forcing=self.forcing, state=state, switches=NOTHING_CHARGES, step=step)
                for step in starts
            ],
            floor_soc=self.floor_soc,
        )
        left_h = (self.until - np.asarray(starts)) * self.step_h
        states: list[np.ndarray] = []
        undecided, shape = np.ones(len(starts), dtype=bool), (len(starts), self.forcing.members)
        until = max(self.until, starts[-1] + 1)
        for steps in blocks(until, step_h=self.step_h, first=starts[0], days=DAYS_AT_ONCE):
            laid, at, before = banks.laid(steps), steps.start, len(states)
            for start in starts[before:]:
                if start >= steps.stop:
                    break
                if at < start:
                    working.through(laid.between(at - steps.start, start - steps.start))
                states.append(working.states_now())
                at = start
            if len(states) > before:
                banks.begin(range(before, len(states)), states[before:])
            if len(states) < len(starts):
                working.through(laid.between(at - steps.start, steps.stop - steps.start))
            banks.through(laid)
            flat_h = _worst_tenth(banks.flat_h.reshape(shape))
            decided, counts = np.isfinite(flat_h), has_room(flat_h, left_h)
            banks.close(banks.places[place] for place in np.flatnonzero(undecided & decided))
            undecided &= ~decided
            if counts.any():
                # Whoever is not flat by then has outlasted the shortest.
                shortest_h = flat_h[counts].min()
                banks.close(banks.places, after_h=_latest_h(shortest_h, shape[1]) + self.step_h)
            if not banks.open:
                break
            progress((steps.stop - starts[0]) / (self.until - starts[0]))
        by = {
            "flat": with_room(_worst_tenth(banks.flat_h.reshape(shape)), left_h),
            "floor": with_room(_worst_tenth(banks.floor_h.reshape(shape)), left_h),
            "charge": _worst_tenth([self._soc(state) for state in states]),
        }
        judged_by = next(name for name, values in by.items() if np.isfinite(values).any())
        return judged_by, starts[int(by[judged_by].argmin())], states

    def _soc(self, states: np.ndarray) -> np.ndarray:
        soc = soc_of(self.forcing.plant.bank, states["total_Ah"])
        return np.broadcast_to(soc, self.forcing.members)


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
