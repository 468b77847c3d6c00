"""Which way a panel faces: its mount turned by heel, tack and course, or turned by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Floats

_DAY_S = 86_400


def turned_plane(
    *, tilt_deg: Floats, bearing_deg: Floats, heel_to_port_deg: Floats, course_deg: Floats
) -> tuple[Floats, Floats]:
    """Tilt and azimuth of a fixed panel on a boat that heels and turns.

    Parameters
    ----------
    tilt_deg : float or ndarray, shape (n,)
        Panel against the deck, 0 flat. [deg]
    bearing_deg : float or ndarray, shape (n,)
        Where the panel leans to, clockwise from the bow. [deg]
    heel_to_port_deg : float or ndarray, shape (n,)
        Lean of the mast to port, negative to starboard. [deg]
    course_deg : float or ndarray, shape (n,)
        Where the bow points, clockwise from north. [deg]

    Returns
    -------
    tilt_deg : float or ndarray, shape (n,)
        Panel against the level, 0 to 180. [deg]
    azimuth_deg : float or ndarray, shape (n,)
        Where it faces, clockwise from north, 0 to 360. [deg]

    Notes
    -----
    The panel's normal is written along bow, starboard and masthead, turned about the fore-and-aft
    axis by the heel, and then about the vertical by the course. Pitch, roll about the mean heel,
    and leeway (the bow points some degrees to windward of the course) are left out; rolling
    evenly to both sides changes a day's light in second order only.

    Examples
    --------
    >>> tilt, azimuth = turned_plane(
    ...     tilt_deg=0.0, bearing_deg=0.0, heel_to_port_deg=20.0, course_deg=180.0
    ... )
    >>> float(tilt), float(azimuth)
    (20.0, 90.0)
    """
    tilt, bearing, heel = (
        np.radians(tilt_deg),
        np.radians(bearing_deg),
        np.radians(heel_to_port_deg),
    )
    ahead = np.sin(tilt) * np.cos(bearing)
    abeam = np.sin(tilt) * np.sin(bearing)
    level = abeam * np.cos(heel) - np.cos(tilt) * np.sin(heel)  # to starboard, boat heeled
    upward = abeam * np.sin(heel) + np.cos(tilt) * np.cos(heel)
    turned_tilt_deg = np.degrees(np.arctan2(np.hypot(ahead, level), upward))
    return turned_tilt_deg, (course_deg + np.degrees(np.arctan2(level, ahead))) % 360.0


def hand_turned_plane(
    *, utc_s: Array, lat_deg: Array, lon_deg: Array, trims_per_day: int
) -> tuple[Array, Array]:
    """Tilt and azimuth of a panel that is turned to the sun some times a day.

    Parameters
    ----------
    utc_s : ndarray, shape (n,)
        Unix time. [s]
    lat_deg, lon_deg : ndarray, shape (n,)
        Where the boat is. [deg]
    trims_per_day : int
        How often a day the panel is turned.

    Returns
    -------
    tilt_deg : ndarray, shape (n,)
        Panel against the level. [deg]
    azimuth_deg : ndarray, shape (n,)
        Where it faces, clockwise from north. [deg]

    Notes
    -----
    The time from sunrise to sunset is cut into `trims_per_day` equal parts. Through each part the
    panel faces the place where the sun stands in the part's middle: set square to it, and lashed.
    That is kept in the world's frame, which is the boat's own frame as long as she holds her
    course and heel: after tacking or altering course the panel is taken to be set again. Where
    the sun does not set, the day is its 24 hours; where it does not rise, the panel faces its
    place at noon. Declination and equation of time by Spencer's series, good to 0.05 degree and
    half a minute, finer than any hand.

    References
    ----------
    .. [1] J. W. Spencer, Fourier series representation of the position of the sun, Search 2 (5),
       1971, p. 172, as pvlib.solarposition has it.
    """
    from pvlib import solarposition

    moment = np.asarray(utc_s).astype("datetime64[s]")
    year = moment.astype("datetime64[Y]")
    day_of_year = (moment - year.astype("datetime64[s]")).astype(float) / _DAY_S + 1.0
    solar_day_frac = (
        np.asarray(utc_s) / _DAY_S
        + np.asarray(lon_deg) / 360.0
        + solarposition.equation_of_time_spencer71(day_of_year) / 1440.0
    )
    hour_angle = (solar_day_frac % 1.0 - 0.5) * 2.0 * np.pi
    declination = solarposition.declination_spencer71(day_of_year)
    latitude = np.radians(np.clip(lat_deg, -89.99, 89.99))  # its tangent is needed
    sunset = np.arccos(np.clip(-np.tan(latitude) * np.tan(declination), -1.0, 1.0))

    part = 2.0 * np.maximum(sunset, 1e-6) / trims_per_day
    part_number = np.clip(np.floor((hour_angle + sunset) / part), 0, trims_per_day - 1)
    middle = (part_number + 0.5) * part - sunset
    return _place_of_sun_deg(latitude, declination, middle)


def _place_of_sun_deg(
    latitude: Array, declination: Array, hour_angle: Array
) -> tuple[Array, Array]:
    """Zenith angle (at most 90) and azimuth of the sun, from angles in radians.

    By components east, north and up: the formulas for azimuth alone lose a southern noon.
    """
    east = -np.cos(declination) * np.sin(hour_angle)
    north = np.sin(declination) * np.cos(latitude) - np.cos(declination) * np.cos(
        hour_angle
    ) * np.sin(latitude)
    up = np.sin(declination) * np.sin(latitude) + np.cos(declination) * np.cos(hour_angle) * np.cos(
        latitude
    )
    zenith_deg = np.degrees(np.arctan2(np.hypot(east, north), np.maximum(up, 0.0)))
    return zenith_deg, np.degrees(np.arctan2(east, north)) % 360.0
