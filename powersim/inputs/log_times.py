"""When the entries of a log were written: one column, or one for the date and one for the time."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from powersim.errors import Problem
from powersim.inputs.date_columns import read_dates
from powersim.inputs.log_columns import DATE, SHIP_TIME, TIME, Fields
from powersim.inputs.table import CsvRow, CsvTable, problem_at

_SHIP = re.compile(r"\s*(?:ship(?:'s time)?|ship time|zt|lt)$", re.IGNORECASE)
TIME_EXPECTED = (
    "date and time in one cell, year first; UTC, or with 'ship' or an offset behind it, "
    "for example 2026-09-12 08:00"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class LogTimes:
    """When each row was written.

    Attributes
    ----------
    fields : dict of int to dict
        Fields of LogEntry by the line of the row; of those whose time can be read.
    faults : tuple of Problem
        What is wrong with the others: one for each, but one alone for all that are in doubt.
    taken : tuple of str
        How cells were taken that could have been taken otherwise.
    """

    fields: dict[int, Fields]
    faults: tuple[Problem, ...]
    taken: tuple[str, ...]


def timed_by(file: str, table: CsvTable) -> str | Problem:
    """The column that has the time, or what is wrong with that.

    Parameters
    ----------
    file : str
        Its name in messages.
    table : CsvTable
        With a heading.
    """
    timed = [name for name in (TIME, SHIP_TIME) if name in table.columns]
    if len(timed) == 1:
        return timed[0]
    text = "has both a time and a ship_time column" if timed else "has no time column"
    return Problem(
        file=file,
        text=text,
        expected="a column `time` (UTC), or `ship_time`; all others may be left out",
    )


def log_times(
    rows: Sequence[CsvRow], timed: str, *, within: tuple[datetime, datetime] | None
) -> LogTimes:
    """When the rows of a log were written.

    Parameters
    ----------
    rows : sequence of CsvRow
        Those that count, in the order of the file.
    timed : str
        The column with the time.
    within : tuple of datetime or None
        Departure, and the latest that an entry may be.
    """
    faults: list[Problem] = []
    texts: list[str] = []
    kept: list[CsvRow] = []
    for row in rows:
        missing = next((name for name in (DATE, timed) if row.cells.get(name) == ""), None)
        if missing is None:
            kept.append(row)
            texts.append(" ".join(row.cells[name] for name in (DATE, timed) if name in row.cells))
        else:
            faults.append(problem_at(row, missing, "is empty", TIME_EXPECTED))
    if not kept:
        return LogTimes(fields={}, faults=tuple(faults), taken=())
    clocks = [_SHIP.sub("", text.strip()) for text in texts]
    heading = DATE if DATE in kept[0].cells else timed
    order = kept[0].units.get(DATE) or kept[0].units.get(timed)
    found = read_dates(clocks, heading=heading, order=order, within=within)
    fields: dict[int, Fields] = {}
    for row, text, clock, moment in zip(kept, texts, clocks, found.moments, strict=True):
        if isinstance(moment, datetime):
            in_ship_time = timed == SHIP_TIME or clock != text.strip()
            fields[row.line] = {"clock_s": moment.timestamp(), "in_ship_time": in_ship_time}
        elif found.asked is None or not moment.reason.startswith("cannot tell which day"):
            faults.append(problem_at(row, heading, moment.reason, TIME_EXPECTED))
    if found.asked is not None:
        place, what, settles = found.asked
        faults.append(problem_at(kept[place], heading, what, settles))
    return LogTimes(fields=fields, faults=tuple(faults), taken=found.told)
