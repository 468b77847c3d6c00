"""The hours about a track, told apart into days of the sun at the boat."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from powersim.records.brief import brief
from powersim.sky.clear_sky import cleanest_turbidity, clear_ghi_W_m2, linke_turbidity
from powersim.sky.climatology import monthly_mean
from powersim.sky.sun import EARTH_TURN_DEG_PER_H, extra_dni_W_m2, sun_at

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Ints
    from powersim.voyage.track import Track

HOURS_A_DAY = 24
SAMPLES_AN_HOUR = 4  # quarters of an hour, at their middles
_HOUR_S = 3600.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SolarDays:
    """Whole UTC hours that make up whole days from midnight to midnight by the sun.

    Attributes
    ----------
    first_hour : int
        Unix time of the first hour, in hours.
    day : ndarray of int, shape (hours,)
        Number of the local solar day that the hour's middle lies in.
    solar_hour : ndarray of int, shape (hours,)
        Whole hours since that midnight, 0 to 23.
    lat_deg : ndarray, shape (hours,)
        Where the boat is. [deg]
    cloud_frac : ndarray, shape (hours,)
        Usual cloud amount there, by the climatology. [-]
    air_C : ndarray, shape (hours,)
        Usual air temperature there, by the climatology. [degC]
    extra_dni_W_m2 : ndarray, shape (hours,)
        Light above the atmosphere, facing the sun. [W/m^2]
    extra_W_m2, clear_W_m2, clean_W_m2, usual_W_m2 : ndarray, shape (hours,)
        Mean light on the horizontal above the atmosphere, under a clear sky, under a clear sky in
        the cleanest air, and under the usual sky. [W/m^2]
    """

    first_hour: int
    day: Ints
    solar_hour: Ints
    lat_deg: Array
    cloud_frac: Array
    air_C: Array
    extra_dni_W_m2: Array
    extra_W_m2: Array
    clear_W_m2: Array
    clean_W_m2: Array
    usual_W_m2: Array

    __repr__ = brief

    @property
    def by_day(self) -> list[slice]:
        """Rows of each day in turn, as slices."""
        starts = np.flatnonzero(np.diff(self.day, prepend=self.day[0] - 1))
        return [slice(a, b) for a, b in zip(starts, [*starts[1:], self.day.size], strict=True)]

    def daily_mean(self, hourly: Array) -> Array:
        """Mean over the hours of each day in turn.

        Parameters
        ----------
        hourly : ndarray, shape (hours,)
            One of the figures of hours.

        Returns
        -------
        ndarray, shape (days,)
            In the same unit.
        """
        return np.array([hourly[rows].mean() for rows in self.by_day])

    def is_lit(self, rows: slice) -> bool:
        """Whether a day has light to speak of.

        Parameters
        ----------
        rows : slice
            Of the day.

        Returns
        -------
        bool
            Where the sun is seen by refraction alone there is a little light from below the
            horizon, and nothing above the atmosphere to hold it against: such a day, of under 1
            Wh/m2, is dark.
        """
        return bool(self.clear_W_m2[rows].any() and self.extra_W_m2[rows].any())

    def clearness(self, light_W_m2: Array) -> Array:
        """Light over light above the atmosphere, of each day in turn; 0 on days that are dark.

        Parameters
        ----------
        light_W_m2 : ndarray, shape (hours,)
            Mean of each hour. [W/m^2]

        Returns
        -------
        ndarray, shape (days,)
            Clearness. [-]
        """
        return np.array(
            [
                light_W_m2[rows].sum() / self.extra_W_m2[rows].sum() if self.is_lit(rows) else 0.0
                for rows in self.by_day
            ]
        )


def solar_days(track: Track, *, usual_frac: Array) -> SolarDays:
    """The solar days that a passage touches, from midnight to midnight.

    Parameters
    ----------
    track : Track
        Where the boat is, and when.
    usual_frac : ndarray, shape (n,)
        Share of the clear sky's light under the usual sky. [-]

    Returns
    -------
    SolarDays
        Whole days, hour by hour.

    Notes
    -----
    A day's number is the whole part of UTC, in days, plus longitude over 360 degrees; longitude
    runs on over the date line, so that nobody skips a day or lives one twice. The first and the
    last day are made whole: before departure and after the last step the boat lies where she is,
    under the sky that she has. A day made good to the west has now and then 25 hours, two of them
    with the same `solar_hour`; one to the east 23.
    """
    first, last = track.start_utc_s // _HOUR_S, -(-track.edge_utc_s[-1] // _HOUR_S)
    hours = np.arange(first - HOURS_A_DAY, last + HOURS_A_DAY)
    _, lon_deg = _place(track, (hours + 0.5) * _HOUR_S)
    # By the hour, since lon/15 + 1/2 is exact where a day begins on an hour's very middle.
    solar_h = np.floor(hours + 0.5 + lon_deg / EARTH_TURN_DEG_PER_H).astype(int)
    day = solar_h // HOURS_A_DAY
    touched = (day >= day[HOURS_A_DAY]) & (day <= day[-HOURS_A_DAY - 1])
    hours, day, solar_h = hours[touched], day[touched], solar_h[touched]
    return SolarDays(
        first_hour=int(hours[0]),
        day=day,
        solar_hour=solar_h % HOURS_A_DAY,
        **_light(track, usual_frac, hours),
    )


def _light(track: Track, usual_frac: Array, hours: Array) -> dict[str, Array]:
    """Mean place and light of every hour, from its quarters."""
    within = (np.arange(SAMPLES_AN_HOUR) + 0.5) / SAMPLES_AN_HOUR
    utc_s = (hours[:, None] + within).ravel() * _HOUR_S
    lat_deg, lon_deg = _place(track, utc_s)
    sun, extra_dni = sun_at(lat_deg, lon_deg, utc_s), extra_dni_W_m2(utc_s)
    clear_W_m2, clean_W_m2 = (
        clear_ghi_W_m2(sun.elevation_deg, turbidity=turbidity, extra_W_m2=extra_dni)
        for turbidity in (linke_turbidity(lat_deg, lon_deg, utc_s), cleanest_turbidity(lat_deg))
    )
    cloud_frac, air_C = monthly_mean(
        "cloud_frac", "air_C", lat_deg=lat_deg, lon_deg=lon_deg, utc_s=utc_s
    )
    light = {
        "lat_deg": lat_deg,
        "cloud_frac": cloud_frac,
        "air_C": air_C,
        "extra_dni_W_m2": extra_dni,
        "extra_W_m2": extra_dni * np.maximum(np.sin(np.radians(sun.true_elevation_deg)), 0.0),
        "clear_W_m2": clear_W_m2,
        "clean_W_m2": clean_W_m2,
        "usual_W_m2": clear_W_m2 * np.interp(utc_s, track.mid_utc_s, usual_frac),
    }
    return {name: value.reshape(-1, SAMPLES_AN_HOUR).mean(axis=1) for name, value in light.items()}


def _place(track: Track, utc_s: Array) -> tuple[Array, Array]:
    """Latitude and longitude, the latter without a jump; held before and after the track."""
    lon_deg = np.unwrap(track.edge_lon_deg, period=360.0)
    return (
        np.interp(utc_s, track.edge_utc_s, track.edge_lat_deg),
        np.interp(utc_s, track.edge_utc_s, lon_deg),
    )
