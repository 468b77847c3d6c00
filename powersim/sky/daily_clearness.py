"""How clear each day is: bright and grey days about a month's mean."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from powersim.sky import streams
from powersim.sky.month_error import widened

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Ints

# All of these are fitted to moorings at sea: docs/model/synthetic_days.md.
# Likeness of a day to the day before within one year's month, as correlation of deviates. [-]
LAG_ONE = 0.08
# The sum of a beta distribution's exponents, by the mean as a share of the clear sky. [-]
EXPONENTS_AT, EXPONENTS = (0.55, 0.80, 0.95), (5.0, 2.0, 9.0)
# Its bounds: the brightest day as a share of the clear sky's, and the darkest. [-]
BRIGHTEST_OF_CLEAR, DARKEST_KT = 1.07, 0.02
# Where the usual sky is nearly as bright as that, the upper bound gives way: the mean comes first.
MEAN_BELOW_TOP = 0.95  # [-]
# With less than this sum of exponents days would be either black or bright. [-]
LEAST_EXPONENTS = 0.5
# The distribution is worked out where a normal deviate has these values.
_DEVIATES = np.linspace(-4.0, 4.0, 129)


def quantiles(
    mean_kt: Array, *, clear_kt: Array, year_share: Array, table_sd_kt: Array
) -> tuple[Array, Array, Array]:
    """Distribution of daily clearness about its mean.

    Parameters
    ----------
    mean_kt, clear_kt : ndarray, shape (days,)
        Mean clearness, and that of the clear sky. [-]
    year_share, table_sd_kt : ndarray, shape (days,)
        How far months differ from the mean: see month_error. [-]

    Returns
    -------
    share : ndarray, shape (nodes,)
        Share of days that are darker, 0 to 1. [-]
    kt : ndarray, shape (days, nodes)
        Their clearness; its mean over straight lines between the nodes is mean_kt. [-]
    month_share : ndarray, shape (days,)
        How much of their variance days have in common with their month. [-]

    Notes
    -----
    A beta distribution: skewed to the left where the mean is near the clear sky, nearly symmetric
    where it is half of it.

    References
    ----------
    .. [1] V. A. Graham, K. G. T. Hollands and T. E. Brunger, A time series model for Kt with
       application to global synthetic weather generation, Solar Energy 40 (1988) 83-92: a normal
       deviate mapped through the distribution. That of the sea is our own.
    """
    from scipy.special import betaincinv, ndtr

    share = np.concatenate([[0.0], ndtr(_DEVIATES), [1.0]])
    top_kt = np.maximum(clear_kt * BRIGHTEST_OF_CLEAR, mean_kt / MEAN_BELOW_TOP)
    low_kt = np.minimum(DARKEST_KT, 0.5 * mean_kt)
    range_kt = np.maximum(top_kt - low_kt, 1e-9)  # 0 in the polar night
    mean = np.clip((mean_kt - low_kt) / range_kt, 1e-6, 1.0)[:, None]
    of_clear = mean_kt / np.maximum(clear_kt, 1e-9)
    # The sum of exponents is that of days within a month; with what months differ by it is less.
    even = mean[:, 0] * (1.0 - mean[:, 0]) * range_kt**2
    within = even / (1.0 + np.interp(of_clear, EXPONENTS_AT, EXPONENTS))
    variance, month_share = widened(within, year_share=year_share, table_sd_kt=table_sd_kt)
    exponents = np.maximum(even / np.maximum(variance, 1e-18) - 1.0, LEAST_EXPONENTS)[:, None]
    at = betaincinv(mean * exponents, (1.0 - mean) * exponents, share)
    # What straight lines between the nodes do to the mean is taken off again, some 0.01 percent.
    at *= mean / np.trapezoid(at, share, axis=1)[:, None]
    return share, low_kt[:, None] + range_kt[:, None] * at, month_share


def daily_kt(
    day: Ints,
    *,
    mean_kt: Array,
    clear_kt: Array,
    year_share: Array,
    table_sd_kt: Array,
    month_deviate: Array,
    seed: int,
    members: int,
) -> Iterator[Array]:
    """Clearness of a run of days.

    Parameters
    ----------
    day : ndarray of int, shape (days,)
        Numbers of the days, one after the other.
    mean_kt, clear_kt : ndarray, shape (days,)
        Mean clearness over all members, and that of the clear sky. [-]
    year_share, table_sd_kt : ndarray, shape (days,)
        As for quantiles. [-]
    month_deviate : ndarray, shape (days, members)
        Standard normal: how bright each member's month is. [-]
    seed, members : int
        As for streams.uniform.

    Yields
    ------
    ndarray, shape (members,)
        Clearness of each day in turn. [-]

    Notes
    -----
    Each day remembers the one before, and goes with its month: a day's deviate is the sum of its
    month's and its own, so that the distribution over all members is that of `quantiles` and its
    mean is mean_kt. The first day is as any day, so that the odds are the same on all of them.
    """
    from scipy.special import ndtr

    def drawn(index: int) -> Array:
        return streams.normal(streams.DAY_CLEARNESS, seed=seed, index=index, members=members)[0]

    share, kt, month_share = quantiles(
        mean_kt, clear_kt=clear_kt, year_share=year_share, table_sd_kt=table_sd_kt
    )
    spell = drawn(int(day[0]))
    for row, number in enumerate(day):
        if row:
            spell = LAG_ONE * spell + math.sqrt(1.0 - LAG_ONE**2) * drawn(int(number))
        part = month_share[row]
        deviate = math.sqrt(part) * month_deviate[row] + math.sqrt(1.0 - part) * spell
        yield np.interp(ndtr(deviate), share, kt[row])
