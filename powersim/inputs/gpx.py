"""A GPX file, GPX 1.1: a route from a plotter, with boat.toml's settings on every leg."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping
from itertools import pairwise
from os import PathLike
from pathlib import Path
from typing import Any
from xml.parsers import expat

from powersim.errors import InputError, Problem, refused
from powersim.inputs.passage_ends import motored_at_ends, of_each_leg
from powersim.inputs.route import leg_assumptions
from powersim.inputs.route_limits import (
    MOST_POINTS,
    is_same_place,
    too_few_points,
    too_long,
    too_many_points,
)
from powersim.inputs.text import LONGEST_NAME, quoted, read_text
from powersim.records import Assumption, Waypoint

_DECLARATION = re.compile(r"<!\s*(DOCTYPE|ENTITY)", re.IGNORECASE)
_POINT_OF = {"rtept": "rte", "trkpt": "trk", "wpt": "wpt"}
_AS_WRITTEN = "GPX 1.1, as plotters write it"
_A_ROUTE = f"a route of at most {MOST_POINTS:,} waypoints, not a recorded track"


def read_gpx(path: str | PathLike[str], *, leg: Mapping[str, Any]) -> tuple[Waypoint, ...]:
    """The waypoints of a file; everything wrong with it in one InputError."""
    waypoints, _, problems = collect_gpx(path, leg=leg)
    if problems:
        raise InputError(problems)
    return waypoints


def collect_gpx(
    path: str | PathLike[str], *, leg: Mapping[str, Any], text: str | None = None
) -> tuple[tuple[Waypoint, ...], tuple[Assumption, ...], tuple[Problem, ...]]:
    """Waypoints of the first route, else of the first track, else the loose waypoints.

    Parameters
    ----------
    leg : mapping
        Fields of Waypoint for every leg, from boat.toml.
    text : str or None
        What the file holds, where that is known already; None reads it.
    """
    file = str(path)
    try:
        text = read_text(path) if text is None else text
        kind, lines = _survey(file, text)
        points = _points(file, text, kind)
        if len(points) != len(lines):
            raise refused(file, "has points that cannot be read", _AS_WRITTEN)
    except InputError as error:
        return (), (), tuple(_mind_the_size(problem) for problem in error.problems)
    waypoints, problems = [], []
    for place, (point, line) in enumerate(zip(points, lines, strict=True)):
        fields = of_each_leg(leg)
        if place == len(points) - 1:
            fields.pop("speed_kn", None)
        name = _name(point.name, place)
        try:
            lon_deg = point.longitude - 360.0 if point.longitude > 180 else point.longitude
            waypoints.append(Waypoint(name=name, lat_deg=point.latitude, lon_deg=lon_deg, **fields))
        except ValueError:
            where = f"latitude {point.latitude:g}, longitude {point.longitude:g}"
            text = f"{quoted(name)} is nowhere on earth: {where}"
            expected = "latitude -90 to 90 and longitude -180 to 180, in degrees"
            problems.append(Problem(file=file, line=line, text=text, expected=expected))
    if "speed_kn" not in leg:
        problems.append(
            Problem(
                file=file,
                text="there is no speed for its legs",
                expected='a line speed = "4.5 kn" in boat.toml under [passage]',
            )
        )
    problems = problems or _doubles(file, waypoints, lines) or too_long(file, waypoints)
    if problems:
        return (), (), tuple(problems)
    return motored_at_ends(waypoints, leg), tuple(leg_assumptions(Path(path).name, leg)), ()


def _survey(file: str, text: str) -> tuple[str, list[int]]:
    """What to take from a file, and the line of each of its points; refuses what is unsafe."""
    declaration = _DECLARATION.search(text)
    if declaration:
        line = text.count("\n", 0, declaration.start()) + 1
        word = declaration[1].upper()
        raise refused(file, f"declares {word}, which no plotter needs", "plain GPX 1.1", line)
    marks = _marks(file, text)
    kind = next((kind for kind in ("rte", "trk", "wpt") if marks[kind]), "wpt")
    count = len(marks[kind])
    if count > MOST_POINTS:
        raise InputError([too_many_points(file, count)])
    if count < 2:
        raise InputError([too_few_points(file, count)])
    for line, attributes in marks[kind]:
        _check_numbers(file, line, attributes)
    return kind, [line for line, _ in marks[kind]]


def _marks(file: str, text: str) -> dict[str, list[tuple[int, dict[str, str]]]]:
    """Line and attributes of each point of the first route and track that hold any, and of others.

    Tracks hold their points in segments, but segments are not told apart here.
    """
    marks: dict[str, list[tuple[int, dict[str, str]]]] = {"rte": [], "trk": [], "wpt": []}
    seen = {"rte": 0, "trk": 0}
    taken: dict[str, int] = {}  # which of the routes, and of the tracks
    parser = expat.ParserCreate()

    def begin(tag, attributes):
        if tag in seen:
            seen[tag] += 1
        kind = _POINT_OF.get(tag)
        if kind is None:
            return
        number = seen.get(kind, 0)
        if taken.setdefault(kind, number) == number:
            marks[kind].append((parser.CurrentLineNumber, attributes))

    parser.StartElementHandler = begin
    try:
        parser.Parse(text, True)
    except expat.ExpatError as error:
        raise refused(
            file,
            f"is not well-formed: {expat.ErrorString(error.code)}",
            "a whole file as the plotter wrote it",
            error.lineno,
        ) from None
    return marks


def _check_numbers(file: str, line: int, attributes: dict[str, str]) -> None:
    for name in ("lat", "lon"):
        written = attributes.get(name, "")
        try:
            float(written)
        except ValueError:
            text = f"a point's {name} is {quoted(written)}, which is not a number"
            raise refused(file, text, "decimal degrees, for example 38.533", line) from None


def _points(file: str, text: str, kind: str) -> list:
    import gpxpy
    from gpxpy.gpx import GPXException

    try:
        found = gpxpy.parse(text)
    except (GPXException, ValueError, TypeError, AttributeError):
        raise refused(file, "is not GPX that can be read", _AS_WRITTEN) from None
    if kind == "rte":
        return next((route.points for route in found.routes if route.points), [])
    if kind == "trk":
        tracks = (
            [point for segment in track.segments for point in segment.points]
            for track in found.tracks
        )
        return next((points for points in tracks if points), [])
    return found.waypoints


def _name(given: str | None, place: int) -> str:
    name = "".join(letter for letter in " ".join((given or "").split()) if letter.isprintable())
    return name[:LONGEST_NAME] or f"waypoint {place + 1}"


def _doubles(file: str, waypoints: list[Waypoint], lines: list[int]) -> list[Problem]:
    """One Problem for all points that stand where the one before them stands."""
    doubled = [
        (line, start, end)
        for line, (start, end) in zip(lines[1:], pairwise(waypoints), strict=True)
        if is_same_place(start, end)
    ]
    if not doubled:
        return []
    line, start, end = doubled[0]
    more = f", and so with {len(doubled) - 1} more" if len(doubled) > 1 else ""
    text = f"{quoted(end.name)} is where {quoted(start.name)} is{more}"
    expected = "each point once; stops can be given in a route.csv"
    return [Problem(file=file, line=line, text=text, expected=expected)]


def _mind_the_size(problem: Problem) -> Problem:
    """A file too large to be read is a recorded track."""
    if problem.text.endswith(" MB"):
        return dataclasses.replace(problem, expected=_A_ROUTE)
    return problem
