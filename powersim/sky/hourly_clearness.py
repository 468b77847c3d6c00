"""How a day's light falls on its hours: autoregressive, by Aguiar and Collares-Pereira 1992."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from powersim.records.arrays import Array

# At sea hours differ more than that model has it on bright days: added in quadrature to its
# standard deviation; fitted to a mooring, docs/model/synthetic_days.md. [-]
SEA_SPREAD_KT = 0.08


def mean_kt(day_kt: Array, sine: Array) -> Array:
    """Mean clearness of an hour in a day of given clearness.

    Parameters
    ----------
    day_kt : ndarray
        Clearness of the day. [-]
    sine : ndarray
        Of the sun's height. [-]

    Returns
    -------
    ndarray
        Light at the surface over light above the atmosphere. [-]

    References
    ----------
    .. [1] R. Aguiar and M. Collares-Pereira, TAG: a time-dependent, autoregressive, Gaussian model
       for generating synthetic hourly radiation, Solar Energy 49 (1992) 167-174.
    """
    floor = -0.19 + 1.12 * day_kt + 0.24 * np.exp(-8.0 * day_kt)
    rise = 0.32 - 1.6 * (day_kt - 0.5) ** 2
    path = 0.19 + 2.27 * day_kt**2 - 2.51 * day_kt**3
    return floor + rise * np.exp(-path / sine)


def spread_kt(day_kt: Array, sine: Array) -> Array:
    """Standard deviation of an hour's clearness about its mean.

    Parameters
    ----------
    day_kt, sine : ndarray
        As for mean_kt. [-]

    Returns
    -------
    ndarray
        Of the hour's clearness, the sea's own spread not yet added. [-]
    """
    high = 0.14 * np.exp(-20.0 * (day_kt - 0.35) ** 2)
    return high * np.exp((3.0 * (day_kt - 0.45) ** 2 + 16.0 * day_kt**5) * (1.0 - sine))


def lag_one(day_kt: Array) -> Array:
    """Correlation of an hour's deviation with that of the hour before.

    Parameters
    ----------
    day_kt : ndarray
        Clearness of the day. [-]

    Returns
    -------
    ndarray
        0.32 to 0.44. [-]
    """
    return 0.38 + 0.06 * np.cos(7.4 * day_kt - 2.5)


def hourly_kt(day_kt: Array, *, sine: Array, deviates: Array) -> Array:
    """Clearness of a day's light hours, before it is made to add up.

    Parameters
    ----------
    day_kt : ndarray, shape (members,)
        Clearness of the day; above 1 it is taken for 1. [-]
    sine : ndarray, shape (hours,)
        Of the sun's height in each light hour. [-]
    deviates : ndarray, shape (hours, members)
        Standard normal draws. [-]

    Returns
    -------
    ndarray, shape (hours, members)
        May lie outside what is possible. [-]
    """
    # Refraction lights a polar dusk from below the horizon, so that a day can be clearer than all
    # that is above the atmosphere; the fits know nothing of such days, and grow without bounds.
    day_kt = np.minimum(day_kt, 1.0)
    likeness = lag_one(day_kt)
    fresh = np.sqrt(1.0 - likeness**2)
    deviate = np.empty_like(deviates)
    deviate[:1] = deviates[:1]
    for row in range(1, len(deviates)):
        deviate[row] = likeness * deviate[row - 1] + fresh * deviates[row]
    sine = sine[:, None]
    spread = np.sqrt(spread_kt(day_kt, sine) ** 2 + SEA_SPREAD_KT**2)
    return mean_kt(day_kt, sine) + spread * deviate


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
