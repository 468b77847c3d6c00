"""Where the sun stands for a boat that moves."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from powersim.records.brief import brief

if TYPE_CHECKING:
    from powersim.records.arrays import Array

# Terrestrial time less universal time in the 2020s, IERS; 10 s move the sun 0.0001 degree. [s]
DELTA_T_S = 69.0
PRESSURE_HPA = 1013.25  # standard atmosphere at sea level, ISO 2533 [hPa]
REFRACTION_C = (
    12.0  # air for refraction, pvlib's default; 20 degrees more take off 7 % of it [degC]
)
# At rising and setting the sun's centre is 50' below the horizon: 34' refraction and 16' radius.
# U.S. Naval Observatory, definition of sunrise and sunset. [deg]
SET_ELEVATION_DEG = -50.0 / 60.0
HORIZON_REFRACTION_DEG = 0.5667  # 34', as above and in the SPA report [deg]
# What pvlib's clear sky and split stand on by default, Gueymard 2004. [W/m^2]
SOLAR_CONSTANT_W_m2 = 1366.1
EARTH_TURN_DEG_PER_H = 15.0  # mean sun [deg/h]
_KNOT_S = 3600.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sun:
    """The sun at given places and moments; every array has the shape of the moments.

    Attributes
    ----------
    elevation_deg : ndarray
        Of the centre above the horizon, lifted by refraction. [deg]
    true_elevation_deg : ndarray
        The same without refraction. [deg]
    azimuth_deg : ndarray
        From true north, clockwise. [deg]
    declination_deg : ndarray
        Geocentric. [deg]
    """

    elevation_deg: Array
    true_elevation_deg: Array
    azimuth_deg: Array
    declination_deg: Array

    __repr__ = brief


def sun_at(lat_deg: Array, lon_deg: Array, utc_s: Array) -> Sun:
    """Position of the sun.

    Parameters
    ----------
    lat_deg, lon_deg : ndarray, shape (n,)
        Place, one for each moment. [deg]
    utc_s : ndarray, shape (n,)
        Unix time. [s]

    Returns
    -------
    Sun
        As it is seen from the boat.

    Notes
    -----
    The sun's place among the stars is computed by SPA for every full hour and interpolated, which
    costs less than 0.0001 degree; the turn of the earth and the place of the boat are exact. SPA is
    made for the years -2000 to 6000.

    References
    ----------
    .. [1] I. Reda and A. Andreas, Solar Position Algorithm for Solar Radiation Applications,
       NREL/TP-560-34302, revised 2008, sections 3.5 to 3.15; pvlib.spa.
    """
    from pvlib import spa

    hour_angle_deg, declination_deg = _greenwich(np.asarray(utc_s, dtype=float))
    hour_angle_deg = hour_angle_deg + lon_deg
    parallax_deg = spa.equatorial_horizontal_parallax(1.0)  # its year-round change is 0.00004 deg
    u = spa.uterm(lat_deg)
    x, y = spa.xterm(u, lat_deg, 0.0), spa.yterm(u, lat_deg, 0.0)
    shift = spa.parallax_sun_right_ascension(x, parallax_deg, hour_angle_deg, declination_deg)
    seen_declination_deg = spa.topocentric_sun_declination(
        declination_deg, x, y, parallax_deg, shift, hour_angle_deg
    )
    seen_hour_angle_deg = spa.topocentric_local_hour_angle(hour_angle_deg, shift)
    true_deg = spa.topocentric_elevation_angle_without_atmosphere(
        lat_deg, seen_declination_deg, seen_hour_angle_deg
    )
    lift_deg = spa.atmospheric_refraction_correction(
        PRESSURE_HPA, REFRACTION_C, true_deg, HORIZON_REFRACTION_DEG
    )
    from_south_deg = spa.topocentric_astronomers_azimuth(
        seen_hour_angle_deg, seen_declination_deg, lat_deg
    )
    return Sun(
        elevation_deg=true_deg + lift_deg,
        true_elevation_deg=true_deg,
        azimuth_deg=spa.topocentric_azimuth_angle(from_south_deg),
        declination_deg=declination_deg,
    )


def _greenwich(utc_s: Array) -> tuple[Array, Array]:
    """Greenwich hour angle, unwrapped, and declination of the sun, interpolated between hours."""
    hours = np.unique(np.floor(utc_s / _KNOT_S))
    knots = np.union1d(hours, hours + 1.0)
    sidereal_deg, ascension_deg, declination_deg = _among_stars_deg(knots)
    hour_angle_deg = np.unwrap(sidereal_deg - ascension_deg, period=360.0)
    knots_s = knots * _KNOT_S
    return np.interp(utc_s, knots_s, hour_angle_deg), np.interp(utc_s, knots_s, declination_deg)


class _Known:
    """The last hours on end for which SPA was asked, the same wherever a boat is."""

    first_and_deg = 0.0, np.empty((3, 0))


def _among_stars_deg(hours: Array) -> Array:
    """Sidereal time, right ascension and declination at full hours, shape (3, hours). [deg]"""
    if not hours.size or hours[-1] - hours[0] + 1.0 > hours.size:
        return _by_spa_deg(hours)  # not on end
    first, deg = _Known.first_and_deg  # at one go: other threads write it too
    if first <= hours[0] and hours[-1] < first + deg.shape[1]:
        return deg[:, int(hours[0] - first) :][:, : hours.size]
    anew = (hours < first) | (hours >= first + deg.shape[1])
    found = np.empty((3, hours.size))
    found[:, ~anew] = deg[:, (hours[~anew] - first).astype(int)]
    found[:, anew] = _by_spa_deg(hours[anew])
    _Known.first_and_deg = float(hours[0]), found
    return found


def _by_spa_deg(hours: Array) -> Array:
    from pvlib import spa

    return np.array(
        spa.solar_position_numpy(
            hours * _KNOT_S, 0.0, 0.0, 0.0, 0.0, 0.0, DELTA_T_S, 0.0, 1, sst=True
        )
    )


def extra_dni_W_m2(utc_s: Array) -> Array:
    """Sunlight above the atmosphere on a plane that faces the sun.

    Parameters
    ----------
    utc_s : ndarray
        Unix time. [s]

    Returns
    -------
    ndarray
        SOLAR_CONSTANT_W_m2 at the mean distance. [W/m^2]

    References
    ----------
    .. [1] J. W. Spencer, Fourier series representation of the position of the sun, Search 2 (1971)
       172; pvlib.irradiance.get_extra_radiation.
    """
    from pvlib.irradiance import get_extra_radiation

    return get_extra_radiation(
        day_of_year(utc_s), solar_constant=SOLAR_CONSTANT_W_m2, method="spencer"
    )


def day_of_year(utc_s: Array) -> Array:
    """Day of the year with its fraction.

    Parameters
    ----------
    utc_s : ndarray
        Unix time. [s]

    Returns
    -------
    ndarray
        1.0 at the year's first midnight UTC. [d]

    Examples
    --------
    >>> float(day_of_year(np.array([1767225600.0 + 43200.0]))[0])  # noon of 1 January 2026
    1.5
    """
    utc_s = np.asarray(utc_s, dtype=float)
    year = utc_s.astype("datetime64[s]").astype("datetime64[Y]")
    return 1.0 + (utc_s - year.astype("datetime64[s]").astype(float)) / 86400.0


def dark_frac(edge_elevation_deg: Array, mid_elevation_deg: Array) -> Array:
    """Share of each step between sunset and sunrise.

    Parameters
    ----------
    edge_elevation_deg : ndarray, shape (n + 1,)
        True elevation, without refraction, at the steps' edges. [deg]
    mid_elevation_deg : ndarray, shape (n,)
        The same at their middles. [deg]

    Returns
    -------
    ndarray, shape (n,)
        0 by day, 1 by night. [-]

    Notes
    -----
    The crossing is found on straight lines from edge to middle to edge. In steps of 20 minutes or
    less that is good to some seconds, except where the sun grazes the horizon for an hour.

    Examples
    --------
    >>> dark_frac(np.array([SET_ELEVATION_DEG + 1.0, SET_ELEVATION_DEG - 1.0]),
    ...           np.array([SET_ELEVATION_DEG + 0.0])).tolist()
    [0.5]
    """
    first = _below_frac(edge_elevation_deg[:-1], mid_elevation_deg)
    second = _below_frac(mid_elevation_deg, edge_elevation_deg[1:])
    return 0.5 * (first + second)


def _below_frac(start_deg: Array, end_deg: Array) -> Array:
    low_deg = np.minimum(start_deg, end_deg) - SET_ELEVATION_DEG
    span_deg = np.abs(end_deg - start_deg)
    # A sun that does not move at all is wholly on one side.
    return np.clip(-low_deg / np.maximum(span_deg, 1e-12), 0.0, 1.0)


def night_h(lat_deg: Array, declination_deg: Array) -> Array:
    """Length of the night at a latitude, for a boat that stays there.

    Parameters
    ----------
    lat_deg : ndarray
        Latitude. [deg]
    declination_deg : ndarray
        Declination of the sun. [deg]

    Returns
    -------
    ndarray
        Sunset to sunrise, 0 in polar day and 24 in polar night. [h]

    Notes
    -----
    The hour angle at which the centre is at -50', from the altitude formula of the navigational
    triangle. The declination is that of the moment asked about; within a night it moves by up to
    0.2 degree, which changes the night's length by less than 4 minutes below 65 degrees.

    Examples
    --------
    >>> night_h(np.array([0.0, 80.0, 80.0]), np.array([0.0, 23.4, -23.4])).round(2).tolist()
    [11.89, 0.0, 24.0]
    """
    lat, declination = np.radians(lat_deg), np.radians(declination_deg)
    above = math.sin(math.radians(SET_ELEVATION_DEG)) - np.sin(lat) * np.sin(declination)
    across = np.maximum(np.cos(lat) * np.cos(declination), 1e-12)
    day_h = 2.0 * np.degrees(np.arccos(np.clip(above / across, -1.0, 1.0))) / EARTH_TURN_DEG_PER_H
    return 24.0 - day_h
