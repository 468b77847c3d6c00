"""What no route of a small boat is: too many points, too few, a leg of no length, years at sea."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise

from powersim.errors import Problem
from powersim.records import Waypoint

#: More points than this are a recorded track, not a route; our judgement.
MOST_POINTS = 2_000
#: A passage of more days than this is a slip of the pen; our judgement. [day]
LONGEST_PASSAGE_DAYS = 1_100
_EARTH_NM = 3_440.065  # mean radius, 6371 km; good enough to see what is absurd
_SAME_PLACE_NM = 0.001


def too_many_points(file: str, count: int) -> Problem:
    """A recorded track where a route should be."""
    return Problem(
        file=file,
        text=f"holds {count:,} points",
        expected=f"a route of at most {MOST_POINTS:,} waypoints, not a recorded track",
    )


def too_few_points(file: str, count: int, line: int | None = None, *, or_else: str = "") -> Problem:
    """A route that leads nowhere."""
    holds = "one waypoint" if count == 1 else "no waypoints"
    return Problem(
        file=file,
        line=line,
        text=f"holds {holds}",
        expected=f"two waypoints or more: where the passage begins and where it ends{or_else}",
    )


def is_same_place(one: Waypoint, other: Waypoint) -> bool:
    """Whether two waypoints are one place, the date line and the poles minded."""
    return _distance_nm(one, other) < _SAME_PLACE_NM


def too_long(file: str, waypoints: Iterable[Waypoint]) -> list[Problem]:
    """A Problem if the passage would last for years."""
    waypoints = tuple(waypoints)
    days = sum(waypoint.stop_h for waypoint in waypoints) / 24.0
    days += sum(leg_h(*ends) for ends in pairwise(waypoints)) / 24.0
    if days <= LONGEST_PASSAGE_DAYS:
        return []
    text = f"the passage would take {days:,.0f} days"
    expected = f"at most {LONGEST_PASSAGE_DAYS:,} days; are the speeds in knots?"
    return [Problem(file=file, text=text, expected=expected)]


def leg_h(start: Waypoint, end: Waypoint) -> float:
    """About how long a leg takes: for judging, never for sailing. [h]"""
    assert start.speed_kn is not None, "a route is refused where a leg has no speed"
    return _distance_nm(start, end) / start.speed_kn


def _distance_nm(one: Waypoint, other: Waypoint) -> float:
    """Distance on a sphere, by the haversine formula: for judging, never for sailing. [nm]"""
    lat_1, lat_2 = math.radians(one.lat_deg), math.radians(other.lat_deg)
    d_lon = math.radians(other.lon_deg - one.lon_deg)
    half_chord = math.sin((lat_2 - lat_1) / 2) ** 2
    half_chord += math.cos(lat_1) * math.cos(lat_2) * math.sin(d_lon / 2) ** 2
    return 2 * _EARTH_NM * math.asin(math.sqrt(min(1.0, half_chord)))
