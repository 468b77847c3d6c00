"""What the loads draw in every member: each load has its own luck, and calms change what is on."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

import numpy as np

from powersim.physics.demand import GROUPS
from powersim.records import Load
from powersim.sky import streams

if TYPE_CHECKING:
    from powersim.records.arrays import Array


def draw_factors(loads: Sequence[Load], *, n_rows: int, seed: int, members: int) -> Array:
    """What each load really draws, as a multiple of what the list says.

    Parameters
    ----------
    loads : sequence of Load
        With their spread, one standard deviation.
    n_rows : int
        Rows of the demand: the loads, then what supplies take for themselves, which is known.
    seed : int
        Of the random numbers.
    members : int
        How many members.

    Returns
    -------
    ndarray, shape (rows, members)
        Mean 1, never negative, the same all the way. [-]

    Notes
    -----
    Lognormal: exp(s z - s^2 / 2) with s^2 = log(1 + spread^2), whose mean is 1 and whose standard
    deviation is the spread. Each load has its own draw: labels err independently. It goes by the
    load's name, so that neither its line nor what else is in the list changes it; two of one name
    are taken for one make of thing, and err alike.
    """
    factors = np.ones((n_rows, members))
    for row, load in enumerate(loads):
        if load.spread_frac > 0.0:
            variance = math.log(1.0 + load.spread_frac**2)
            index = streams.index_of(load.known_as)
            z = streams.normal(streams.LOAD_BY_NAME, seed=seed, index=index, members=members)[0]
            factors[row] = np.exp(math.sqrt(variance) * z - 0.5 * variance)
    return factors


def by_group(
    sailed: Array,
    instead: Sequence[tuple[Array, Array]],
    *,
    groups: Sequence[str],
    order: Sequence[int],
    factors: Array,
    only: Collection[str] = GROUPS,
    into: Array | None = None,
) -> Array:
    """Draws of all members, summed by group.

    Parameters
    ----------
    sailed : ndarray, shape (rows, steps)
        What each row draws with calms sailed and gales too.
    instead : sequence of (ndarray of shape (rows, steps), ndarray of shape (steps, members or 1))
        What it draws as something else is done, such as motoring, and 1 where it is; never two of
        them at once.
    groups : sequence of str
        Of each row, one of physics.demand.GROUPS.
    order : sequence of int
        The rows in the order in which they are summed.
    factors : ndarray, shape (rows, members)
        From `draw_factors`. [-]
    only : collection of str
        The groups that are asked for.
    into : ndarray, shape (steps, 4, members), optional
        Where they are written, in place of what is there; a new array of zeros if left out.

    Returns
    -------
    ndarray, shape (steps, 4, members)
        In the order of GROUPS.

    Notes
    -----
    By einsum and not as a product of matrices: it adds row after row, whereas rounding in a product
    would depend on how many members there are.
    """
    steps, members = sailed.shape[1], factors.shape[1]
    if into is None:
        make = np.empty if len(only) == len(GROUPS) else np.zeros
        into = make((len(GROUPS), steps, members)).transpose(1, 0, 2)
    draws = _drawing(sailed)
    more = [(draws_so - sailed, does) for draws_so, does in instead]
    differing = [(apart, does, _drawing(apart)) for apart, does in more]
    for group in only:
        total = into[:, GROUPS.index(group)]
        here = [row for row in order if groups[row] == group]
        _summed(sailed, factors, rows=[row for row in here if row in draws], out=total)
        for apart, does, differs in differing:
            if rows := [row for row in here if row in differs]:
                total += _summed(apart, factors, rows=rows, out=np.empty_like(total)) * does
    return into


def _drawing(draws: Array) -> set[int]:
    """Rows that are not zero throughout."""
    return set(np.flatnonzero(draws.any(axis=1)).tolist())


def _summed(draws: Array, factors: Array, *, rows: list[int], out: Array) -> Array:
    """Draws of some rows as each member has them, summed, shape (steps, members)."""
    if not rows:
        out.fill(0.0)
        return out
    return np.einsum("rt,rm->tm", draws[rows], factors[rows], out=out)
