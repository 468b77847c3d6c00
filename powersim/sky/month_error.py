"""What the climatology does not know: how far off its months are, and what year it is."""

from __future__ import annotations

import math
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from powersim.sky import streams
from powersim.sky.clearness_tables import spell_of

if TYPE_CHECKING:
    from powersim.records.arrays import Array, FloatsT, Ints

# All of these are fitted to measured light: docs/fit_light.py, docs/model/monthly_light.md.
#: Standard deviation of the table's error in clearness, where its two sources agree. [-]
TABLE_SD_KT = 0.02
#: Where they differ the truth is taken to lie anywhere between them: that of an even distribution,
#: as a share of how far they are apart. [-]
SD_OF_APART = 1.0 / math.sqrt(12.0)
#: No months differ by more than this share of their clearness. [-]
MOST_OF_KT = 0.25
#: How far months of one year differ from those of all, in clearness: in the tropics years differ
#: (El Nino), and most where the air is warm enough for the tall clouds that come and go with them;
#: outside the tropics a month is made of its own depressions. [deg, degC, -]
TROPICS_TO_DEG, OTHERS_FROM_DEG = 20.0, 40.0
YEAR_AT_C, TROPICS_SD_KT, OTHERS_SD_KT = (26.0, 28.0), (0.04, 0.085), 0.02
#: A month's deviate is made of the draws of so many months: it is forgotten in even steps. [-]
MEMORY_MONTHS = 10
#: The tropics' grey years are rarer than its bright ones, and further off (El Nino): deviation of
#: the logarithm of how grey they are. [-]
YEAR_SKEW = 1.0
# A month's distribution is worked out where a normal deviate has these values.
_DEVIATES = np.linspace(-4.0, 4.0, 65)
_STEP = _DEVIATES[1] - _DEVIATES[0]
# Rounds that bring the mean back: to a thousandth after four, to a ten-thousandth after all. [-]
_ROUNDS = 8


def year_sd_kt(lat_deg: FloatsT, air_C: FloatsT) -> FloatsT:
    """Standard deviation of a month's mean clearness from year to year, chance of days apart.

    Parameters
    ----------
    lat_deg : float or ndarray
        Latitude. [deg]
    air_C : float or ndarray
        Usual air temperature. [degC]

    Returns
    -------
    float or ndarray
        Of clearness. [-]

    Examples
    --------
    >>> [float(year_sd_kt(*at)) for at in ((-12.0, 24.0), (0.0, 27.0), (53.0, 10.0))]
    [0.04, 0.0625, 0.02]
    """
    tropics = np.interp(np.abs(lat_deg), (TROPICS_TO_DEG, OTHERS_FROM_DEG), (1.0, 0.0))
    in_tropics = np.interp(air_C, YEAR_AT_C, TROPICS_SD_KT)
    return OTHERS_SD_KT + tropics * (in_tropics - OTHERS_SD_KT)


def table_sd_kt(apart_kt: Array) -> Array:
    """Standard deviation of the error of a month's mean clearness.

    Parameters
    ----------
    apart_kt : ndarray
        How far apart the two sources of the mean are. [-]

    Returns
    -------
    ndarray
        Of clearness. [-]
    """
    return np.maximum(TABLE_SD_KT, SD_OF_APART * apart_kt)


def month_spread(
    mean_kt: Array, *, apart_kt: Array, lat_deg: Array, air_C: Array
) -> tuple[Array, Array]:
    """How far members' months differ from the mean of them all, and how unevenly.

    Parameters
    ----------
    mean_kt : ndarray, shape (days,)
        Mean clearness by the tables. [-]
    apart_kt : ndarray, shape (days,)
        How far apart they are. [-]
    lat_deg : ndarray, shape (days,)
        Latitude. [deg]
    air_C : ndarray, shape (days,)
        Usual air temperature. [degC]

    Returns
    -------
    sd_kt : ndarray, shape (days,)
        Standard deviation of their mean clearness. [-]
    skew : ndarray, shape (days,)
        As for own_mean_kt: the year's, as far as the deviation is the year's. [-]
    """
    year_kt2 = year_sd_kt(lat_deg, air_C) ** 2
    month_kt2 = year_kt2 + table_sd_kt(apart_kt) ** 2
    sd_kt = np.minimum(np.sqrt(month_kt2), MOST_OF_KT * mean_kt)
    return sd_kt, YEAR_SKEW * year_kt2 / month_kt2


def own_mean_kt(
    mean_kt: Array, *, sd_kt: Array, skew: Array, low_kt: Array, top_kt: Array, deviate: Array
) -> Array:
    """Mean clearness about which each member's days lie.

    Parameters
    ----------
    mean_kt : ndarray, shape (days,)
        Mean over all members. [-]
    sd_kt : ndarray, shape (days,)
        How far they differ. [-]
    skew : ndarray, shape (days,)
        0 where grey months are as far off as bright ones; the more, the rarer and the greyer the
        grey ones: the deviation of a logarithm. [-]
    low_kt, top_kt : ndarray, shape (days,)
        Between which means of months lie. [-]
    deviate : ndarray, shape (days, members)
        Standard normal: how bright each member's month is. [-]

    Returns
    -------
    ndarray, shape (days, members)
        Within those bounds; its mean over many members is mean_kt. [-]
    """
    skew = np.maximum(skew, 1e-3)[:, None]  # a logarithm of no width would be nought over nought
    mean, most = mean_kt - low_kt, (top_kt - low_kt)[:, None]
    about, middle = -sd_kt[:, None] * spell_of(-_DEVIATES, skew), mean.copy()
    for _ in range(_ROUNDS):  # what the bounds take from the mean is given back by all
        above_low = np.clip(middle[:, None] + about, 0.0, most)
        found = above_low @ _node_weights()
        middle += mean - found
    above_low *= (mean / np.maximum(found, 1e-12))[:, None]
    nodes = low_kt[:, None] + above_low
    days = zip(deviate, nodes, strict=True)
    return np.stack([np.interp(one, _DEVIATES, kt) for one, kt in days])


@cache
def _node_weights() -> Array:
    """Weight of each node in the mean of anything that is straight between them."""
    from scipy.special import ndtr

    short = _DEVIATES * ndtr(_DEVIATES) + np.exp(-0.5 * _DEVIATES**2) / math.sqrt(2.0 * math.pi)
    return np.diff(np.diff(short) / _STEP, prepend=0.0, append=1.0)


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
