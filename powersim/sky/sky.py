"""The sky over a track: sun, light, night, air and wind for every step."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from powersim.records import BILGE, BankPlace
from powersim.records.brief import brief
from powersim.sky import below_deck, clear_sky, climatology, cloud
from powersim.sky.clear_sky import ClearLight
from powersim.sky.known import Known, blended
from powersim.sky.split import direct_and_diffuse_W_m2
from powersim.sky.sun import (
    SOLAR_CONSTANT_W_m2,
    dark_frac,
    day_of_year,
    extra_dni_W_m2,
    night_h,
    sun_at,
)

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Floats
    from powersim.voyage.track import Track


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sky:
    """The sky at the middle of every step; every array has shape (n,).

    Attributes
    ----------
    elevation_deg, azimuth_deg : ndarray
        Of the sun; elevation with refraction. [deg]
    extra_dni_W_m2 : ndarray
        Light above the atmosphere, facing the sun. [W/m^2]
    clear_ghi_W_m2, clear_dni_W_m2 : ndarray
        Under a clear sky: on the horizontal; beam, facing the sun. [W/m^2]
    usual_frac : ndarray
        Share of the clear sky's light that comes through by the climatology or the leg's oktas. [-]
    clear_frac : ndarray
        Share that comes through with all that is known. [-]
    apart_frac : ndarray
        How far two sources of the usual share are apart: two tables, or two formulas for oktas. [-]
    open_frac : ndarray
        How much of the step's light is left to the weather: 1 where nothing is known but what is
        usual, 0 where a file has it. [-]
    ghi_W_m2, dni_W_m2, dhi_W_m2 : ndarray
        On the horizontal; beam, facing the sun; diffuse, on the horizontal. [W/m^2]
    night_frac : ndarray
        Share of the step between sunset and sunrise. [-]
    night_h : ndarray
        Length of the night at that latitude and date. [h]
    air_C : ndarray
        Air temperature. [degC]
    wind_m_s : ndarray
        True wind. [m/s]
    wind_open_frac : ndarray
        1 where the wind is a mean about which the hours scatter, 0 where a file has the hour's. [-]
    cabin_C, bank_C : ndarray
        Temperature in the cabin and of the bank. [degC]
    """

    elevation_deg: Array
    azimuth_deg: Array
    extra_dni_W_m2: Array
    clear_ghi_W_m2: Array
    clear_dni_W_m2: Array
    usual_frac: Array
    apart_frac: Array
    clear_frac: Array
    open_frac: Array
    ghi_W_m2: Array
    dni_W_m2: Array
    dhi_W_m2: Array
    night_frac: Array
    night_h: Array
    air_C: Array
    wind_m_s: Array
    wind_open_frac: Array
    cabin_C: Array
    bank_C: Array

    __repr__ = brief


def sky_of(
    track: Track,
    *,
    cloud_model: str = "kasten",
    known: Sequence[Known] = (),
    bank: BankPlace = BILGE,
) -> Sky:
    """Sun, light and air along a track.

    Parameters
    ----------
    track : Track
        Where the boat is, when, and what the legs say of cloud, wind and cabin.
    cloud_model : str
        What turns oktas given on a leg into light: "kasten" or "reed". Legs without oktas take
        the climatology.
    known : sequence of Known
        What files know of the sky along this track, the best first.
    bank : BankPlace
        Where the bank stands.

    Returns
    -------
    Sky
        Average weather, with what is known laid over it.
    """
    half_day = max(1, round(12.0 / track.step_h))
    lat_deg = np.pad(track.lat_deg, half_day, mode="edge")
    lon_deg = np.pad(track.lon_deg, half_day, mode="edge")
    around = np.arange(-half_day, track.n_steps + half_day) + 0.5
    utc_s = track.start_utc_s + 3600.0 * track.step_h * around
    within = slice(half_day, half_day + track.n_steps)

    sun = sun_at(lat_deg, lon_deg, utc_s)
    edge_sun = sun_at(track.edge_lat_deg, track.edge_lon_deg, track.edge_utc_s)
    extra_W_m2 = extra_dni_W_m2(utc_s)
    clear = clear_sky.clear_light(
        sun.elevation_deg,
        turbidity=clear_sky.linke_turbidity(lat_deg, lon_deg, utc_s),
        extra_W_m2=extra_W_m2,
    )
    kt, kt_apart, air_C, wind_m_s = climatology.monthly_mean(
        "kt",
        "kt_apart",
        "air_C",
        "wind_m_s",
        lat_deg=track.lat_deg,
        lon_deg=track.lon_deg,
        utc_s=track.mid_utc_s,
    )
    usual_frac = cloud.climatology_frac(
        kt * climatology.SOLAR_CONSTANT_W_m2 / SOLAR_CONSTANT_W_m2,
        extra_horizontal_W_m2=extra_W_m2 * _sine(sun.true_elevation_deg),
        clear_W_m2=clear.ghi_W_m2,
        half_day_steps=half_day,
    )
    given = _given_cloud_frac(track, sun.declination_deg[within])
    named = ~np.isnan(track.cloud_oktas)
    formulas_apart = np.abs(given["kasten"] - given["reed"])
    apart_frac = np.where(named, formulas_apart, usual_frac * kt_apart / kt)
    usual_frac = np.where(named, given[cloud_model], usual_frac)
    wind_m_s = np.where(np.isnan(track.wind_m_s), wind_m_s, track.wind_m_s)
    over = _known_over(known, usual_frac=usual_frac, air_C=air_C, wind_m_s=wind_m_s)
    elevation_deg = sun.elevation_deg[within]
    clear = ClearLight(*(light_W_m2[within] for light_W_m2 in clear))
    light = _light(clear, over["clear_frac"], elevation_deg, track)
    for one in reversed(known):
        for name in ("dni_W_m2", "dhi_W_m2"):
            light[name] = blended(light[name], getattr(one, name), weight=one.weight)
    return Sky(
        elevation_deg=elevation_deg,
        azimuth_deg=sun.azimuth_deg[within],
        extra_dni_W_m2=extra_W_m2[within],
        clear_ghi_W_m2=clear.ghi_W_m2,
        clear_dni_W_m2=clear.dni_W_m2,
        usual_frac=usual_frac,
        apart_frac=apart_frac,
        **over,
        **light,
        night_frac=dark_frac(edge_sun.true_elevation_deg, sun.true_elevation_deg[within]),
        night_h=night_h(track.lat_deg, sun.declination_deg[within]),
        cabin_C=below_deck.cabin_C(over["air_C"], track.cabin_C),
        bank_C=below_deck.bank_C(bank, air_C=over["air_C"], given_cabin_C=track.cabin_C),
    )


def under(sky: Sky, clear_frac: Floats, *, track: Track) -> Sky:
    """The same sky with another share of the clear sky's light.

    Parameters
    ----------
    sky : Sky
        Its sun, clear sky, air and wind stay.
    clear_frac : float or ndarray, shape (..., n or 1)
        Share of the clear sky's light on the horizontal; several at once come before time. [-]
    track : Track
        For the day of the year.

    Returns
    -------
    Sky
        Whose light has the shape that clear sky and share make together.
    """
    clear = ClearLight(ghi_W_m2=sky.clear_ghi_W_m2, dni_W_m2=sky.clear_dni_W_m2)
    return replace(sky, **_light(clear, clear_frac, sky.elevation_deg, track))


def _light(
    clear: ClearLight, clear_frac: Floats, elevation_deg: Array, track: Track
) -> dict[str, Array]:
    ghi_W_m2 = clear.ghi_W_m2 * clear_frac
    dni_W_m2, dhi_W_m2 = np.zeros_like(ghi_W_m2), np.zeros_like(ghi_W_m2)
    up = (ghi_W_m2 > 0.0).reshape(-1, track.n_steps).any(axis=0)
    dni_W_m2[..., up], dhi_W_m2[..., up] = direct_and_diffuse_W_m2(
        ghi_W_m2[..., up],
        clear=ClearLight(*(light_W_m2[up] for light_W_m2 in clear)),
        elevation_deg=elevation_deg[up],
        day_of_year=day_of_year(track.mid_utc_s[up]),
    )
    return {"ghi_W_m2": ghi_W_m2, "dni_W_m2": dni_W_m2, "dhi_W_m2": dhi_W_m2}


def _known_over(
    known: Sequence[Known], *, usual_frac: Array, air_C: Array, wind_m_s: Array
) -> dict[str, Array]:
    """Light, air and wind with what files know laid over what is usual; what that leaves open."""
    clear_frac, open_frac, wind_open_frac = usual_frac, np.ones_like(air_C), np.ones_like(air_C)
    for one in reversed(known):  # the best comes last and covers the others
        clear_frac = blended(clear_frac, one.clear_frac, weight=one.weight)
        open_frac = open_frac * (1.0 - np.where(np.isnan(one.clear_frac), 0.0, one.weight))
        air_C = blended(air_C, one.air_C, weight=one.weight)
        wind_m_s = blended(wind_m_s, one.wind_m_s, weight=one.weight)
        wind_open_frac = wind_open_frac * (1.0 - np.where(np.isnan(one.wind_m_s), 0.0, one.weight))
    return {
        "clear_frac": clear_frac,
        "open_frac": open_frac,
        "air_C": air_C,
        "wind_m_s": wind_m_s,
        "wind_open_frac": wind_open_frac,
    }


def _sine(elevation_deg: Array) -> Array:
    return np.maximum(np.sin(np.radians(elevation_deg)), 0.0)


def _given_cloud_frac(track: Track, declination_deg: Array) -> dict[str, Array]:
    """Share of light that comes through the cloud named for the leg; nan where none is named."""
    noon_deg = 90.0 - np.abs(track.lat_deg - declination_deg)
    return {
        "kasten": cloud.kasten_czeplak_frac(track.cloud_oktas),
        "reed": cloud.reed_frac(track.cloud_oktas, noon_elevation_deg=noon_deg),
    }
