"""Departures as they are typed after `--depart` of `compare`: single dates, and `from:to:step`."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import NamedTuple

from powersim.errors import InputError, Problem, refused
from powersim.inputs.boat_passage import parse_depart
from powersim.inputs.text import ReadingError, quoted

#: More departures than these are no comparison but a mistake.
MOST_DEPARTURES = 1000
_EXPECTED = (
    "a date, or from:to:step with a step of days or weeks, for example "
    "--depart 2026-09-01:2026-10-15:7d"
)
_DATE = r"\d{4}-\d\d-\d\d(?:[T ][^:]+:\d\d[^:]*)?"
_RANGE = re.compile(rf"\s*({_DATE}):\s*({_DATE}):\s*(.*)")
_STEP = re.compile(r"(\d{1,4})\s*(d|days?|w|weeks?)\s*", re.IGNORECASE)
_DAYS = {"d": 1, "w": 7}


class Departure(NamedTuple):
    """A departure as typed.

    Attributes
    ----------
    at_utc : datetime
        Time zone aware, UTC.
    time_given : bool
        Whether its time of day was typed; if not, that of the files counts.
    """

    at_utc: datetime
    time_given: bool

    def of(self, depart_utc: datetime) -> datetime:
        """The departure of a passage.

        Parameters
        ----------
        depart_utc : datetime
            By its own files, whose time of day stays where none was typed.
        """
        if self.time_given:
            return self.at_utc
        return datetime.combine(self.at_utc.date(), depart_utc.timetz())


def departures_of(texts: Iterable[str | datetime]) -> tuple[Departure, ...]:
    """Departures as typed, in their order, none twice.

    Parameters
    ----------
    texts : iterable of str or datetime
        Dates, with or without a time; ranges `from:to:step`, whose last date is that of the last
        step that is not beyond their end.

    Raises
    ------
    InputError
        With everything that cannot be read.

    Examples
    --------
    >>> [f"{one.at_utc:%d %b}" for one in departures_of(["2026-09-01:2026-09-20:7d"])]
    ['01 Sep', '08 Sep', '15 Sep']
    """
    found: list[Departure] = []
    problems: list[Problem] = []
    for text in texts:
        try:
            found += _one(text)
        except ReadingError as error:
            problems += refused("depart", error.reason, _EXPECTED).problems
    if problems:
        raise InputError(problems)
    return tuple(dict.fromkeys(found))


def _one(text: str | datetime) -> list[Departure]:
    """A single departure, or all of a range."""
    if isinstance(text, datetime):
        return [Departure(*parse_depart(text))]
    if not text.strip():
        raise ReadingError("is empty")
    parts = _RANGE.fullmatch(text)
    if parts is None:
        try:
            return [Departure(*parse_depart(text))]
        except ReadingError as error:
            more = "; a range has three parts, from:to:step" if text.count("-") > 3 else ""
            raise ReadingError(f"{error.reason}{more}") from None
    first, last = (Departure(*parse_depart(part)) for part in parts.groups()[:2])
    step = _STEP.fullmatch(parts[3])
    if step is None or not int(step[1]):
        raise ReadingError(f"{quoted(text)} has no step of one day or more at its end")
    if first.time_given != last.time_given:
        raise ReadingError(f"{quoted(text)} has a time of day at one end alone")
    apart = timedelta(days=int(step[1]) * _DAYS[step[2][0].casefold()])
    if last.at_utc < first.at_utc:
        raise ReadingError(f"{quoted(text)} runs backwards")
    steps = (last.at_utc - first.at_utc) // apart
    if steps >= MOST_DEPARTURES:
        raise ReadingError(f"{quoted(text)} has more than {MOST_DEPARTURES:,} departures")
    return [first._replace(at_utc=first.at_utc + number * apart) for number in range(steps + 1)]
