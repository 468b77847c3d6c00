"""How moments and places are written: ship's time and calendar, positions as on a chart."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from datetime import date as date_of

from powersim.report.rounding import UNKNOWN, degrees, is_number

# Spelled out here since strftime follows the machine's language.
_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def latitude(lat_deg: float) -> str:
    """A parallel in whole degrees.

    Examples
    --------
    >>> latitude(64.15), latitude(-30.0)
    ('64°N', '30°S')
    """
    return degrees(abs(lat_deg)) + ("N" if lat_deg >= 0 else "S")


def position(lat_deg: float | None, lon_deg: float | None) -> str:
    """A position as on a chart, to the minute.

    Examples
    --------
    >>> position(38.5333, -28.6333)
    "38°32'N 028°38'W"
    >>> position(-0.9999, 181.0)
    "01°00'S 179°00'W"
    """
    if not (is_number(lat_deg) and is_number(lon_deg)):
        return UNKNOWN
    if not -180 <= lon_deg <= 180:
        lon_deg = (lon_deg + 180) % 360 - 180
    return f"{_arc(lat_deg, 2, 'NS')} {_arc(lon_deg, 3, 'EW')}"


def plain_position(lat_deg: float | None, lon_deg: float | None) -> str:
    """A position without signs, as route.csv takes it: a spreadsheet may garble a degree sign.

    Examples
    --------
    >>> plain_position(38.5333, -28.6333)
    '38 32 N 028 38 W'
    """
    signed = position(lat_deg, lon_deg)
    return signed.replace("°", " ").replace("'", " ")


def date(when_utc: datetime, *, ship_offset_h: float = 0.0) -> str:
    """A day on the ship's calendar.

    Examples
    --------
    >>> from datetime import datetime
    >>> date(datetime(2026, 9, 5, 23, 30, tzinfo=UTC), ship_offset_h=1.0)
    'Sun 6 Sep 2026'
    """
    when = _at_ship(when_utc, ship_offset_h)
    return f"{_day(when)} {when.year}"


def calendar(day: date_of) -> str:
    """A day of the calendar ashore.

    Examples
    --------
    >>> from datetime import date
    >>> calendar(date(2026, 11, 29))
    'Sun 29 Nov 2026'
    """
    return f"{_day(day)} {day.year}"


def short_date(when_utc: datetime, *, ship_offset_h: float = 0.0) -> str:
    """A day on the ship's calendar without its weekday and year.

    Examples
    --------
    >>> from datetime import datetime
    >>> short_date(datetime(2026, 9, 5, 23, 30, tzinfo=UTC), ship_offset_h=1.0)
    '6 Sep'
    """
    when = _at_ship(when_utc, ship_offset_h)
    return f"{when.day} {_MONTHS[when.month - 1]}"


def ship_time(when_utc: datetime, *, ship_offset_h: float = 0.0) -> str:
    """A moment in ship's time alone.

    Examples
    --------
    >>> from datetime import datetime
    >>> ship_time(datetime(2026, 9, 5, 10, 0, tzinfo=UTC), ship_offset_h=-1.0)
    'Sat 5 Sep 09:00'
    """
    when = _at_ship(when_utc, ship_offset_h)
    return f"{_day(when)} {when:%H:%M}"


def moment(when_utc: datetime, *, ship_offset_h: float = 0.0) -> str:
    """A moment in ship's time with UTC beside it, and UTC's own day where that differs.

    Examples
    --------
    >>> from datetime import datetime
    >>> moment(datetime(2026, 9, 5, 10, 0, tzinfo=UTC), ship_offset_h=-1.0)
    'Sat 5 Sep 09:00 (10:00 UTC)'
    >>> moment(datetime(2026, 9, 6, 0, 30, tzinfo=UTC), ship_offset_h=-2.0)
    'Sat 5 Sep 22:30 (Sun 00:30 UTC)'
    """
    ship, utc = _at_ship(when_utc, ship_offset_h), _at_ship(when_utc, 0.0)
    other_day = "" if ship.date() == utc.date() else f"{_DAYS[utc.weekday()]} "
    return f"{_day(ship)} {ship:%H:%M} ({other_day}{utc:%H:%M} UTC)"


def _arc(angle_deg: float, width: int, letters: str) -> str:
    whole_deg, rest_min = divmod(round(abs(angle_deg) * 60), 60)
    # What rounds to zero lies on no side; the first letter then stands for it.
    letter = letters[angle_deg < 0 and (whole_deg, rest_min) != (0, 0)]
    return f"{whole_deg:0{width}d}°{rest_min:02d}'{letter}"


def _at_ship(when_utc: datetime, ship_offset_h: float) -> datetime:
    """The wall clock aboard, to the nearest minute."""
    ship = when_utc.astimezone(UTC) + timedelta(hours=float(ship_offset_h), seconds=30)
    return ship.replace(second=0, microsecond=0)


def _day(when: date_of) -> str:
    return f"{_DAYS[when.weekday()]} {when.day} {_MONTHS[when.month - 1]}"
