"""Wind in two time scales: a weather of days, and the lulls and puffs of hours within it.

The climatology says how often it is calm, not for how long at a time. Here each member's wind has a
place in the month's distribution, its quantile, that drifts over a week and flutters over hours.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from powersim.sky import streams
from powersim.sky.climatology import monthly_mean

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Floats

#: How long the weather of days is remembered; fitted to the calm hours of the mooring of
#: docs/model/wind_and_calms.md by docs/fit_calms.py. [h]
SLOW_h = 168.0
#: The same of the lulls and puffs in it; fitted there. [h]
FAST_h = 2.5
#: Share of the variance that the weather of days has; the lulls and puffs have the rest. [-]
SLOW_SHARE = 0.7

#: Correlation of lulls and puffs from one hour to the next. [-]
NEXT_HOUR = math.exp(-1.0 / FAST_h)
KN_M_S = 1852.0 / 3600.0  # one knot [m/s]

_DAY_h = 24
#: The slow weather is that of so many days, the latest weighing most; those before weigh 0.2 %.
_DAYS_BACK = 42
_WEIGHTS = np.exp(-np.arange(_DAYS_BACK) * _DAY_h / SLOW_h)
_WEIGHTS /= math.sqrt(float(_WEIGHTS @ _WEIGHTS))
#: Correlation of the slow weather from one midnight to the next. [-]
_NEXT_DAY = float(_WEIGHTS[1:] @ _WEIGHTS[:-1])
#: What a quantile must stay below: at 1 there is no highest speed.
_BELOW_ONE = 1.0 - 2.0**-53


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
    The quantile is that of sqrt(SLOW_SHARE) * slow + sqrt(1 - SLOW_SHARE) * fast, both standard
    normal and independent. So every hour of every member is uniform, also where the climate changes
    along the way. Slow, at midnight, is a weighted sum of one draw for each of the last 42 days,
    with weights that fall by exp(-24 h / SLOW_h) a day; between midnights it goes in a straight
    line, stretched to the same spread. Fast follows itself by exp(-1 h / FAST_h) an hour and begins
    a day earlier. All of it belongs to the calendar: a passage that leaves later meets the same
    wind, to the last bit.
    """
    days = _days(first_hour, hours, members)
    latent = math.sqrt(SLOW_SHARE) * _slow(days, seed=seed, members=members)
    latent += math.sqrt(1.0 - SLOW_SHARE) * _fast(days, seed=seed, members=members)
    latent = latent.reshape(-1, members)[first_hour - days.start * _DAY_h :][:hours]

    from scipy.special import ndtr

    return np.minimum(ndtr(latent), _BELOW_ONE)


def calm_turns(*, first_hour: int, hours: int, seed: int, members: int) -> Array:
    """How far the hour is in a day of 24 hours that each member begins when it likes.

    Parameters
    ----------
    first_hour, hours, seed, members
        As for `wind_quantiles`.

    Returns
    -------
    ndarray, shape (hours, members)
        0 to below 1, every value as likely. [-]

    Raises
    ------
    ValueError
        As `wind_quantiles` does.

    Notes
    -----
    Drawn anew for each day of UTC. Below a share of the day it is the engine's turn in a calm, in
    one go: see `voyage.motoring.motored_calms`.
    """
    days = _days(first_hour, hours, members)
    begins = _drawn(streams.CALM_TURN, days, seed=seed, members=members)
    of_day = (np.arange(_DAY_h) + 0.5)[None, :, None] / _DAY_h
    turn = (of_day - begins) % 1.0
    return turn.reshape(-1, members)[first_hour - days.start * _DAY_h :][:hours]


def _days(first_hour: int, hours: int, members: int) -> range:
    """The days of the calendar that some hours lie in."""
    if hours < 1 or members < 1:
        raise ValueError(f"hours and members must be at least 1, got {hours!r} and {members!r}")
    return range(first_hour // _DAY_h, (first_hour + hours - 1) // _DAY_h + 1)


def _drawn(purpose: int, days: range, *, seed: int, members: int, per_member: int = 1) -> Array:
    """Uniform draws of some days, shape (days, per_member, members)."""
    return np.stack(
        [
            streams.uniform(purpose, seed=seed, index=day, members=members, per_member=per_member)
            for day in days
        ]
    )


def _slow(days: range, *, seed: int, members: int) -> Array:
    """The weather of days, shape (days, 24, members); mean 0, standard deviation 1."""
    from scipy.special import ndtri

    back = range(days.start - _DAYS_BACK + 1, days.stop + 1)
    draws = ndtri(_drawn(streams.WIND_SLOW, back, seed=seed, members=members))
    midnights = len(days) + 1
    # Term by term, so that a midnight is the same number whatever the passage begins with.
    at_midnight = np.zeros((midnights, 1, members))
    for age, weight in enumerate(_WEIGHTS.tolist()):
        first = _DAYS_BACK - 1 - age
        at_midnight += weight * draws[first : first + midnights]
    after = (np.arange(_DAY_h) + 0.5)[:, None] / _DAY_h
    spread = np.sqrt((1.0 - after) ** 2 + after**2 + 2.0 * after * (1.0 - after) * _NEXT_DAY)
    return at_midnight[:-1] * ((1.0 - after) / spread) + at_midnight[1:] * (after / spread)


def _fast(days: range, *, seed: int, members: int) -> Array:
    """Lulls and puffs, shape (days, 24, members); mean 0, standard deviation 1."""
    from scipy.special import ndtri

    since = range(days.start - 1, days.stop)
    draws = ndtri(_drawn(streams.WIND, since, seed=seed, members=members, per_member=_DAY_h))
    new = math.sqrt(1.0 - NEXT_HOUR**2)
    # Each day's first hour remembers the day before it, from whose first draw on it is followed.
    now = draws[:-1, 0]
    for hour in range(1, _DAY_h):
        now = NEXT_HOUR * now + new * draws[:-1, hour]
    fast = draws[1:]
    for hour in range(_DAY_h):
        now = fast[:, hour] = NEXT_HOUR * now + new * fast[:, hour]
    return fast


def calm_frac(lat_deg: Array, lon_deg: Array, utc_s: Array, *, below_kn: float) -> Array:
    """Share of hours with too little wind to sail.

    Parameters
    ----------
    lat_deg, lon_deg : ndarray, shape (n,)
        Place. [deg]
    utc_s : ndarray, shape (n,)
        Unix time. [s]
    below_kn : float
        Wind below which it is calm. [kn]

    Returns
    -------
    ndarray, shape (n,)
        Chance of less than that. [-]

    Notes
    -----
    Hourly wind speed is taken as Rayleigh distributed about the month's mean, which is 1 -
    exp(-pi/4 (v / mean)^2) below v. The trades blow more steadily than that and have fewer calms.

    References
    ----------
    .. [1] C. G. Justus, W. R. Hargraves, A. Mikhail and D. Graber, Methods for estimating wind
       speed frequency distributions, J. Applied Meteorology 17 (1978) 350-353 (from memory).
    """
    (mean_m_s,) = monthly_mean("wind_m_s", lat_deg=lat_deg, lon_deg=lon_deg, utc_s=utc_s)
    return 1.0 - np.exp(-0.25 * math.pi * (below_kn * KN_M_S / mean_m_s) ** 2)


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
    mean * sqrt(-4 / pi * ln(1 - q)), the inverse of what `calm_frac` adds up: it blows less than
    `below_kn` exactly where the quantile is below that share.

    References
    ----------
    .. [1] As for `calm_frac`.

    Examples
    --------
    >>> round(float(rayleigh_m_s(7.0, 0.5)), 2)
    6.58
    """
    return mean_m_s * np.sqrt(-4.0 / math.pi * np.log1p(-quantile))
