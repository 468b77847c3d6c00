"""The times of the ship's day at which the bank is read: ["06:00", "18:00"]."""

from __future__ import annotations

import re

from powersim.inputs.text import ReadingError, quoted
from powersim.inputs.toml_keys import ValueKind, shown
from powersim.records.charging import MOST_READINGS
from powersim.records.clock import clock

_TIME = re.compile(r"(?P<hour>[0-9]{1,2}):(?P<minute>[0-9]{2})")


def read_times(value: object) -> tuple[float, ...]:
    """The times of a list, in order; none of an empty one.

    Parameters
    ----------
    value : object
        As boat.toml has it.

    Raises
    ------
    ReadingError
        With a `reason`, if it is no list of times.

    Examples
    --------
    >>> read_times(["18:00", "06:15"])
    (6.25, 18.0)
    """
    if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
        raise ReadingError(f"{shown(value)} is not a list of times in quotes")
    if len(value) > MOST_READINGS:
        raise ReadingError(f"has more than {MOST_READINGS} times")
    times_h = sorted(map(_time_of_day, value))
    if len(set(times_h)) < len(times_h):
        raise ReadingError("has the same time twice")
    return tuple(times_h)


def _time_of_day(text: str) -> float:
    match = _TIME.fullmatch(text.strip())
    if match is None:
        raise ReadingError(f"cannot read the time {quoted(text)}")
    hour, minute = int(match["hour"]), int(match["minute"])
    if hour > 23 or minute > 59:
        raise ReadingError(f"{quoted(text)}: there is no such time of the day")
    return hour + minute / 60.0


READ_AT = ValueKind(
    read=read_times,
    write=lambda times_h: ", ".join(map(clock, times_h)) or "at any moment",
    span=f"a list of at most {MOST_READINGS} times; an empty one for any moment",
    listed=True,
)


def write_hours(hours: tuple[float, float]) -> str:
    """A span of the day as it stands in a file.

    Examples
    --------
    >>> write_hours((8.0, 20.5))
    '08:00-20:30'
    """
    return "-".join(map(clock, hours))
