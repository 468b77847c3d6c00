"""The moment of a passage from which the bank lasts shortest if nothing charges any more."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from powersim.physics.bank import soc_of
from powersim.planning.depletion_batch import DepletionBatch, Question
from powersim.planning.failures import NOTHING_CHARGES
from powersim.planning.scenario import carried, departure_state
from powersim.simulation.bands import quantiles
from powersim.simulation.ensemble import blocks
from powersim.simulation.ensemble_forcing import EnsembleForcing
from powersim.simulation.mean_sky import MeanSky

if TYPE_CHECKING:
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
    begin = departure_state(forcing, soc=soc)
    coarse = range(0, landfall, every)
    judged_by, worst = moments.worst(
        coarse, begin, every=every, progress=lambda part: progress(0.9 * part)
    )
    near = range(max(0, worst - every + 1), min(landfall, worst + every))
    for steps in blocks(near.start, step_h=step_h):
        begin = carried(forcing, begin, steps)
    judged_by, worst = moments.worst(
        near, begin, every=every, progress=lambda part: progress(0.9 + 0.1 * part)
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

    def worst(self, starts, state, *, every, progress) -> tuple[str, int]:
        """By what the worst of some moments is found (`WorstMoment.judged_by`), and its step.

        `state` is the state at the first; after the last of them steps go `every` at once.
        """
        forcing, step_h = self.forcing, self.forcing.prepared.track.step_h
        banks = DepletionBatch(floor_soc=self.floor_soc)
        undecided: dict[int, slice] = {}
        tickets: list[slice] = []
        socs, shortest_h = [], math.inf
        edges = [*starts, *range(starts[-1] + every, self.until, every), self.until]
        for first, last in pairwise(edges):
            if len(tickets) < len(starts):
                question = Question(forcing=forcing, state=state, switches=NOTHING_CHARGES)
                undecided[len(tickets)] = banks.join(question, step=first)
                tickets.append(undecided[len(tickets)])
                socs.append(_worst_tenth(soc_of(forcing.plant.bank, state.total_Ah)))
                state = carried(forcing, state, slice(first, last))
            if banks.open:
                banks.through(slice(first, last))
            for place, ticket in list(undecided.items()):
                flat_h = _worst_tenth(banks.flat_h[ticket])
                shortest_h = min(shortest_h, flat_h)
                # Flat in the worst tenth, or already outlasting the shortest.
                if math.isfinite(flat_h) or (last - starts[place]) * step_h > shortest_h:
                    banks.close(undecided.pop(place))
            progress((last - edges[0]) / (self.until - edges[0]))
            if len(tickets) == len(starts) and not banks.open:
                break
        by = {
            "flat": [_worst_tenth(banks.flat_h[ticket]) for ticket in tickets],
            "floor": [_worst_tenth(banks.floor_h[ticket]) for ticket in tickets],
            "charge": socs,
        }
        judged_by = next(name for name, values in by.items() if math.isfinite(min(values)))
        return judged_by, starts[by[judged_by].index(min(by[judged_by]))]


def _worst_tenth(values) -> float:
    """The value of a moment that counts, from those of its members."""
    return float(quantiles(np.atleast_1d(values), (WORST_FRAC,))[0])
