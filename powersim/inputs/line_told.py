"""An entry of the log told as one line of a short message, with a check that a pencil can do."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime

from powersim.records import LogEntry

MONTHS = ("JAN", "FEB", "MAR", "APR", "MAY", "JUN", "JUL", "AUG", "SEP", "OCT", "NOV", "DEC")


def check_of(text: str) -> int:
    """The check of a line: the sum of all its digits, which a pencil can add.

    Parameters
    ----------
    text : str
        The line, without its check.

    Examples
    --------
    >>> check_of("12SEP 0630Z 12.45V")
    24
    """
    return sum(int(sign) for sign in text if sign in "0123456789")


def line_of(entry: LogEntry) -> str:
    """An entry as a line, as it can be read back aloud.

    Parameters
    ----------
    entry : LogEntry
        As read from a log or a line. Positions are told to a tenth of a minute.

    Returns
    -------
    str
        Its time with the year, all that it tells, and the check. It may be longer than a message.

    Examples
    --------
    >>> line_of(LogEntry(file="", line=1, row="", clock_s=1789194600.0, current_A=-3.2, soc=0.72))
    '12SEP26 0630Z 72% OUT3.2A CK34'
    """
    when = datetime.fromtimestamp(entry.clock_s, UTC)
    zone = " SHIP" if entry.in_ship_time else "Z"
    pieces = [f"{when.day}{MONTHS[when.month - 1]}{when:%y} {when:%H%M}{zone}"]
    if entry.lat_deg is not None and entry.lon_deg is not None:
        pieces += [_angle(entry.lat_deg, "NS", 2), _angle(entry.lon_deg, "EW", 3)]
    told: Sequence[tuple[str, float | None, str]] = (
        ("", None if entry.soc is None else 100.0 * entry.soc, "%"),
        ("", entry.voltage_V, "V"),
        ("REST", entry.resting_h, "H"),
        ("OUT" if (entry.current_A or 0.0) < 0 else "IN", _size(entry.current_A), "A"),
        ("ENG", entry.engine_h, "H"),
        ("GEAR", entry.gear_h, "H"),
        ("DIP", None if entry.dip_m is None else 100.0 * entry.dip_m, "CM"),
        ("DIP", entry.dip_L, "L"),
        ("NEEDLE", None if entry.needle_frac is None else 100.0 * entry.needle_frac, "%"),
        ("CANS", entry.cans_L, "L"),
        ("ABS", entry.absorb_A, "A"),
        ("ADD", entry.fuel_added_L, "L"),
        ("SUN", entry.solar_Ah, "AH"),
        ("MON", entry.monitor_Ah, "AH"),
        ("CLOUD", entry.cloud_oktas, "/8"),
    )
    pieces += [f"{word}{_number(value)}{unit}" for word, value, unit in told if value is not None]
    if entry.note:
        pieces.append(f"NOTE {entry.note}")
    text = " ".join(pieces)
    return f"{text} CK{check_of(text)}"


def _size(number: float | None) -> float | None:
    return None if number is None else abs(number)


def _number(value: float) -> str:
    """A number without what a binary fraction adds to it."""
    return f"{round(value, 6) + 0.0:.10g}"


def _angle(angle_deg: float, letters: str, digits: int) -> str:
    tenths = round(abs(angle_deg) * 600.0)
    degrees, minutes = divmod(tenths, 600)
    return f"{degrees:0{digits}d}-{minutes / 10.0:04.1f}{letters[angle_deg < 0]}"
