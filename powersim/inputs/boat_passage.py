"""The [passage] table: when it begins, whose time the clock shows, and what every leg is like."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time
from typing import Any

from powersim.inputs import legs
from powersim.inputs.text import ReadingError, quoted
from powersim.inputs.toml_keys import (
    NAME,
    Key,
    ValueKind,
    choice,
    key_of,
    keys_of,
    one_text,
    shown,
)
from powersim.inputs.toml_table import Sheet, record_defaults
from powersim.inputs.units_named import UNITS_KIND
from powersim.records import CLOUD_MODELS, TRACKS, Assumption, Waypoint
from powersim.records.units_aboard import METRIC, UnitsAboard

FIRST_YEAR, LAST_YEAR = 1950, 2100  # as far as almanacs and calendars are trusted here
DEPART_EXPECTED = "a date and time in UTC, for example 2026-09-05 09:00"
_OFFSET = re.compile(r"(?:utc|gmt)\s*(?:([+-])\s*(\d{1,2})(?::?([0-5]\d))?)?", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class PassageSettings:
    """What [passage] says; None where it says nothing.

    Attributes
    ----------
    name : str or None
        What the passage is called.
    depart_utc : datetime or None
        Time zone aware, UTC.
    ship_offset_h : float or None
        Ship's time ahead of UTC; None follows zones of longitude. [h]
    cloud_model : str
        One of CLOUD_MODELS.
    units : UnitsAboard
        What numbers are printed in.
    leg : dict
        Fields of Waypoint that hold for every leg that says nothing else.
    """

    name: str | None = None
    depart_utc: datetime | None = None
    ship_offset_h: float | None = None
    cloud_model: str = "kasten"
    units: UnitsAboard = METRIC
    leg: dict[str, Any] = field(default_factory=dict)


def parse_depart(value: str | datetime | date) -> tuple[datetime, bool]:
    """A departure, from text or from a TOML date.

    Parameters
    ----------
    value : str, datetime or date
        UTC unless it has an offset of its own.

    Returns
    -------
    depart_utc : datetime
        Time zone aware, UTC.
    time_given : bool
        False if only the day was given, which begins at noon.

    Raises
    ------
    ReadingError
        With a `reason`, if it is none.

    Examples
    --------
    >>> parse_depart("2026-09-05 09:00")[0].isoformat()
    '2026-09-05T09:00:00+00:00'
    """
    moment = _moment(value) if isinstance(value, str) else value
    if isinstance(moment, datetime):
        day_only = False
    elif isinstance(moment, date):
        moment, day_only = datetime.combine(moment, time(12)), True
    else:
        raise ReadingError(f"{shown(value)} is not a date")
    if not FIRST_YEAR <= moment.year <= LAST_YEAR:
        raise ReadingError(f"{quoted(str(value))} is not between {FIRST_YEAR} and {LAST_YEAR}")
    aware = moment if moment.tzinfo else moment.replace(tzinfo=UTC)
    return aware.astimezone(UTC), not day_only


def _moment(text: str) -> datetime | date:
    plain = re.sub(r"\s*(?:utc|gmt|z)$", "+00:00", text.strip(), flags=re.IGNORECASE)
    plain = re.sub(r"\s+([+-]\d\d:?\d\d)$", r"\1", plain)
    try:
        if re.fullmatch(r"\d{4}-\d\d-\d\d", plain):
            return date.fromisoformat(plain)
        if re.match(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d", plain, re.IGNORECASE):
            return datetime.fromisoformat(plain)
    except ValueError:
        raise ReadingError(f"there is no {quoted(text)} in the calendar or on the clock") from None
    raise ReadingError(f"cannot read {quoted(text)} as a date")


def _read_ship_time(value) -> float | None:
    """Hours ahead of UTC, or None for zones of longitude."""
    text = one_text(value)
    plain = text.strip().casefold().replace("\N{MINUS SIGN}", "-")
    if plain in ("zone", "zones"):
        return None
    found = _OFFSET.fullmatch(plain)
    if not found:
        raise ReadingError(f"cannot read {quoted(text)}")
    sign, hours, minutes = found.groups()
    offset_h = int(hours or 0) + int(minutes or 0) / 60.0
    if offset_h > 14:
        raise ReadingError(f"{quoted(text)} is more than 14 h from UTC")
    return -offset_h if sign == "-" else offset_h


def _leg_key(name: str, read, meaning: str, example: str = "", **more: Any) -> Key:
    def from_toml(value):
        return read(one_text(value))

    return key_of(name, ValueKind(read=from_toml), meaning, example, field=f"leg {name}", **more)


_AS_ROUTE = "as route.csv says, else "
_LEG_KEYS = (
    _leg_key(
        "speed",
        legs.read_speed,
        "speed made good on every leg",
        "4.5 kn",
        without="none; then every line of route.csv needs one",
    ),
    _leg_key(
        "track",
        legs.read_track,
        "the line on which every leg is sailed",
        one_of=TRACKS,
        without=f"{_AS_ROUTE}great circle",
    ),
    _leg_key(
        "tack",
        legs.read_tack,
        "the side from which the wind blows on every leg",
        says="port, starboard or both",
        without=f"{_AS_ROUTE}both",
    ),
    _leg_key("heel", legs.read_heel, "heel under way", "12 deg", without=f"{_AS_ROUTE}10 deg"),
    _leg_key(
        "motoring",
        legs.read_motoring,
        "time under power: at the passage's start and end, and in the calms of every leg",
        "2 h at start; 3 h at end; 60 % of calms",
        says="time under power: at the passage's start and end, and in the calms of every leg; "
        "for example 2 h at start; 3 h at end; 60 % of calms",
        without=f"{_AS_ROUTE}none",
    ),
)
#: Read like a key of the boat's: a number with what is usual, the same for every leg.
CALM_KEY = next(key for key in keys_of(Waypoint) if key.field == "calm_kn")
PASSAGE_KEYS: tuple[Key, ...] = (
    key_of(
        "name",
        NAME,
        "what the passage is called",
        '"Iceland to Cabo Verde"',
        says='for example "Iceland to Cabo Verde"',
        without="the folder's name",
    ),
    key_of(
        "depart",
        ValueKind(read=parse_depart),
        "a date and time in UTC",
        "2026-09-05 09:00",
        without="required, or `--depart` on the command line; a date alone: 12:00 UTC",
    ),
    key_of(
        "ship_time",
        ValueKind(read=_read_ship_time),
        "what the ship's clock follows",
        says="zone for zones of longitude, or a fixed UTC-1 or UTC+05:30",
        field="ship_offset_h",
    ),
    key_of(
        "cloud_model",
        choice(*CLOUD_MODELS),
        "how oktas become light: by Kasten and Czeplak, or by Reed",
        one_of=CLOUD_MODELS,
        without="kasten",
    ),
    *_LEG_KEYS,
    CALM_KEY,
    key_of(
        "units",
        UNITS_KIND,
        "what is printed in other units than litres, cm, nautical miles and degC",
        "US gallons, inches",
        says='units to print in, joined by commas, for example "US gallons, inches"',
        without="litres, cm, nautical miles, degC",
    ),
)


def calms_assumed(
    file: str, waypoints: Iterable[Waypoint], leg: Mapping[str, Any]
) -> list[Assumption]:
    """What counts as calm, where calms are motored and boat.toml does not say."""
    if CALM_KEY.field in leg or not any(one.motoring_calm_frac for one in waypoints):
        return []
    value, reason = record_defaults(Waypoint)[CALM_KEY.field]
    place = f"{file} passage.{CALM_KEY.name}"
    return [Assumption(place=place, value=CALM_KEY.kind.write(value), reason=reason)]


def read_passage(sheet: Sheet) -> PassageSettings:
    """What [passage] says, with as much of it as could be read."""
    table = sheet.table("passage")
    given = {} if table is None else table.take(PASSAGE_KEYS)
    written = () if table is None else table.data
    if "ship_time" not in written:
        sheet.assume("passage.ship_time", "zone", "ship's time by 15-degree zones of longitude")
    depart_utc, time_given = given.get("depart", (None, True))
    if not time_given:
        sheet.assume("passage.depart", "12:00 UTC", "a date alone begins at noon UTC")
    leg: dict[str, Any] = {}
    for key in _LEG_KEYS:
        leg |= given.get(key.field, {})
    if CALM_KEY.field in given:
        leg[CALM_KEY.field] = given[CALM_KEY.field]
    return PassageSettings(
        name=given.get("name"),
        depart_utc=depart_utc,
        ship_offset_h=given.get("ship_offset_h"),
        cloud_model=given.get("cloud_model", "kasten"),
        units=given.get("units", METRIC),
        leg=leg,
    )
