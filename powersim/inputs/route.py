"""route.csv: one line a waypoint, each with the leg that leaves it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise
from os import PathLike
from pathlib import Path
from typing import Any

from powersim.errors import InputError, Problem
from powersim.inputs import legs
from powersim.inputs.decimals import ANGLE, POSITION, QUANTITY
from powersim.inputs.headings import CsvColumn
from powersim.inputs.passage_ends import motored_at_ends, of_each_leg
from powersim.inputs.positions import parse_angle, parse_position
from powersim.inputs.route_limits import (
    MOST_POINTS,
    is_same_place,
    too_few_points,
    too_long,
    too_many_points,
)
from powersim.inputs.table import CsvRow, CsvTable, collect_table, problem_at
from powersim.inputs.text import ReadingError, quoted
from powersim.inputs.toml_keys import NAME, written
from powersim.inputs.toml_table import record_defaults
from powersim.records import Assumption, Waypoint

Fields = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class RouteColumn:
    """A column of route.csv and how its cells are read.

    Attributes
    ----------
    column : CsvColumn
        Its name and what it holds.
    read : callable
        From a cell's text and the heading's unit to fields of Waypoint.
    """

    column: CsvColumn
    read: Callable[[str, str | None], Fields]


def _read_name(text: str, bare: str | None) -> Fields:
    return {"name": NAME.read(text)}


def _read_position(text: str, bare: str | None) -> Fields:
    lat_deg, lon_deg = parse_position(text)
    return {"lat_deg": lat_deg, "lon_deg": lon_deg}


def _read_lat(text: str, bare: str | None) -> Fields:
    return {"lat_deg": parse_angle(text, "latitude")}


def _read_lon(text: str, bare: str | None) -> Fields:
    return {"lon_deg": parse_angle(text, "longitude")}


def _column(
    read, name: str, meaning: str, example: str, *units: str, holds: str | None = None
) -> RouteColumn:
    column = CsvColumn(
        name=name,
        meaning=meaning,
        example=example,
        units=units,
        holds=holds,
        required=name in ("waypoint", "position"),
    )
    return RouteColumn(column=column, read=read)


_PLACE = (
    _column(
        _read_position, "position", "latitude and longitude", "38 32.0 N 28 37.5 W", holds=POSITION
    ),
)
_LAT_LON = (
    _column(_read_lat, "lat", "latitude", "38 32.0 N", "deg", holds=ANGLE),
    _column(_read_lon, "lon", "longitude", "28 37.5 W", "deg", holds=ANGLE),
)
_REST = (
    _column(legs.read_speed, "speed", "speed made good to the next waypoint", "4.5 kn", "kn"),
    _column(
        legs.read_stop,
        "stop",
        "time spent here first: hove-to, drifting, berthed, else at anchor",
        "36 h hove-to or 4 days berthed",
        "h",
    ),
    _column(legs.read_track, "track", "great circle or rhumb", "rhumb"),
    _column(
        legs.read_motoring,
        "motoring",
        "time under power on the leg",
        "2 h at start; 3 h at end; 60 % of calms",
        holds=QUANTITY,
    ),
    _column(legs.read_tack, "tack", "port, starboard or both", "starboard"),
    _column(legs.read_heel, "heel", "average heel under way and hove-to", "12 deg", "deg"),
    _column(legs.read_wind, "wind", "true wind", "15 kn", "m/s"),
    _column(legs.read_cabin, "cabin_temp", "temperature below", "18 degC", "degC"),
    _column(legs.read_cloud, "cloud", "sky covered, in eighths", "6 oktas or 6/8", "okta"),
)
_NAME = _column(_read_name, "waypoint", "its name", "Horta")
ROUTE_COLUMNS = (_NAME, *_PLACE, *_LAT_LON, *_REST)
_ALIASES = {
    "name": "waypoint",
    "place": "waypoint",
    "pos": "position",
    "coordinates": "position",
    "latlon": "position",
}
_CLIMATOLOGY = "the monthly ocean climatology that comes with powersim, at that place and date"
#: What an optional column's absence means, and why.
_ABSENT = {
    "wind": ("climatology", _CLIMATOLOGY),
    "cabin_temp": ("climatology", "from the climatology's air temperature, plus 3 degC"),
    "cloud": ("climatology", _CLIMATOLOGY),
    "motoring": ("none", "no motoring named"),
}
#: Of a leg without length. [kn]
_ANY_KN = 1.0
#: Optional columns with a default in the record: the field, and how its value is written.
_RECORDED: dict[str, tuple[str, Callable[..., str]]] = {
    "track": ("track", str),
    "tack": ("tack", str),
    "heel": ("heel_deg", lambda heel_deg: written(heel_deg, "deg")),
}


def read_route(
    path: str | PathLike[str], *, leg: Mapping[str, Any] | None = None
) -> tuple[Waypoint, ...]:
    """The waypoints of a file; everything wrong with it in one InputError."""
    waypoints, _, problems = collect_route(path, leg=leg or {})
    if problems:
        raise InputError(problems)
    return waypoints


def collect_route(
    path: str | PathLike[str], *, leg: Mapping[str, Any], text: str | None = None
) -> tuple[tuple[Waypoint, ...], tuple[Assumption, ...], tuple[Problem, ...]]:
    """Waypoints, the defaults that were used, and all that is wrong.

    Parameters
    ----------
    leg : mapping
        Fields of Waypoint that hold where a row says nothing else, from boat.toml.
    text : str or None
        What the file holds, where that is known already; None reads it.
    """
    file = str(path)
    columns, table = _read_table(path, text)
    problems = list(table.problems)
    if len(table.rows) > MOST_POINTS:
        problems.append(too_many_points(file, len(table.rows)))
        return (), (), tuple(problems)
    found: list[tuple[CsvRow, Fields]] = []
    for place, row in enumerate(table.rows):
        is_last = place == len(table.rows) - 1
        fields, faults = _fields_of(row, columns, leg, needs_speed=not is_last)
        problems += faults
        found.append((row, fields))
    stays = len(found) == 1 and not problems
    if stays and not found[0][1].get("stop_h"):
        or_else = "; or one with a stop, for example 21 days at anchor"
        problems.append(too_few_points(file, 1, line=found[0][0].line, or_else=or_else))
    if not problems:
        waypoints = _stay(found[0][1]) if stays else tuple(Waypoint(**each) for _, each in found)
        own = {place for place, (row, _) in enumerate(found) if row.cells.get("motoring")}
        waypoints = motored_at_ends(waypoints, leg, own=own)
        problems += _faults_between(file, waypoints, [row for row, _ in found])
    if problems:
        in_order = sorted(problems, key=lambda problem: (problem.line or 0, problem.field or 0))
        return (), (), tuple(in_order)
    return waypoints, tuple(_assumptions(Path(path).name, table, leg)), ()


def _read_table(path, text) -> tuple[tuple[RouteColumn, ...], CsvTable]:
    """Rows, and the columns that count: one for the position, or two."""
    optional = [replace(each.column, required=False) for each in ROUTE_COLUMNS]
    table = collect_table(path, optional, aliases=_ALIASES, text=text)
    places = _LAT_LON if {"lat", "lon"} & table.columns.keys() else _PLACE
    if places is _LAT_LON and "position" in table.columns:
        first = Problem(
            file=str(path),
            text="has both a column 'position' and columns 'lat' or 'lon'",
            expected="one way of writing positions",
        )
        return (), CsvTable(problems=(first,))
    columns = (_NAME, *places, *_REST)
    wanted = [
        replace(each.column, required=each.column.required or each in _LAT_LON) for each in columns
    ]
    return columns, collect_table(path, wanted, aliases=_ALIASES, text=text)


def _fields_of(
    row: CsvRow, columns: Iterable[RouteColumn], leg: Mapping[str, Any], *, needs_speed: bool
) -> tuple[Fields, list[Problem]]:
    """Fields of one waypoint, and what is wrong with its cells."""
    fields, faults = of_each_leg(leg), []
    for each in columns:
        name = each.column.name
        text = row.cells.get(name)
        if text is None or (not text and not each.column.required and each not in _LAT_LON):
            continue
        try:
            given = each.read(row.plain(name), row.units.get(name))
        except ReadingError as error:
            faults.append(problem_at(row, name, error.reason, each.column.expected))
            continue
        if name == "motoring":  # the leg's own words replace all of boat.toml's
            fields = {key: value for key, value in fields.items() if "motoring" not in key}
        fields |= given
    if needs_speed and "speed_kn" not in fields and not row.cells.get("speed"):
        expected = "4.5 kn, for example; or one speed for every leg in boat.toml under [passage]"
        faults.append(problem_at(row, "speed", "no speed to the next waypoint", expected))
    if not needs_speed:
        fields.pop("speed_kn", None)
    return fields, faults


def _stay(fields: Fields) -> tuple[Waypoint, ...]:
    """A stop and no more, as the stop and an end in the same place: no leg has any length.

    So every later question finds a first and a last waypoint; the speed says nothing.
    """
    ends = Waypoint(**fields)
    return (replace(ends, speed_kn=_ANY_KN), replace(ends, stop_h=0.0))


def _faults_between(file: str, waypoints, rows: list[CsvRow]) -> list[Problem]:
    faults = []
    legs_after = pairwise(waypoints if len(rows) > 1 else ())
    for row, (start, end) in zip(rows[1:], legs_after, strict=True):
        if is_same_place(start, end) and not start.stop_h and not end.stop_h:
            column = "position" if "position" in row.fields else "lat"
            reason = f"{quoted(end.name)} is where {quoted(start.name)} is, with no stop at either"
            expected = "another place, a stop, or one line less"
            faults.append(problem_at(row, column, reason, expected))
    return faults or too_long(file, waypoints)


def _assumptions(file: str, table: CsvTable, leg: Mapping[str, Any]) -> list[Assumption]:
    """One for every column that is absent, or has empty cells, and is not set for every leg."""
    found = []
    rows = table.rows[:-1]  # the last waypoint has no leg
    for name, value, reason in _leg_defaults(leg):
        if name in table.columns:
            if all(row.cells[name] for row in rows):
                continue
            name += ", where empty"
        found.append(Assumption(place=f"{file} {name}", value=value, reason=reason))
    return found


def _leg_defaults(leg: Mapping[str, Any]):
    """CsvColumn, value and reason of everything that a leg takes for granted."""
    defaults = record_defaults(Waypoint)
    for name, (field, write) in _RECORDED.items():
        if field not in leg:
            value, reason = defaults[field]
            yield name, write(value), reason
    for name, (value, reason) in _ABSENT.items():
        if name != "motoring" or not any(field.startswith("motoring") for field in leg):
            yield name, value, reason


def leg_assumptions(file: str, leg: Mapping[str, Any]) -> list[Assumption]:
    """What a route without columns, such as one from a plotter, takes for granted on every leg."""
    return [
        Assumption(place=f"{file} {name}", value=value, reason=reason)
        for name, value, reason in _leg_defaults(leg)
    ]
