"""How clear each day is: bright and grey days about a month's mean."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from powersim.sky import clearness_tables, streams

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Floats, Ints

# All of these are fitted to days measured at sea and on its coasts: docs/model/synthetic_days.md.
# The darkest day, under rain cloud all day long, as a share of the brightest. [-]
DARKEST_OF_BRIGHTEST = 0.08
# Where the usual sky is nearly as bright as that, the brightest gives way: the mean comes first.
MEAN_BELOW_TOP = 0.95  # [-]
# Fronts pass from here on towards the poles, and trade cumulus stands from here on towards the
# equator; between the two a mixture. [deg]
FRONTS_FROM_DEG, TRADES_TO_DEG = 35.0, 15.0
# Variance of days where fronts pass, of the largest there could be: its mean over the year, and how
# much more it is at the depth of winter, early in February in the north; in summer, when fronts are
# weak and low cloud lies evenly, it is as much less. [-]
FRONTS_SPREAD, WINTER_MORE = 0.26, 0.04
DEEPEST_DAY = 35.0  # of the year, in the north [d]
# The same among trade cumulus, by the mean between darkest and brightest day. [-]
TRADES_AT, TRADES_SPREAD = (0.62, 0.93), (0.28, 0.058)
# Spells of weather where fronts pass. How much of a day's deviate is its spell's grows with the
# mean: nothing at the first and so much more for each 1 more, up to the last. [-]
SPELL_FROM, SPELL_SLOPE, SPELL_MOST = 0.24, 1.5, 0.8
# Among trade cumulus a spell has the same small share everywhere. [-]
TRADES_SPELL = 0.2
# Likeness of a spell to itself a day later, and skew: highs stay and fronts go by. [-]
SPELL_LAG, SPELL_SKEW = 0.6, 0.8
_YEAR_D = 365.25


class Kinds(NamedTuple):
    """Tables of clearness by mean and deviate, one for each kind of weather."""

    winter_fronts: Array
    summer_fronts: Array
    trades: Array


@cache
def kinds() -> Kinds:
    """Tables of every kind of weather.

    Returns
    -------
    Kinds
        Worked out once in the life of the process.
    """
    mean = clearness_tables.means()
    winter, summer = (
        clearness_tables.table(
            np.full(mean.size, FRONTS_SPREAD + more), spell_share(mean), SPELL_SKEW
        )
        for more in (WINTER_MORE, -WINTER_MORE)
    )
    trades = clearness_tables.table(
        np.interp(mean, TRADES_AT, TRADES_SPREAD),
        np.full(mean.size, TRADES_SPELL),
        SPELL_SKEW,
    )
    return Kinds(winter_fronts=winter, summer_fronts=summer, trades=trades)


def fronts_share(lat_deg: Array) -> Array:
    """How much of the weather is that of passing fronts, the rest being that of the trades.

    Parameters
    ----------
    lat_deg : ndarray
        Latitude. [deg]

    Returns
    -------
    ndarray
        0 to 1. [-]

    Examples
    --------
    >>> fronts_share(np.array([0.0, -25.0, 53.0])).tolist()
    [0.0, 0.5, 1.0]
    """
    return np.interp(np.abs(lat_deg), (TRADES_TO_DEG, FRONTS_FROM_DEG), (0.0, 1.0))


def winter_share(day: Ints, lat_deg: Array) -> Array:
    """How much of fronts' weather is that of the deepest winter, the rest being high summer's.

    Parameters
    ----------
    day : ndarray of int
        Days since 1970. [d]
    lat_deg : ndarray
        Latitude; south of the equator winter is half a year later. [deg]

    Returns
    -------
    ndarray
        0 to 1. [-]
    """
    wave = np.cos(2.0 * math.pi * (day - DEEPEST_DAY) / _YEAR_D)
    return 0.5 + 0.5 * np.where(lat_deg < 0.0, -wave, wave)


def spell_share(mean: Array) -> Array:
    """How much of a day's deviate is its spell's, where fronts pass.

    Parameters
    ----------
    mean : ndarray
        Mean between the darkest day, 0, and the brightest, 1. [-]

    Returns
    -------
    ndarray
        Of its variance. [-]
    """
    return np.clip(SPELL_SLOPE * (mean - SPELL_FROM), 0.0, SPELL_MOST)


def bounds_kt(mean_kt: Array, clean_kt: Floats) -> tuple[Array, Array]:
    """The darkest and the brightest day there can be about a mean.

    Parameters
    ----------
    mean_kt : ndarray
        Mean clearness. [-]
    clean_kt : float or ndarray
        That of a day under a clear sky in the cleanest air. [-]

    Returns
    -------
    low_kt, top_kt : ndarray
        Clearness of such days. [-]
    """
    top_kt = np.maximum(clean_kt, mean_kt / MEAN_BELOW_TOP)
    return np.minimum(DARKEST_OF_BRIGHTEST * top_kt, 0.5 * mean_kt), top_kt


def daily_kt(
    day: Ints, *, mean_kt: Array, clean_kt: Array, lat_deg: Array, seed: int, members: int
) -> Iterator[Array]:
    """Clearness of a run of days.

    Parameters
    ----------
    day : ndarray of int, shape (days,)
        Numbers of the days since 1970, one after the other.
    mean_kt : ndarray, shape (days, members) or (days, 1)
        Mean clearness about which each member's days lie. [-]
    clean_kt : ndarray, shape (days,)
        That of a day under a clear sky in the cleanest air: the brightest there is. [-]
    lat_deg : ndarray, shape (days,)
        Where the boat is. [deg]
    seed, members : int
        As for streams.uniform.

    Yields
    ------
    ndarray, shape (members,)
        Clearness of each day in turn; its mean over many draws is mean_kt. [-]

    Notes
    -----
    A day's deviate is partly that of its spell, which goes on from the day before, and partly its
    own. The first day is as any day, so that the odds are the same on all of them.
    """
    tables, fronts, winter = kinds(), fronts_share(lat_deg), winter_share(day, lat_deg)
    fresh = math.sqrt(1.0 - SPELL_LAG**2)
    last = np.zeros(members)
    for row, number in enumerate(day):
        drawn, own = streams.normal(
            streams.DAY_CLEARNESS, seed=seed, index=int(number), members=members, per_member=2
        )
        last = SPELL_LAG * last + fresh * drawn if row else drawn
        low_kt, top_kt = bounds_kt(mean_kt[row], clean_kt[row])
        range_kt = np.maximum(top_kt - low_kt, 1e-9)  # 0 in the polar night
        mean = (mean_kt[row] - low_kt) / range_kt
        part = np.zeros(members)
        spell = clearness_tables.spell_of(last, SPELL_SKEW)
        if fronts[row] > 0.0:
            kt = tables.summer_fronts + winter[row] * (tables.winter_fronts - tables.summer_fronts)
            deviate = clearness_tables.mixed(spell, own, spell_share(mean))
            part += fronts[row] * clearness_tables.looked_up(kt, mean, deviate)
        if fronts[row] < 1.0:
            deviate = clearness_tables.mixed(spell, own, TRADES_SPELL)
            part += (1.0 - fronts[row]) * clearness_tables.looked_up(tables.trades, mean, deviate)
        yield low_kt + range_kt * part
