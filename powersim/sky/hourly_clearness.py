"""How a day's light falls on its hours: bright and grey hours about the day's mean."""

from __future__ import annotations

import math
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from powersim.sky import clearness_tables

if TYPE_CHECKING:
    from powersim.records.arrays import Array

# Fitted to hours measured at sea, docs/model/synthetic_days.md.
# The darkest and the brightest hour, as shares of the clear sky's light. [-]
DARKEST_HOUR, BRIGHTEST_HOUR = 0.05, 1.10
# Variance of hours within a day, of the largest there could be: among the showers and heaps of the
# tropics, and under the sheets of cloud that fronts bring. [-]
TROPICS_SPREAD, FRONTS_SPREAD = 0.21, 0.14
# Likeness of an hour to the hour before, as correlation of deviates. [-]
HOUR_LAG = 0.7


@cache
def _table(spread: float) -> Array:
    nodes = clearness_tables.means().size
    return clearness_tables.table(np.full(nodes, spread), np.zeros(nodes), 1.0)


def hourly_frac(day_frac: Array, *, fronts_share: float, deviates: Array) -> Array:
    """Shares of the clear sky's light in a day's light hours, before they are made to add up.

    Parameters
    ----------
    day_frac : ndarray, shape (members,)
        The day's light as a share of the clear sky's. [-]
    fronts_share : float
        How much of the weather is that of passing fronts: daily_clearness. [-]
    deviates : ndarray, shape (hours, members)
        Standard normal draws. [-]

    Returns
    -------
    ndarray, shape (hours, members)
        Their mean over many draws is day_frac, as far as that lies within the bounds. [-]

    Notes
    -----
    As days lie about their month: a beta distribution about the day's mean, and a deviate that
    remembers the hour before. Nothing is said of the sun's height: hours of a low sun are as
    changeable as those of a high one, as shares of what a clear sky gives then.
    """
    fresh = math.sqrt(1.0 - HOUR_LAG**2)
    deviate = np.empty_like(deviates)
    deviate[:1] = deviates[:1]
    for row in range(1, len(deviates)):
        deviate[row] = HOUR_LAG * deviate[row - 1] + fresh * deviates[row]
    tropics, fronts = _table(TROPICS_SPREAD), _table(FRONTS_SPREAD)
    range_frac = BRIGHTEST_HOUR - DARKEST_HOUR
    share = clearness_tables.looked_up(
        tropics + fronts_share * (fronts - tropics), (day_frac - DARKEST_HOUR) / range_frac, deviate
    )
    return DARKEST_HOUR + range_frac * share


def adding_up(
    frac: Array, *, weights: Array, total: Array, least: float, most: float | Array
) -> Array:
    """Shares near to some that lie within bounds and have a given weighted sum.

    Parameters
    ----------
    frac : ndarray, shape (hours, members)
        Shares to start from; changed. [-]
    weights : ndarray, shape (hours,)
        Of the hours.
    total : ndarray, shape (members,)
        The sum to be had, of weights times shares.
    least, most : float or ndarray, shape (hours, 1)
        Bounds; the upper one may differ from hour to hour. [-]

    Returns
    -------
    ndarray, shape (hours, members)
        `frac` itself, changed. [-]

    Notes
    -----
    All are stretched alike, clipped to the bounds, and what the sum then lacks is taken from the
    room that is left to the upper bound, or what it has too much from that to the lower one, the
    same share of the room in every hour. So the sum is right to rounding and no bound is passed,
    if the total can be had within them at all.

    Examples
    --------
    >>> frac = np.array([[0.2], [0.9]])
    >>> weights, total = np.array([1.0, 3.0]), np.array([3.2])
    >>> adding_up(frac, weights=weights, total=total, least=0.0, most=1.0).round(3).tolist()
    [[0.221], [0.993]]
    """
    np.maximum(frac, least, out=frac)
    frac *= total / _summed(frac, weights)
    np.clip(frac, least, most, out=frac)
    lack = total - _summed(frac, weights)
    bound = np.where(lack > 0.0, most, least)
    room = _summed(bound - frac, weights)
    part = lack / np.where(room == 0.0, 1.0, room)
    frac += part * (bound - frac)
    return frac


def _summed(frac: Array, weights: Array) -> Array:
    """Weighted sum down the hours, row by row: the same for any number of members."""
    total = np.zeros(frac.shape[1])
    for row, weight in zip(frac, weights, strict=True):
        total += weight * row
    return total
