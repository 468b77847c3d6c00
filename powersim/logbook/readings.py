"""The entries of a log that count, in order of time."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from powersim.errors import Problem
from powersim.records import LogEntry


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """An entry of the log and its time.

    Attributes
    ----------
    at_h : float
        Time since departure. [h]
    entry : LogEntry
        The entry without what was set aside.
    """

    at_h: float
    entry: LogEntry


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedLog:
    """A log in order of time, without what contradicts.

    Attributes
    ----------
    readings : tuple of Reading
        The entries that count.
    set_aside : tuple of Problem
        What could not be read, and what contradicts.
    taken : tuple of str
        How cells were taken that could have been taken otherwise.
    """

    readings: tuple[Reading, ...]
    set_aside: tuple[Problem, ...]
    taken: tuple[str, ...] = ()


def without(reading: Reading, *fields: str) -> Reading:
    """A reading without some fields of its entry."""
    blank: dict[str, Any] = dict.fromkeys(fields)
    return replace(reading, entry=replace(reading.entry, **blank))
