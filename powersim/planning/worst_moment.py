"""The moment of a passage from which the bank lasts shortest if nothing charges any more."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from powersim.kernel.state import State
from powersim.physics.bank import soc_of
from powersim.planning.depletion_batch import DepletionBatch, Question
from powersim.planning.failures import NOTHING_CHARGES
from powersim.planning.scenario import departure_state
from powersim.simulation.bands import quantiles
from powersim.simulation.carry import Batch
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
#: A moment counts by this quantile of its members. [-]
WORST_FRAC = 0.1


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
    `until` to count. `progress` is called with the share of the work that is done.
    """
    step_h = forcing.prepared.track.step_h
    every = round(APART_h / step_h) * math.ceil(landfall * step_h / APART_h / MOST_MOMENTS)
    moments = _Moments(forcing=forcing, floor_soc=floor_soc, until=until)
    coarse = range(0, landfall, every)
    states = moments.states(coarse, departure_state(forcing, soc=soc), first=0)
    progress(0.2)
    judged_by, worst = moments.worst(
        coarse, states, progress=lambda part: progress(0.2 + 0.6 * part)
    )
    near = range(max(0, worst - every + 1), min(landfall, worst + every))
    before = near.start // every
    states = moments.states(near, states[before], first=coarse[before])
    judged_by, worst = moments.worst(near, states, progress=lambda part: progress(0.8 + 0.2 * part))
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

    def states(self, starts: Sequence[int], state: BatchState, *, first: int) -> list[BatchState]:
        """The states at some steps with everything working, from that at the step `first`."""
        batch = Batch(plant=self.forcing.plant, state=state, step_h=self.step_h)
        found = [_apart(batch.state)] if starts[0] == first else []
        for steps in blocks(starts[-1], step_h=self.step_h, first=first):
            laid, at = Laid(self.forcing.signals(steps)), steps.start
            for start in (one for one in starts if steps.start < one <= steps.stop):
                batch.through(laid.between(at - steps.start, start - steps.start))
                found.append(_apart(batch.state))
                at = start
            if at < steps.stop:
                batch.through(laid.between(at - steps.start, steps.stop - steps.start))
        return found

    def worst(
        self, starts: Sequence[int], states: Sequence[BatchState], *, progress: Callable
    ) -> tuple[str, int]:
        """By what the worst of some moments is found (`WorstMoment.judged_by`), and its step."""
        banks = DepletionBatch(
            [
                Question(forcing=self.forcing, state=state, switches=NOTHING_CHARGES, step=step)
                for step, state in zip(starts, states, strict=True)
            ],
            floor_soc=self.floor_soc,
        )
        undecided, begins = np.ones(len(starts), dtype=bool), np.array(starts)
        shape = len(starts), self.forcing.members
        for steps in blocks(self.until, step_h=self.step_h, first=starts[0]):
            if not banks.open:
                break
            banks.through(steps)
            flat_h = _worst_tenth(banks.flat_h.reshape(shape))
            # Flat in the worst tenth, or already outlasting the shortest.
            decided = np.isfinite(flat_h)
            decided |= (steps.stop - begins) * self.step_h > flat_h.min()
            banks.close(banks.places[place] for place in np.flatnonzero(undecided & decided))
            undecided &= ~decided
            progress((steps.stop - starts[0]) / (self.until - starts[0]))
        by = {
            "flat": _worst_tenth(banks.flat_h.reshape(shape)),
            "floor": _worst_tenth(banks.floor_h.reshape(shape)),
            "charge": _worst_tenth([self._soc(state) for state in states]),
        }
        judged_by = next(name for name, values in by.items() if np.isfinite(values).any())
        return judged_by, starts[int(by[judged_by].argmin())]

    def _soc(self, state):
        soc = soc_of(self.forcing.plant.bank, state.total_Ah)
        return np.broadcast_to(soc, self.forcing.members)


def _apart(state: BatchState) -> BatchState:
    """A state of its own, which stays as the batch goes on."""
    return State(*map(np.copy, state))


def _worst_tenth(values) -> np.ndarray:
    """What each moment counts by, from the values of its members."""
    (found,) = quantiles(np.asarray(values), (WORST_FRAC,))
    return found
