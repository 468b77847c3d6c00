"""What the panels give under any share of the clear sky's light, looked up step by step.

For a boat in a place and on a heading all that weather changes is how much of the clear sky's light
comes through. So the whole chain from sky to controller is worked out once for a few shares, and
the members' members are read off between them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from powersim.records.brief import brief
from powersim.simulation.coarser import mean_of
from powersim.sky.sky import Sky, under

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools
    from powersim.voyage.track import Track

#: Distance between the shares for which the chain is worked out. With 0.1 the light of a day under
#: the demo's sky is 0.1 % too small, at single shares up to 0.4 % (docs/model/ensemble.md). [-]
KNOT_FRAC = 0.1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class YieldTable:
    """Quantities of every step over boat state and share of the clear sky's light.

    Attributes
    ----------
    knots_per_frac : float
        Knots in a share of 1. [-]
    lit : ndarray of bool, shape (n,)
        Steps in which there is any light.
    values : ndarray, shape (quantities, n, states, knots)
        Of one unit each; states are under sail, under power where calms may be motored, and lying
        to where she heels otherwise then.
    lying : int
        Which of the states is that of lying to; 0 where she heels as under sail.
    """

    knots_per_frac: float
    lit: Bools
    values: Array
    lying: int = 0

    __repr__ = brief

    def at(
        self,
        steps: slice,
        clear_frac: Array,
        motoring: Array,
        *,
        lies: Bools | None = None,
        until: int | None = None,
    ) -> Array:
        """The quantities of some steps under the members' skies.

        Parameters
        ----------
        steps : slice
            Of the passage.
        clear_frac : ndarray, shape (steps, members)
            Share of the clear sky's light, within the table. [-]
        motoring : ndarray, shape (steps, members or 1)
            1 with the engine in gear. [-]
        lies : ndarray of bool, shape (steps, members), optional
            Where she lies to; nowhere if left out.
        until : int, optional
            The quantity to end before, as in a slice.

        Returns
        -------
        ndarray, shape (quantities, steps, members)
            In the unit of each.
        """
        lit = self.lit[steps]
        values = self.values[:until, steps][:, lit]
        quantities, n_lit, states, knots = values.shape
        found = np.zeros((quantities, *clear_frac.shape))
        place = clear_frac[lit] * self.knots_per_frac
        knot = np.minimum(place.astype(np.intp), knots - 2)
        part = place - knot
        row = np.arange(n_lit)[:, None] * states
        if states > 1 + (self.lying > 0):
            row = row + (motoring[lit] > 0.0)
        if self.lying and lies is not None:
            row = np.where(lies[lit], row - row % states + self.lying, row)
        knot += row * knots
        for quantity, table in enumerate(values.reshape(quantities, n_lit * states * knots)):
            low = table.take(knot)
            found[quantity, lit] = low + part * (table.take(knot + 1) - low)
        return found


def _dark_but(sky: Sky, some: Bools) -> Sky:
    """A sky whose light reaches some of the steps alone."""
    if some.all():
        return sky
    return replace(sky, ghi_W_m2=np.where(some, sky.ghi_W_m2, 0.0))


def shares_up_to(largest_frac: float) -> Array:
    """The shares of the clear sky's light at which the chain is worked out.

    Parameters
    ----------
    largest_frac : float
        What the table must reach. [-]

    Returns
    -------
    ndarray, shape (knots,)
        Evenly spaced, from 0. [-]
    """
    return KNOT_FRAC * np.arange(math.ceil(largest_frac / KNOT_FRAC - 1e-9) + 1)


def yield_table(
    offer: Callable[[Track, Sky], Array],
    tracks: Sequence[Track],
    *,
    sky: Sky,
    shares: Array,
    per_step: int,
    lying: bool = False,
) -> YieldTable:
    """Tabulate something that depends on track and light.

    Parameters
    ----------
    offer : callable
        offer(track, sky) gives an ndarray shaped (quantities, ..., sun's steps), with the axes of
        the sky's light between.
    tracks : sequence of Track
        At the sun's steps: the boat under sail, under power where she may be either, and lying
        to if she heels otherwise then. Of what differs in state, heel and tack alone count.
    sky : Sky
        At the sun's steps.
    shares : ndarray, shape (knots,)
        From `shares_up_to`.
    per_step : int
        How many of the sun's steps make one of the kernel's.
    lying : bool
        Whether the last track is that of lying to.

    Returns
    -------
    YieldTable
        For skies up to the last share.

    Notes
    -----
    Where a file leaves nothing of the light open, all shares have what the sky as it is gives: the
    file may know beam and diffuse better than the split by share does.
    """
    # Without light there is nothing to offer, and a diode has no current to be worked out.
    lit_sky = under(sky, shares[1:, None], track=tracks[0])
    by_state: list[Array] = []
    for track in tracks:
        # Where she heels as in the first state, her panels give the same.
        other = _lies_otherwise(track, tracks[0]) if by_state else np.ones(track.n_steps, bool)
        knots = offer(track, _dark_but(lit_sky, other))
        knots = np.concatenate([np.zeros_like(knots[:, :1]), knots], axis=1)
        if not sky.open_frac.all():
            as_it_is = offer(track, _dark_but(sky, other))[:, None]
            knots = np.where(sky.open_frac == 0.0, as_it_is, knots)
        by_state.append(np.where(other, knots, by_state[0]) if by_state else knots)
    by_state = [mean_of(knots, per_step) for knots in by_state]
    values = np.stack(by_state, axis=1)  # quantities, states, knots, steps
    values = np.ascontiguousarray(np.moveaxis(values, -1, 1))
    return YieldTable(
        knots_per_frac=1.0 / KNOT_FRAC,
        lit=np.any(values, axis=(0, 2, 3)),
        values=values,
        lying=len(tracks) - 1 if lying else 0,
    )


def _lies_otherwise(track: Track, first: Track) -> Bools:
    return (track.heel_deg != first.heel_deg) | (track.tack != first.tack)
