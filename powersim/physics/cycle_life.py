"""How much of its cycle life a bank uses: cycles counted by rainflow, summed by Miner's rule."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from powersim.records.arrays import Array, Floats

#: Decimals of charge that are looked at. The package multiplies one change by the next to see a
#: turn, which fails where both are so small that their product is no number but 0.
_DECIMALS = 12


class Wear(NamedTuple):
    """What a stretch of cycling costs a bank.

    Attributes
    ----------
    cycle_life_used_frac : float
        Share of the bank's cycle life; may be above 1. [-]
    deepest_cycle_frac : float
        Depth of the deepest cycle, as a share of the label's capacity. [-]
    """

    cycle_life_used_frac: float
    deepest_cycle_frac: float


def counted_cycles(soc: ArrayLike) -> tuple[Array, Array]:
    """Cycles in a history of state of charge, by rainflow counting.

    Parameters
    ----------
    soc : array_like, shape (times,)
        State of charge, its first value and its last included. [-]

    Returns
    -------
    depths : ndarray, shape (cycles,)
        The different depths, rising: of the capacity that `soc` is a share of. [-]
    counts : ndarray, shape (cycles,)
        How often each comes; a half cycle counts 0.5. [-]

    Raises
    ------
    ValueError
        If there is no history, or a value in it is not finite.

    Notes
    -----
    Counts times depths add up to half of all the ups and downs, whatever the order. What rises or
    falls once, such as the fall from a full bank to the charge at landfall, is a half cycle.

    References
    ----------
    .. [1] ASTM E1049-85 (2011), Standard Practices for Cycle Counting in Fatigue Analysis,
       section 5.4.4, as the package `rainflow` has it.

    Examples
    --------
    Down to half, up to 80 % and down again before it is filled: one small cycle in a large one.

    >>> depths, counts = counted_cycles([1.0, 0.5, 0.8, 0.5, 1.0])
    >>> depths, counts
    (array([0.3, 0.5]), array([1., 1.]))
    """
    import rainflow

    soc = np.asarray(soc, dtype=float)
    if soc.ndim != 1 or not soc.size or not np.isfinite(soc).all():
        raise ValueError("soc must be a row of finite numbers")
    history = soc.round(_DECIMALS).tolist()
    # The package finds no end, and so no cycle, in a history of two; the last value given twice
    # makes it three and changes nothing else.
    counted = rainflow.count_cycles([*history, history[-1]])
    depths, counts = np.array(counted, dtype=float).reshape(-1, 2).T
    return depths[depths > 0], counts[depths > 0]


def cycles_at_depth(depth_frac: ArrayLike, *, cycle_life: Sequence[tuple[float, float]]) -> Floats:
    """Cycles to end of life, if all of them were of one depth.

    Parameters
    ----------
    depth_frac : array_like
        Of the label's capacity. [-]
    cycle_life : sequence of (float, float)
        The curve: depth and cycles, the shallowest first.

    Returns
    -------
    float or ndarray
        How many, for each depth. [-]

    Raises
    ------
    ValueError
        If a depth is not above 0.

    Notes
    -----
    A power law between two points: straight where both axes are logarithmic. Shallower than the
    first point the same charge wears the bank the same, so that cycles times depth stays what it
    is there; a law that goes on flatter would make a bank wear out by ripple. Deeper than the last
    point the last law goes on, and falls no slower than that. So one point alone stands for an
    amount of charge.

    Examples
    --------
    >>> curve = [(0.3, 1200.0), (0.6, 500.0)]
    >>> cycles_at_depth([0.1, 0.3], cycle_life=curve)
    array([3600., 1200.])
    """
    depth_frac = np.asarray(depth_frac, dtype=float)
    if not (depth_frac > 0).all():
        raise ValueError("depth_frac must be above 0")
    depths, cycles = np.log(np.array(cycle_life, dtype=float)).T
    slope = -1.0
    if len(depths) > 1:
        slope = min(slope, (cycles[-1] - cycles[-2]) / (depths[-1] - depths[-2]))
    depth = np.log(depth_frac)
    shallower, deeper = np.maximum(depths[0] - depth, 0.0), np.maximum(depth - depths[-1], 0.0)
    return np.exp(np.interp(depth, depths, cycles) + shallower + slope * deeper)


def miner_sum(
    depth_frac: ArrayLike,
    counts: ArrayLike,
    *,
    cycle_life: Sequence[tuple[float, float]],
) -> float:
    """Share of the cycle life that cycles of different depths use together.

    Parameters
    ----------
    depth_frac : ndarray, shape (cycles,)
        Of the label's capacity. [-]
    counts : ndarray, shape (cycles,)
        How often each comes. [-]
    cycle_life : sequence of (float, float)
        The curve: depth and cycles, the shallowest first.

    Returns
    -------
    float
        1 is the end of life. [-]

    Notes
    -----
    Every cycle uses one part in as many as the bank would last at that depth, in whatever order
    they come.

    References
    ----------
    .. [1] M. A. Miner, Cumulative damage in fatigue, Journal of Applied Mechanics 12 (1945)
       A159-A164 (from memory).

    Examples
    --------
    >>> miner_sum([0.5, 0.8], [7.0, 4.0], cycle_life=[(0.5, 700.0), (0.8, 400.0)])
    0.02
    """
    return float(np.sum(np.asarray(counts) / cycles_at_depth(depth_frac, cycle_life=cycle_life)))


def wear_of(
    soc: ArrayLike,
    *,
    health_frac: float,
    cycle_life: Sequence[tuple[float, float]],
) -> Wear:
    """What a history of state of charge costs the bank.

    Parameters
    ----------
    soc : array_like, shape (times,)
        Of one member, as a share of what the bank holds today. [-]
    health_frac : float
        What that is of the label: a maker counts depth in ampere-hours of the label. [-]
    cycle_life : sequence of (float, float)
        The curve: depth and cycles, the shallowest first.

    Returns
    -------
    Wear
        Share of the cycle life, and the deepest cycle.

    Raises
    ------
    ValueError
        If there is no history, or a value in it is not finite.

    Notes
    -----
    Age by the calendar, sulphation, warmth and rate are left out (docs/model/wear.md).

    Examples
    --------
    >>> curve = [(0.4, 1000.0), (0.8, 400.0)]
    >>> wear_of([1.0, 0.5, 1.0], health_frac=0.8, cycle_life=curve)
    Wear(cycle_life_used_frac=0.001, deepest_cycle_frac=0.4)
    """
    depths, counts = counted_cycles(soc)
    label_frac = depths * health_frac
    return Wear(
        cycle_life_used_frac=miner_sum(label_frac, counts, cycle_life=cycle_life),
        deepest_cycle_frac=float(label_frac.max(initial=0.0)),
    )
