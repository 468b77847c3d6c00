"""The line a leg follows over the WGS-84 ellipsoid: great circle (geodesic) or rhumb line.

Both are reduced to the same thing, a `LegLine` of knots a few miles apart, and read off in the same
way. Knots hold the vertical's direction as a unit vector, so that neither the date line nor a pole
needs a case of its own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from powersim.records import Waypoint
from powersim.records.brief import brief

if TYPE_CHECKING:
    from powersim.records.arrays import Array, FloatsT

METRES_PER_NM = 1852.0  # the international nautical mile, by definition [m]
# A chord between knots cuts a great circle by less than 0.001 mile, a rhumb by 0.02 at 80 degrees.
KNOT_SPACING_NM = 10.0  # [nm]
FEWEST_KNOTS = 64  # so that a short line close to a pole stays a curve [-]
# Below this change of latitude a rhumb is sailed as a parallel: the quotient of two small
# differences would lose digits, the limit is then good to 1e-8. [deg]
PARALLEL_BELOW_DEG = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LegLine:
    """A leg's line as knots along it.

    Attributes
    ----------
    length_nm : float
        From end to end. [nm]
    knots_nm : ndarray, shape (knots,)
        Distance of each knot from the start. [nm]
    normals : ndarray, shape (3, knots)
        Unit vectors of the vertical at the knots. [-]
    headings : ndarray, shape (2, knots)
        North and east parts of the course at the knots. [-]
    """

    length_nm: float
    knots_nm: Array
    normals: Array
    headings: Array

    __repr__ = brief

    def at(self, sailed_nm: Array) -> tuple[Array, Array, Array]:
        """Position and course after so many miles.

        Parameters
        ----------
        sailed_nm : ndarray, shape (n,)
            Distance from the start; held at the ends. [nm]

        Returns
        -------
        lat_deg, lon_deg, course_deg : ndarray, shape (n,)
            Longitude -180 to 180, true course 0 to 360. [deg]
        """
        x, y, z = (np.interp(sailed_nm, self.knots_nm, part) for part in self.normals)
        north, east = (np.interp(sailed_nm, self.knots_nm, part) for part in self.headings)
        return (
            np.degrees(np.arctan2(z, np.hypot(x, y))),
            np.degrees(np.arctan2(y, x)),
            np.degrees(np.arctan2(east, north)) % 360.0,
        )


def line_between(start: Waypoint, end: Waypoint, *, track: str) -> LegLine:
    """The line from one waypoint to the next.

    Parameters
    ----------
    start, end : Waypoint
        Only their positions are looked at.
    track : str
        "great circle" or "rhumb".

    Returns
    -------
    LegLine
        From the first waypoint to the second.
    """
    return _drawn(start.lat_deg, start.lon_deg, end.lat_deg, end.lon_deg, track=track)


# A passage draws its lines at two lengths of step, and again with each thing that may fail.
@lru_cache(maxsize=1024)
def _drawn(*place_deg: float, track: str) -> LegLine:
    return {"great circle": _great_circle, "rhumb": _rhumb}[track](*place_deg)


def _knots(length_nm: float) -> Array:
    return np.linspace(0.0, length_nm, max(FEWEST_KNOTS, math.ceil(length_nm / KNOT_SPACING_NM)))


def _line(knots_nm: Array, lat_deg: Array, lon_deg: Array, course_deg: Array) -> LegLine:
    lat, lon, course = (np.radians(angle) for angle in (lat_deg, lon_deg, course_deg))
    normals = np.array([np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat)])
    headings = np.array([np.cos(course), np.sin(course)])
    for kept in (knots_nm, normals, headings):  # a line is handed out more than once
        kept.flags.writeable = False
    return LegLine(
        length_nm=float(knots_nm[-1]), knots_nm=knots_nm, normals=normals, headings=headings
    )


def _great_circle(lat1_deg: float, lon1_deg: float, lat2_deg: float, lon2_deg: float) -> LegLine:
    """Geodesic by C. F. F. Karney, Algorithms for geodesics, J. Geodesy 87 (2013) 43-55."""
    from geographiclib.geodesic import Geodesic

    geodesic = Geodesic.WGS84.InverseLine(lat1_deg, lon1_deg, lat2_deg, lon2_deg)
    knots_nm = _knots(geodesic.s13 / METRES_PER_NM)
    places = [geodesic.Position(s * METRES_PER_NM) for s in knots_nm.tolist()]
    columns = ([place[key] for place in places] for key in ("lat2", "lon2", "azi2"))
    return _line(knots_nm, *(np.array(column) for column in columns))


def _rhumb(lat1_deg: float, lon1_deg: float, lat2_deg: float, lon2_deg: float) -> LegLine:
    """Line of constant course, the short way round.

    With isometric latitude psi and meridian arc m, the course is atan(d_lon / d_psi) and the
    length hypot(d_lon, d_psi) * d_m / d_psi. At a pole psi has no end, and the only rhumb that
    gets there is a meridian.
    """
    change_lon_deg = (lon2_deg - lon1_deg + 180.0) % 360.0 - 180.0
    if 90.0 in (abs(lat1_deg), abs(lat2_deg)):
        lon1_deg = lon2_deg if abs(lat1_deg) == 90.0 else lon1_deg
        change_lon_deg = 0.0
    if change_lon_deg == 0.0:  # the geodesic along a meridian is the meridian
        return _great_circle(lat1_deg, lon1_deg, lat2_deg, lon1_deg)
    if abs(lat2_deg - lat1_deg) < PARALLEL_BELOW_DEG:
        return _parallel(0.5 * (lat1_deg + lat2_deg), lon1_deg, change_lon_deg)
    return _oblique_rhumb(lat1_deg, lon1_deg, lat2_deg, change_lon_deg)


def _parallel(lat_deg: float, lon1_deg: float, change_lon_deg: float) -> LegLine:
    radius_m = _parallel_radius_m(lat_deg)
    knots_nm = _knots(radius_m * abs(math.radians(change_lon_deg)) / METRES_PER_NM)
    lon_deg = np.linspace(lon1_deg, lon1_deg + change_lon_deg, knots_nm.size)
    course_deg = math.copysign(90.0, change_lon_deg)
    return _line(
        knots_nm,
        np.full(knots_nm.size, lat_deg),
        lon_deg,
        np.full(knots_nm.size, course_deg),
    )


def _oblique_rhumb(
    lat1_deg: float, lon1_deg: float, lat2_deg: float, change_lon_deg: float
) -> LegLine:
    from geographiclib.geodesic import Geodesic

    # The shorter of the two meridians' halves: always along one meridian, so this is m2 - m1.
    arc_m = Geodesic.WGS84.Inverse(lat1_deg, 0.0, lat2_deg, 0.0)["s12"]
    change_psi = float(_isometric(lat2_deg) - _isometric(lat1_deg))
    change_lon = math.radians(change_lon_deg)
    length_m = arc_m * math.hypot(change_lon, change_psi) / abs(change_psi)
    knots_nm = _knots(length_m / METRES_PER_NM)

    meridian = Geodesic.WGS84.Line(lat1_deg, 0.0, 0.0 if change_psi > 0 else 180.0)
    arcs_m = np.linspace(0.0, arc_m, knots_nm.size).tolist()
    lat_deg = np.array([meridian.Position(m, Geodesic.LATITUDE)["lat2"] for m in arcs_m])
    made_psi = _isometric(lat_deg) - _isometric(lat1_deg)
    lon_deg = lon1_deg + change_lon_deg * made_psi / change_psi
    course_deg = math.degrees(math.atan2(change_lon, change_psi))
    return _line(knots_nm, lat_deg, lon_deg, np.full(knots_nm.size, course_deg))


def _isometric(lat_deg: FloatsT) -> FloatsT:
    """Isometric latitude. [rad]

    J. P. Snyder, Map Projections: A Working Manual, USGS Professional Paper 1395 (1987),
    eq. 7-7 in its inverse-hyperbolic form.
    """
    from geographiclib.geodesic import Geodesic

    eccentricity = math.sqrt(Geodesic.WGS84.f * (2.0 - Geodesic.WGS84.f))
    sin_lat = np.sin(np.radians(lat_deg))
    return np.arctanh(sin_lat) - eccentricity * np.arctanh(eccentricity * sin_lat)


def _parallel_radius_m(lat_deg: float) -> float:
    """Radius of a parallel of latitude, Snyder 1987 as above, eq. 4-20 times cos(lat). [m]"""
    from geographiclib.geodesic import Geodesic

    lat = math.radians(lat_deg)
    squared = Geodesic.WGS84.f * (2.0 - Geodesic.WGS84.f)
    return Geodesic.WGS84.a * math.cos(lat) / math.sqrt(1.0 - squared * math.sin(lat) ** 2)
