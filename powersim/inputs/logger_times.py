"""Hundreds of thousands of times, read by what a few thousand of them tell of their form.

A logger writes the same days and the same times of the day over and over: each is read once.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from powersim.errors import Problem
from powersim.inputs.date_columns import ORDERS, read_dates
from powersim.inputs.dates import PLAIN, plain_text, readings_of
from powersim.inputs.text import ReadingError

#: So many cells, evenly over the column, tell its form: of every day of a season, many.
_SAMPLED = 2_000
#: Unix time, in seconds and in thousandths: of the years 2000 to 2100. [s]
_UNIX_s = (946_684_800.0, 4_102_444_800.0)
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
_OFFSET = re.compile(r"(?:z|utc|gmt|[+-]\d\d:?\d\d)$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Times:
    """A column of times as it was understood.

    Attributes
    ----------
    utc_s : list of float
        Unix time, nan where a cell cannot be read. [s]
    told : tuple of str
        How cells were taken.
    problem : Problem or None
        Why none can be used.
    in_utc : bool
        Whether the cells say UTC, or have offsets.
    """

    utc_s: list[float]
    told: tuple[str, ...] = ()
    problem: Problem | None = None
    in_utc: bool = False


def times_of(
    cells: Sequence[str],
    *,
    file: str,
    lines: Sequence[int],
    heading: str,
    within: tuple[datetime, datetime] | None,
) -> Times:
    """The moments of a logger's column of times.

    Parameters
    ----------
    cells : sequence of str
        In the order of the file; date and time of the day joined by a blank.
    file : str
        Its name in messages.
    lines : sequence of int
        Line of each.
    heading : str
        Of the column, for messages.
    within : tuple of datetime or None
        As `read_dates` has it.
    """
    step = -(-len(cells) // _SAMPLED)
    places = range(0, len(cells), step)
    sample = [cells[place].strip() for place in places]
    scale = _unix(sample)
    if scale:
        told = f"{heading}: counted in {'seconds' if scale == 1.0 else 'thousandths of a second'}"
        utc_s = [_number(cell.strip()) / scale for cell in cells]
        return Times(utc_s=utc_s, told=(f"{told} since 1970, UTC",), in_utc=True)
    column = read_dates(sample, heading=heading, within=within)
    if column.asked is not None:
        place, text, expected = column.asked
        expected = expected.replace(heading + "_", "time_")
        problem = Problem(file=file, line=lines[places[place]], text=text, expected=expected)
        return Times(utc_s=[], problem=problem)
    read = [
        (text, moment)
        for text, moment in zip(sample, column.moments, strict=True)
        if isinstance(moment, datetime)
    ]
    if 2 * len(read) < len(sample):
        first = next(one for one in column.moments if isinstance(one, ReadingError))
        place = column.moments.index(first)
        expected = "a date with a time of the day, for example 2026-09-12 08:00:00"
        problem = Problem(
            file=file,
            line=lines[places[place]],
            text=f"{heading}: {first.reason}",
            expected=expected,
        )
        return Times(utc_s=[], problem=problem)
    return Times(
        utc_s=_all_of(cells, _order_of(read)),
        told=column.told,
        in_utc=all(_OFFSET.search(plain_text(text)) for text, _ in read),
    )


def _unix(sample: Sequence[str]) -> float:
    """What numbers are to be divided by to be Unix time; 0 where they are none."""
    numbers = [float(cell) for cell in sample if _NUMBER.fullmatch(cell)]
    if not numbers or 2 * len(numbers) < len(sample):
        return 0.0
    middle = sorted(numbers)[len(numbers) // 2]
    return next((s for s in (1.0, 1000.0) if _UNIX_s[0] <= middle / s <= _UNIX_s[1]), 0.0)


def _number(cell: str) -> float:
    return float(cell) if _NUMBER.fullmatch(cell) else float("nan")


def _order_of(read: Sequence[tuple[str, datetime]]) -> str:
    """The order of day and month by which cells were read as they were."""
    for order in ORDERS:
        ways = ((readings_of(text), moment) for text, moment in read)
        if all(way.get(order) == moment for way, moment in ways if PLAIN not in way):
            return order
    return PLAIN


def _all_of(cells: Sequence[str], order: str) -> list[float]:
    """Unix time of every cell, each day and each time of the day read once. [s]"""
    days: dict[str, float | None] = {}
    clocks: dict[str, float | None] = {}
    found: list[float] = []
    for cell in map(str.strip, cells):
        day, _, clock = cell.partition("T" if cell[10:11] == "T" else " ")
        if day not in days:
            days[day] = _read(f"{day} 00:00", order)
        day_s = days[day]
        if day_s is not None:
            if clock not in clocks:
                clocks[clock] = _read(f"2001-01-01 {clock}", PLAIN)
            clock_s = clocks[clock]
            if clock_s is not None:
                found.append(day_s + clock_s - _NEW_YEAR_s)
                continue
        whole_s = _read(cell, order)
        found.append(float("nan") if whole_s is None else whole_s)
    return found


_NEW_YEAR_s = datetime(2001, 1, 1, tzinfo=UTC).timestamp()


def _read(text: str, order: str) -> float | None:
    try:
        ways = readings_of(text)
    except ReadingError:
        return None
    moment = ways.get(PLAIN) or ways.get(order)
    return None if moment is None else moment.timestamp()
