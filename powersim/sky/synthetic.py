"""Weather that varies: for every member its own bright and grey days, along the track."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from powersim.records.brief import brief
from powersim.sky import streams
from powersim.sky.daily_clearness import (
    MEAN_BELOW_TOP,
    bounds_kt,
    daily_kt,
    fronts_share,
    variance_kt2,
)
from powersim.sky.hourly_clearness import adding_up, hourly_frac
from powersim.sky.month_error import (
    month_deviate,
    month_spread,
    own_mean_kt,
    table_sd_kt,
    year_share,
)
from powersim.sky.solar_days import HOURS_A_DAY, SolarDays, solar_days

if TYPE_CHECKING:
    from powersim.records.arrays import Array
    from powersim.voyage.track import Track

#: Bounds of an hour's light as shares of the clear sky's; docs/model/synthetic_days.md. [-]
LEAST_CLEAR_FRAC, LARGEST_CLEAR_FRAC = 0.02, 1.15


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
    rows_of_day = days.by_day
    number = np.array([days.day[rows.start] for rows in rows_of_day])
    extra, clear, clean, usual = (
        np.array([light[rows].sum() for rows in rows_of_day])
        for light in (days.extra_W_m2, days.clear_W_m2, days.clean_W_m2, days.usual_W_m2)
    )
    # Where the sun is seen by refraction alone there is a little light from below the horizon, and
    # nothing above the atmosphere to hold it against: such a day, of under 1 Wh/m2, is dark.
    lit = (clear > 0.0) & (extra > 0.0)
    extra = np.where(lit, extra, 1.0)
    clear_frac = np.zeros((days.day.size, members))
    middle_s = 3600.0 * np.array(
        [days.first_hour + 0.5 * (rows.start + rows.stop) for rows in rows_of_day]
    )
    apart = 0.0 if apart_frac is None else np.interp(middle_s, track.mid_utc_s, apart_frac)
    mean_kt, clean_kt = usual / extra, clean / extra
    lat_deg = np.array([days.lat_deg[rows].mean() for rows in rows_of_day])
    sd_kt, skew = month_spread(
        variance_kt2(number, mean_kt=mean_kt, clean_kt=clean_kt, lat_deg=lat_deg),
        year_share=year_share(lat_deg),
        table_sd_kt=table_sd_kt(mean_kt, apart_kt=apart * clear / extra),
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
    kts = daily_kt(
        number, mean_kt=own_kt, clean_kt=clean_kt, lat_deg=lat_deg, seed=seed, members=members
    )
    shares = fronts_share(lat_deg)
    for rows, day_kt, extra_sum, share, is_lit in zip(
        rows_of_day, kts, extra, shares, lit, strict=True
    ):
        if is_lit:
            _fill_day(
                clear_frac,
                days,
                rows,
                total=day_kt * extra_sum,
                fronts_share=float(share),
                seed=seed,
            )
    return SyntheticLight(first_hour=days.first_hour, clear_frac=clear_frac)


def _fill_day(
    clear_frac: Array,
    days: SolarDays,
    rows: slice,
    *,
    total: Array,
    fronts_share: float,
    seed: int,
) -> None:
    """Write the shares of one day's light hours."""
    light = rows.start + np.flatnonzero(days.clear_W_m2[rows] > 0.0)
    deviates = streams.normal(
        streams.HOUR_CLEARNESS,
        seed=seed,
        index=int(days.day[rows.start]),
        members=total.size,
        per_member=HOURS_A_DAY,
    )
    clear = days.clear_W_m2[light]
    clear_frac[light] = adding_up(
        hourly_frac(
            total / clear.sum(),
            fronts_share=fronts_share,
            deviates=np.ascontiguousarray(deviates[days.solar_hour[light]]),
        ),
        weights=clear,
        total=total,
        least=LEAST_CLEAR_FRAC,
        # Under a low sun the cleanest air lets through more than that.
        most=np.maximum(LARGEST_CLEAR_FRAC, days.clean_W_m2[light] / clear)[:, None],
    )
