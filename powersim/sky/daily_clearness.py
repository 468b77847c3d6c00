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
# Where fronts pass: under broken cloud days differ and fair spells stay; under a sheet of cloud
# that hardly ever opens days are more alike, and one says little of the next. By the climatology's
# cloud amount, with a mixture between the two. [-]
BROKEN_CLOUD, SHEET_CLOUD = 0.60, 0.90
# Variance of days within a month, of the largest there could be, over the year; in winter, when
# depressions are deepest, it is more by this share of itself, and in summer less. [-]
BROKEN_SPREAD, SHEET_SPREAD, WINTER_MORE = 0.33, 0.19, 0.18
DEEPEST_DAY = 30.0  # of the year, in the north [d]
# The same among trade cumulus, by the mean between darkest and brightest day. [-]
TRADES_AT, TRADES_SPREAD = (0.62, 0.93), (0.27, 0.053)
# How much of a day's deviate is that of its spell of weather. [-]
BROKEN_SPELL, SHEET_SPELL, TRADES_SPELL = 0.70, 0.06, 0.28
# Likeness of a spell to itself a day later, and skew: highs stay and fronts go by. [-]
SPELL_LAG, SPELL_SKEW = 0.6, 0.8
_YEAR_D = 365.25


class Kind(NamedTuple):
    """A kind of weather: clearness by mean and deviate, and its spell's share of a deviate."""

    winter: Array
    summer: Array
    spell: float

    def kt(self, winter: float) -> Array:
        """Its table at a time of the year.

        Parameters
        ----------
        winter : float
            How much of the winter is in it: `winter_share`. [-]

        Returns
        -------
        ndarray, shape (means, deviates)
            As clearness_tables has it. [-]
        """
        return self.summer + winter * (self.winter - self.summer)


class Kinds(NamedTuple):
    """Every kind of weather."""

    broken: Kind
    sheet: Kind
    trades: Kind


@cache
def kinds() -> Kinds:
    """Tables of every kind of weather.

    Returns
    -------
    Kinds
        Worked out once in the life of the process.
    """
    mean = clearness_tables.means()

    def table(spread: Array, spell: float) -> Array:
        return clearness_tables.table(spread, np.full(mean.size, spell), SPELL_SKEW)

    broken, sheet = (
        Kind(
            winter=table(np.full(mean.size, spread * (1.0 + WINTER_MORE)), spell),
            summer=table(np.full(mean.size, spread * (1.0 - WINTER_MORE)), spell),
            spell=spell,
        )
        for spread, spell in ((BROKEN_SPREAD, BROKEN_SPELL), (SHEET_SPREAD, SHEET_SPELL))
    )
    trades = table(np.interp(mean, TRADES_AT, TRADES_SPREAD), TRADES_SPELL)
    return Kinds(broken, sheet, Kind(winter=trades, summer=trades, spell=TRADES_SPELL))


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


def kind_shares(lat_deg: Array, cloud_frac: Array) -> Array:
    """How much of the weather is of each of `kinds`.

    Parameters
    ----------
    lat_deg : ndarray, shape (days,)
        Latitude. [deg]
    cloud_frac : ndarray, shape (days,)
        Usual cloud amount. [-]

    Returns
    -------
    ndarray, shape (days, kinds)
        They add up to 1. [-]
    """
    fronts = fronts_share(lat_deg)
    sheet = np.interp(cloud_frac, (BROKEN_CLOUD, SHEET_CLOUD), (0.0, 1.0))
    return np.stack([fronts * (1.0 - sheet), fronts * sheet, 1.0 - fronts], axis=1)


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
    day: Ints,
    *,
    mean_kt: Array,
    clean_kt: Array,
    lat_deg: Array,
    cloud_frac: Array,
    seed: int,
    members: int,
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
    cloud_frac : ndarray, shape (days,)
        Usual cloud amount there. [-]
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
    shares, winter = kind_shares(lat_deg, cloud_frac), winter_share(day, lat_deg)
    fresh = math.sqrt(1.0 - SPELL_LAG**2)
    last = np.zeros(members)
    for row, number in enumerate(day):
        drawn, own = streams.normal(
            streams.DAY_CLEARNESS, seed=seed, index=int(number), members=members, per_member=2
        )
        last = SPELL_LAG * last + fresh * drawn if row else drawn
        spell = clearness_tables.spell_of(last, SPELL_SKEW)
        low_kt, top_kt = bounds_kt(mean_kt[row], clean_kt[row])
        range_kt = np.maximum(top_kt - low_kt, 1e-9)  # 0 in the polar night
        mean = (mean_kt[row] - low_kt) / range_kt
        part = np.zeros(members)
        for kind, share in zip(kinds(), shares[row], strict=True):
            if share > 0.0:
                deviate = clearness_tables.mixed(spell, own, kind.spell)
                part += share * clearness_tables.looked_up(kind.kt(winter[row]), mean, deviate)
        yield low_kt + range_kt * part
