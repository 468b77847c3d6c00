"""How often it blows harder than some strength, and for how long a sea is left of it."""

from __future__ import annotations

import math
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from powersim.sky.wind import KN_M_S, NEXT_HOUR, SLOW_SHARE

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Floats

#: Grid of standard normal numbers on which the chance of a quiet spell is worked out; from there
#: on nothing is left. [-]
_GRID = np.linspace(-6.0, 6.0, 181)
#: Shapes of Weibull's distribution: Rayleigh's, and that of a steadier wind. [-]
RAYLEIGH, STEADY = 2.0, 3.0
#: Up to which latitude it is steady, and from which on it is not; our judgement. [deg]
STEADY_deg, UNSTEADY_deg = 20.0, 35.0
_SLOW = 41  # points at which the weather of days is looked at


def shape_at(lat_deg: Floats) -> Array:
    """How steadily it blows about its mean: the shape of a Weibull distribution.

    Parameters
    ----------
    lat_deg : float or ndarray
        Latitude. [deg]

    Returns
    -------
    ndarray
        2, which is Rayleigh's, from 35 degrees of latitude to the poles; 3 within 20 degrees of the
        equator; between them in a straight line. [-]

    Notes
    -----
    For strong wind alone: calms and wind generators go by Rayleigh's everywhere. 3 lies between
    what two platforms in the tropics measured about the climatology's mean
    (docs/model/heavy_weather.md); elsewhere nothing was measured.

    Examples
    --------
    >>> shape_at(np.array([-50.0, 27.5, 10.0])).tolist()
    [2.0, 2.5, 3.0]
    """
    return np.interp(np.abs(lat_deg), (STEADY_deg, UNSTEADY_deg), (STEADY, RAYLEIGH))


def share_above(mean_m_s: Floats, *, above_kn: Floats, shape: Floats = RAYLEIGH) -> Array:
    """Share of hours in which it blows harder.

    Parameters
    ----------
    mean_m_s : float or ndarray
        The month's mean. [m/s]
    above_kn : float or ndarray
        Strength. [kn]
    shape : float or ndarray
        Of the distribution; 2 is that of `wind.calm_frac`. [-]

    Returns
    -------
    ndarray
        exp(-(Gamma(1 + 1 / shape) strength / mean)^shape), which for a shape of 2 is exp(-pi/4
        (strength / mean)^2); none where there is no wind at all. [-]

    References
    ----------
    .. [1] As for `wind.calm_frac`.

    Examples
    --------
    >>> round(float(share_above(8.0, above_kn=34.0)), 4)
    0.0234
    >>> round(float(share_above(8.0, above_kn=34.0, shape=3.0)), 4)
    0.0006
    >>> float(share_above(0.0, above_kn=34.0))
    0.0
    """
    above_m_s, mean = np.broadcast_arrays(np.asarray(above_kn, dtype=float) * KN_M_S, mean_m_s)
    no_wind = np.full(mean.shape, np.inf)
    ratio = np.divide(above_m_s, mean, out=no_wind, where=np.asarray(mean) > 0.0)
    return np.exp(-((ratio * _gamma(shape)) ** shape))


def hard_wind_m_s(mean_m_s: Floats, quantile: Floats, *, shape: Floats) -> Array:
    """Wind speed from its mean and its place in the distribution of `share_above`.

    Parameters
    ----------
    mean_m_s : float or ndarray
        The month's mean. [m/s]
    quantile : float or ndarray
        At least 0 and below 1. [-]
    shape : float or ndarray
        Of the distribution. [-]

    Returns
    -------
    ndarray
        mean / Gamma(1 + 1 / shape) * (-ln(1 - quantile))^(1 / shape). [m/s]

    Examples
    --------
    >>> round(float(hard_wind_m_s(7.0, 0.5, shape=2.0)), 2)
    6.58
    """
    return mean_m_s / _gamma(shape) * (-np.log1p(-quantile)) ** (1.0 / shape)


def _gamma(shape: Floats) -> Array:
    """Mean of a Weibull distribution of scale 1."""
    from scipy.special import gamma

    return gamma(1.0 + 1.0 / np.asarray(shape))


def share_within(share: Array, *, hours: int) -> Array:
    """Chance that it blows so hard in any of some hours that follow each other.

    Parameters
    ----------
    share : ndarray
        Share of single hours in which it does. [-]
    hours : int
        How many hours. [h]

    Returns
    -------
    ndarray, as `share`
        At least that share. [-]

    Notes
    -----
    By the law of `wind.wind_quantiles`, with the slow weather standing still over these hours: the
    fast numbers follow each other as there, so the density of those that stayed low is carried from
    hour to hour on a grid, for each of some slow numbers. Of 7 hours, one of which in 20 blows so
    hard, it gives 12.4 %, and draws of the law itself 12.5 % (tests/unit/test_high_wind.py).
    """
    if hours <= 1:
        return share
    from scipy.special import ndtri

    levels, found = _share_within(hours)
    # Beyond the grid it blows so hard in every hour, or in none.
    latent = ndtri(np.clip(1.0 - np.asarray(share, dtype=float), 1e-12, 1.0 - 1e-12))
    within = np.interp(latent, levels, found)
    return np.where(np.asarray(share) > 0.0, np.maximum(within, share), 0.0)


@cache
def _share_within(hours: int) -> tuple[Array, Array]:
    """Chance that the latent number passes a level in any of some hours, level by level."""
    width = _GRID[1] - _GRID[0]
    density = np.exp(-0.5 * _GRID**2)
    density /= density.sum()
    following = math.sqrt(1.0 - NEXT_HOUR**2)
    # From column to row; columns add up to 1, so nobody is lost at the grid's ends.
    moves = np.exp(-0.5 * ((_GRID[:, None] - NEXT_HOUR * _GRID) / following) ** 2)
    moves /= moves.sum(axis=0)
    # Share of each cell of the grid that lies below each level of the fast number.
    below = np.clip((_GRID[None, :] - _GRID[:, None]) / width + 0.5, 0.0, 1.0)
    low = density[:, None] * below
    for _ in range(hours - 1):
        low = below * (moves @ low)
    stays = low.sum(axis=0)  # by level of the fast number

    slow, weights = np.polynomial.hermite_e.hermegauss(_SLOW)
    fast_level = (_GRID[:, None] - math.sqrt(SLOW_SHARE) * slow) / math.sqrt(1.0 - SLOW_SHARE)
    quiet = np.interp(fast_level, _GRID, stays, left=0.0, right=1.0)
    return _GRID, 1.0 - quiet @ (weights / weights.sum())


def strongest_of_late(wind_m_s: Array, *, steps: int) -> Array:
    """The strongest wind of some steps before each, and of itself.

    Parameters
    ----------
    wind_m_s : ndarray, shape (n, ...)
        Time first. [m/s]
    steps : int
        How many steps before it count; what was before the first one is not known.

    Returns
    -------
    ndarray, shape (n, ...)
        At least the wind itself. [m/s]

    Examples
    --------
    >>> strongest_of_late(np.array([5.0, 9.0, 4.0, 3.0, 2.0]), steps=2).tolist()
    [5.0, 9.0, 9.0, 9.0, 4.0]
    """
    found, seen = wind_m_s.copy(), 0
    while seen < steps:  # as far again as is seen already, then the rest
        more = min(seen + 1, steps - seen)
        found[more:] = np.maximum(found[more:], found[:-more])
        seen += more
    return found
