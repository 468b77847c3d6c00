"""Wind that persists: whether an hour is calm depends on the hour before.

The climatology says how often it is calm, not for how long at a time. Here each member's wind keeps
its place in the month's distribution, its quantile, until something new comes along.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from powersim.sky import streams

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Floats

#: How long the wind keeps its quantile, on average; fitted to how calm hours hang together over two
#: days at the mooring of docs/model/wind_and_calms.md. [h]
PERSISTENCE_h = 24.0
_DAY_h = 24


def wind_quantiles(*, first_hour: int, hours: int, seed: int, members: int) -> Array:
    """Where the wind stands in its distribution, hour by hour, in every member.

    Parameters
    ----------
    first_hour : int
        Whole hours since 1970, UTC, of the first hour. [h]
    hours : int
        How many hours. [h]
    seed : int
        As for `streams.uniform`.
    members : int
        How many members; the first of them are the same for any number.

    Returns
    -------
    ndarray, shape (hours, members)
        Share of the month in which it blows less, above 0 and below 1. [-]

    Raises
    ------
    ValueError
        If hours or members is below 1, or the seed is out of range.

    Notes
    -----
    Each hour the quantile is drawn anew with the chance p = 1 / PERSISTENCE_h, and else stays. So
    every hour of every member is uniform, also where the climate changes along the way, and hours
    k apart correlate by (1 - p)^k. One uniform draw u serves for both: below p, u / p is the new
    quantile. The draws belong to the calendar: a passage that leaves a day later meets the same
    ones, and the same wind as soon as that has changed once. The first hour takes u itself.

    It is calm where the quantile is below `climatology.calm_frac`. Where a sailor motors a share of
    the calms, those with a quantile below that share of it are motored: the deepest ones, in whole
    spells, and in the mean exactly that share.
    """
    if hours < 1 or members < 1:
        raise ValueError(f"hours and members must be at least 1, got {hours!r} and {members!r}")
    first_day, last_day = first_hour // _DAY_h, (first_hour + hours - 1) // _DAY_h
    draws = np.empty(((last_day - first_day + 1) * _DAY_h, members))
    for place, day in enumerate(range(first_day, last_day + 1)):
        draws[place * _DAY_h : (place + 1) * _DAY_h] = streams.uniform(
            streams.WIND, seed=seed, index=day, members=members, per_member=_DAY_h
        )
    # The draws turn into quantiles in place, hour after hour.
    quantile = draws[first_hour - first_day * _DAY_h :][:hours]
    for hour in range(1, hours):
        draw = quantile[hour]
        anew = draw < 1.0 / PERSISTENCE_h
        quantile[hour] = np.where(anew, draw * PERSISTENCE_h, quantile[hour - 1])
    return quantile


def rayleigh_m_s(mean_m_s: Floats, quantile: Floats) -> Array:
    """Wind speed from its mean and its place in the distribution.

    Parameters
    ----------
    mean_m_s : float or ndarray
        The month's mean. [m/s]
    quantile : float or ndarray
        At least 0 and below 1; at 1 there is no highest speed. [-]

    Returns
    -------
    ndarray
        Speed of the hour. [m/s]

    Notes
    -----
    mean * sqrt(-4 / pi * ln(1 - q)), the inverse of what `climatology.calm_frac` adds up: it blows
    less than 5 knots exactly where the quantile is below that share.

    References
    ----------
    .. [1] C. G. Justus, W. R. Hargraves, A. Mikhail and D. Graber, Methods for estimating wind
       speed frequency distributions, J. Applied Meteorology 17 (1978) 350-353 (from memory).

    Examples
    --------
    >>> round(float(rayleigh_m_s(7.0, 0.5)), 2)
    6.58
    """
    return mean_m_s * np.sqrt(-4.0 / math.pi * np.log1p(-quantile))
