"""How clear each day is: days about a month's mean, some alike to the day before."""

from __future__ import annotations

import math

import numpy as np

from powersim.sky import streams

# Fitted to moorings at sea, docs/model/synthetic_days.md.
BRIGHTEST_OF_CLEAR = 1.06  # the brightest day that can be, as a share of the clear sky's [-]
DARKEST_KT = 0.02
MEAN_BELOW_TOP = 0.95  # the mean is at most this share of the brightest day [-]
# A beta distribution's two exponents add up to this at the mean's place between bounds.
SPREAD_AT = (0.0, 0.55, 0.7, 1.0)
EXPONENTS = (4.0, 4.0, 6.0, 20.0)
# How alike a day is to the one before, from the mean Kt on the left to that on the right.
LAG_KT, LAG_ONE = (0.40, 0.60), (0.10, 0.29)
# Places in the distribution at which it is worked out: evenly by the normal's deviate.
_DEVIATES = np.linspace(-4.0, 4.0, 129)


def lag_one(mean_kt):
    """Likeness of a day to the day before.

    Parameters
    ----------
    mean_kt : float
        The month's mean clearness. [-]

    Returns
    -------
    float
        Correlation of the two days' normal deviates. [-]
    """
    return float(np.interp(mean_kt, LAG_KT, LAG_ONE))


def quantiles(mean_kt, *, clear_kt):
    """Distribution of daily clearness about its mean.

    Parameters
    ----------
    mean_kt, clear_kt : ndarray, shape (days,)
        Mean clearness, and that of the clear sky. [-]

    Returns
    -------
    share : ndarray, shape (nodes,)
        Share of days that are darker, 0 to 1. [-]
    kt : ndarray, shape (days, nodes)
        Their clearness; its mean over straight lines between nodes is mean_kt. [-]
    """
    from scipy.special import betaincinv, ndtr

    share = np.concatenate([[0.0], ndtr(_DEVIATES), [1.0]])
    top_kt = np.maximum(clear_kt * BRIGHTEST_OF_CLEAR, mean_kt / MEAN_BELOW_TOP)
    low_kt = np.minimum(DARKEST_KT, 0.5 * mean_kt)
    x = ((mean_kt - low_kt) / np.maximum(top_kt - low_kt, 1e-9))[:, None]
    x = np.clip(x, 1e-6, 1.0 - 1e-6)
    exponents = np.interp(x, SPREAD_AT, EXPONENTS)
    at = betaincinv(x * exponents, (1.0 - x) * exponents, share)
    # What straight lines between the nodes add to the mean is taken off again.
    at *= x / np.trapezoid(at, share, axis=1)[:, None]
    return share, low_kt[:, None] + (top_kt - low_kt)[:, None] * at


def daily_kt(day, *, mean_kt, clear_kt, seed, members):
    """Clearness of a run of days.

    Parameters
    ----------
    day : ndarray of int, shape (days,)
        Numbers of the days, one after the other.
    mean_kt, clear_kt : ndarray, shape (days,)
        Mean clearness, and that of the clear sky. [-]
    seed, members : int
        As for streams.uniform.

    Yields
    ------
    ndarray, shape (members,)
        Clearness of each day in turn. [-]
    """
    from scipy.special import ndtr

    share, kt = quantiles(mean_kt, clear_kt=clear_kt)
    deviate = None
    for row, number in enumerate(day):
        (new,) = streams.normal(
            streams.DAY_CLEARNESS, seed=seed, index=int(number), members=members
        )
        likeness = lag_one(mean_kt[row])
        deviate = (
            new if deviate is None else likeness * deviate + math.sqrt(1.0 - likeness**2) * new
        )
        yield np.interp(ndtr(deviate), share, kt[row])
