"""What the climatology does not know: how far off its months are, and what year it is."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from powersim.sky import streams

if TYPE_CHECKING:
    from powersim.records.arrays import Array, FloatsT, Ints

# All of these are fitted to measured light: docs/fit_light.py, docs/model/monthly_light.md.
#: Standard deviation of the table's error in clearness, where its two sources agree. [-]
TABLE_SD_KT = 0.02
#: Where they differ the truth is taken to lie anywhere between them: that of an even distribution,
#: as a share of how far they are apart. [-]
SD_OF_APART = 1.0 / math.sqrt(12.0)
#: The error is never more than this share of the month's clearness. [-]
MOST_OF_KT = 0.25
#: Share of the whole variance of days that months of one year have in common, by latitude: in the
#: tropics years differ (El Nino), outside them a month is made of its own depressions. [deg, -]
YEAR_AT_DEG, YEAR_SHARE = (20.0, 40.0), (0.30, 0.01)
#: A month's deviate is made of the draws of so many months: it is forgotten in even steps. [-]
MEMORY_MONTHS = 10
# A month's distribution is worked out where a normal deviate has these values.
_DEVIATES = np.linspace(-4.0, 4.0, 65)


def year_share(lat_deg: FloatsT) -> FloatsT:
    """How much of the days' variance is that of whole months from year to year.

    Parameters
    ----------
    lat_deg : float or ndarray
        Latitude. [deg]

    Returns
    -------
    float or ndarray
        Of the variance of days over many years. [-]

    Examples
    --------
    >>> float(year_share(-12.0)), float(year_share(53.0))
    (0.3, 0.01)
    """
    return np.interp(np.abs(lat_deg), YEAR_AT_DEG, YEAR_SHARE)


def table_sd_kt(mean_kt: Array, *, apart_kt: Array) -> Array:
    """Standard deviation of the error of a month's mean clearness.

    Parameters
    ----------
    mean_kt : ndarray
        Clearness by the table. [-]
    apart_kt : ndarray
        How far apart its two sources are. [-]

    Returns
    -------
    ndarray
        Of clearness. [-]
    """
    return np.minimum(np.maximum(TABLE_SD_KT, SD_OF_APART * apart_kt), MOST_OF_KT * mean_kt)


def month_sd_kt(within_kt2: Array, *, year_share: Array, table_sd_kt: Array) -> Array:
    """How far members' months differ from the mean of them all.

    Parameters
    ----------
    within_kt2 : ndarray, shape (days,)
        Variance of days within one month of one year. [-]
    year_share, table_sd_kt : ndarray, shape (days,)
        As the functions of these names have them. [-]

    Returns
    -------
    ndarray, shape (days,)
        Standard deviation of their mean clearness. [-]
    """
    return np.sqrt(within_kt2 * year_share / (1.0 - year_share) + table_sd_kt**2)


def own_mean_kt(
    mean_kt: Array, *, sd_kt: Array, low_kt: Array, top_kt: Array, deviate: Array
) -> Array:
    """Mean clearness about which each member's days lie.

    Parameters
    ----------
    mean_kt : ndarray, shape (days,)
        Mean over all members. [-]
    sd_kt : ndarray, shape (days,)
        How far they differ. [-]
    low_kt, top_kt : ndarray, shape (days,)
        Between which means of months lie. [-]
    deviate : ndarray, shape (days, members)
        Standard normal: how bright each member's month is. [-]

    Returns
    -------
    ndarray, shape (days, members)
        Within those bounds; its mean over many members is mean_kt. [-]

    Notes
    -----
    A beta distribution, as days themselves have: where the mean is near the brightest day, a month
    can be greyer by more than it can be brighter.
    """
    from scipy.special import betaincinv, ndtr

    range_kt = np.maximum(top_kt - low_kt, 1e-9)  # 0 in the polar night
    mean = np.clip((mean_kt - low_kt) / range_kt, 1e-3, 1.0 - 1e-3)
    even = mean * (1.0 - mean)
    # No month is as uneven as days are: half of what there could be at most.
    exponents = 1.0 / np.clip((sd_kt / range_kt) ** 2 / even, 1e-6, 0.5) - 1.0
    share = np.concatenate([[0.0], ndtr(_DEVIATES), [1.0]])
    at = betaincinv((mean * exponents)[:, None], ((1.0 - mean) * exponents)[:, None], share)
    # What straight lines between the nodes do to the mean is taken off again.
    at *= (mean / np.trapezoid(at, share, axis=1))[:, None]
    placed = ndtr(deviate)
    shares = np.stack([np.interp(one, share, row) for one, row in zip(placed, at, strict=True)])
    return low_kt[:, None] + range_kt[:, None] * shares


def month_deviate(day: Ints, *, seed: int, members: int) -> Array:
    """How bright or grey each member's months are, day by day.

    Parameters
    ----------
    day : ndarray of int, shape (days,)
        Numbers of the days since 1970, rising.
    seed, members : int
        As for streams.uniform.

    Returns
    -------
    ndarray, shape (days, members)
        Standard normal. [-]

    Notes
    -----
    Months of the calendar have draws of their own, so that a passage that leaves later meets the
    same months. A month's deviate is the sum of its draw and those of the nine months before;
    days lie on straight lines between the middles of months.
    """
    low, weight = _between(day)
    first, last = int(low.min()), int(low.max()) + 1
    draws = np.concatenate(
        [
            streams.normal(streams.MONTH_ERROR, seed=seed, index=month, members=members)
            for month in range(first - MEMORY_MONTHS + 1, last + 1)
        ]
    )
    months = last - first + 1
    deviate = np.stack([draws[k : k + months] for k in range(MEMORY_MONTHS)]).sum(axis=0)
    deviate /= math.sqrt(MEMORY_MONTHS)
    alike = 1.0 - 1.0 / MEMORY_MONTHS  # of a month with the next
    spread = np.sqrt(1.0 - 2.0 * weight * (1.0 - weight) * (1.0 - alike))
    row = low - first
    early, late = ((1.0 - weight) / spread)[:, None], (weight / spread)[:, None]
    return early * deviate[row] + late * deviate[row + 1]


def _between(day: Ints) -> tuple[Ints, Array]:
    """The month whose middle a day is past, counted since 1970, and how far it is to the next."""
    date = day.astype("datetime64[D]")
    month = date.astype("datetime64[M]")
    starts = month.astype("datetime64[D]")
    length_d = ((month + 1).astype("datetime64[D]") - starts).astype(float)
    at = month.astype(int) + ((date - starts).astype(float) + 0.5) / length_d - 0.5
    low = np.floor(at).astype(int)
    return low, at - low
