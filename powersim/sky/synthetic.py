"""Weather that varies: for every member its own bright and grey days, along the track."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from powersim.records.brief import brief
from powersim.sky import streams
from powersim.sky.daily_clearness import (
    MEAN_BELOW_TOP,
    bounds_kt,
    daily_kt,
    fronts_share,
)
from powersim.sky.hourly_clearness import adding_up, hourly_frac
from powersim.sky.month_error import (
    month_deviate,
    month_spread,
    own_mean_kt,
)
from powersim.sky.solar_days import HOURS_A_DAY, SolarDays, solar_days

if TYPE_CHECKING:
    from powersim.records.arrays import Array
    from powersim.voyage.track import Track

#: Bounds of an hour's light as shares of the clear sky's; docs/model/synthetic_days.md. [-]
LEAST_CLEAR_FRAC, LARGEST_CLEAR_FRAC = 0.02, 1.15
#: Days whose draws are kept for another departure, of so few members that they are 5 MB at most.
KEPT_DAYS, KEPT_MEMBERS = 90, 300


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SyntheticLight:
    """What share of the clear sky's light each member has, hour by hour.

    Attributes
    ----------
    first_hour : int
        Unix time of the first hour, in hours.
    clear_frac : ndarray, shape (hours, members)
        0 by night. [-]
    """

    first_hour: int
    clear_frac: Array

    __repr__ = brief


def synthetic_light(
    track: Track,
    *,
    usual_frac: Array,
    apart_frac: Array | None = None,
    seed: int,
    members: int,
) -> SyntheticLight:
    """Days and hours of light about the usual sky along a track.

    Parameters
    ----------
    track : Track
        Where the boat is, and when.
    usual_frac : ndarray, shape (n,)
        Share of the clear sky's light under the usual sky: the mean over many members. [-]
    apart_frac : ndarray, shape (n,), or None
        How far two sources of it are apart; None where there is but one. [-]
    seed : int
        Of the random numbers.
    members : int
        How many; the first of them are the same for any number.

    Returns
    -------
    SyntheticLight
        From the midnight by the sun before departure to that after the last step.
    """
    days = solar_days(track, usual_frac=usual_frac)
    by_day = days.by_day
    number = np.array([days.day[rows.start] for rows in by_day])
    middle_s = 3600.0 * np.array([days.first_hour + 0.5 * (r.start + r.stop) for r in by_day])
    apart = 0.0 if apart_frac is None else np.interp(middle_s, track.mid_utc_s, apart_frac)
    mean_kt, clean_kt = days.clearness(days.usual_W_m2), days.clearness(days.clean_W_m2)
    apart_kt = apart * days.clearness(days.clear_W_m2)
    sd_kt, skew = month_spread(
        mean_kt,
        apart_kt=apart_kt,
        lat_deg=days.daily_mean(days.lat_deg),
        air_C=days.daily_mean(days.air_C),
    )
    low_kt, top_kt = bounds_kt(mean_kt, clean_kt)
    own_kt = own_mean_kt(
        mean_kt,
        sd_kt=sd_kt,
        skew=skew,
        low_kt=low_kt,
        top_kt=MEAN_BELOW_TOP * top_kt,
        deviate=month_deviate(number, seed=seed, members=members),
    )
    return SyntheticLight(
        first_hour=days.first_hour,
        clear_frac=light_about(days, mean_kt=own_kt, seed=seed, members=members),
    )


def light_about(days: SolarDays, *, mean_kt: Array, seed: int, members: int) -> Array:
    """Days and hours of light about given means.

    Parameters
    ----------
    days : SolarDays
        Hours of a passage, told apart into days.
    mean_kt : ndarray, shape (days, members) or (days, 1)
        Mean clearness about which each member's days lie. [-]
    seed, members : int
        As for synthetic_light.

    Returns
    -------
    ndarray, shape (hours, members)
        Light as a share of the clear sky's, 0 by night. [-]
    """
    clear_frac = np.zeros((days.day.size, members))
    by_day, lat_deg = days.by_day, days.daily_mean(days.lat_deg)
    kts = daily_kt(
        np.array([days.day[rows.start] for rows in by_day]),
        mean_kt=mean_kt,
        clean_kt=days.clearness(days.clean_W_m2),
        lat_deg=lat_deg,
        cloud_frac=days.daily_mean(days.cloud_frac),
        seed=seed,
        members=members,
    )
    for rows, day_kt, fronts in zip(by_day, kts, fronts_share(lat_deg), strict=True):
        if days.is_lit(rows):
            total = day_kt * days.extra_W_m2[rows].sum()
            _fill_day(clear_frac, days, rows, total=total, fronts=float(fronts), seed=seed)
    return clear_frac


def _deviates(day: int, seed: int, members: int) -> Array:
    """Draws of a day's hours, shape (24, members)."""
    deviates = streams.normal(
        streams.HOUR_CLEARNESS, seed=seed, index=day, members=members, per_member=HOURS_A_DAY
    )
    deviates.flags.writeable = False  # they may be kept
    return deviates


#: A day of the calendar draws the same wherever a boat is and whenever it left.
_kept_deviates = lru_cache(maxsize=KEPT_DAYS)(_deviates)


def _fill_day(
    clear_frac: Array, days: SolarDays, rows: slice, *, total: Array, fronts: float, seed: int
) -> None:
    """Write the shares of one day's light hours."""
    light = rows.start + np.flatnonzero(days.clear_W_m2[rows] > 0.0)
    draw = _kept_deviates if total.size <= KEPT_MEMBERS else _deviates
    deviates = draw(int(days.day[rows.start]), seed, total.size)
    clear = days.clear_W_m2[light]
    clear_frac[light] = adding_up(
        hourly_frac(
            total / clear.sum(),
            fronts_share=fronts,
            deviates=np.ascontiguousarray(deviates[days.solar_hour[light]]),
        ),
        weights=clear,
        total=total,
        least=LEAST_CLEAR_FRAC,
        # Under a low sun the cleanest air lets through more than that.
        most=np.maximum(LARGEST_CLEAR_FRAC, days.clean_W_m2[light] / clear)[:, None],
    )
