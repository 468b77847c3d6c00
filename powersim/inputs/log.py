"""log.csv, written at sea: what the instruments and the dip stick said. Read only, never written.

A log is kept by tired hands, so what cannot be read is set aside cell by cell and named; the rest
counts. Whether entries contradict each other or the passage is judged by `underway.contradictions`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from os import PathLike
from pathlib import Path

from powersim.errors import InputError, Problem
from powersim.inputs.cut_numbers import cuts_numbers, halves
from powersim.inputs.headings import letter
from powersim.inputs.log_columns import LogColumn, bare_unit, log_columns
from powersim.inputs.log_times import TIME_EXPECTED, log_times, timed_by
from powersim.inputs.table import CsvRow, problem_at
from powersim.inputs.text import ReadingError, quoted, read_text
from powersim.inputs.units import to_float
from powersim.inputs.whole_rows import whole_rows
from powersim.records import Log, LogEntry

LOG_FILE = "log.csv"
_NONE_LEFT = ("-", "–", "none", "n/a")


def read_log(
    path: str | PathLike[str],
    *,
    can_L: float | None = None,
    within: tuple[datetime, datetime] | None = None,
) -> Log:
    """A log as far as it can be read.

    Parameters
    ----------
    path : str or Path
        A table with `time`, or `ship_time`; rows in any order.
    can_L : float or None
        What one jerrycan holds. [L]
    within : tuple of datetime or None
        Departure, and the latest that an entry may be, where dates alone do not tell whether their
        day or their month comes first.

    Raises
    ------
    InputError
        If nothing of it can be used: no such file, no text, no heading with a time, no entry.
    """
    columns = log_columns(can_L)
    table, problems = whole_rows(path, [each.column for each in columns])
    if not table.columns and any(each.text.startswith("unknown column") for each in problems):
        raise InputError(_no_heading(problems))
    timed = timed_by(str(path), table)
    if isinstance(timed, Problem):
        raise InputError(problems + ([timed] if table.columns else []))
    wounded = {problem.line for problem in problems}  # cells have slipped from under their headings
    rows = [row for row in table.rows if row.line not in wounded]
    times = log_times(rows, timed, within=within)
    problems += times.faults
    taken = dict.fromkeys(times.taken)
    entries = []
    cut = cuts_numbers(table, problems)
    for row in rows:
        fields, faults, more = _cells(row, columns, halves(row) if cut else {})
        problems += faults
        if row.line in times.fields:
            taken |= dict.fromkeys(more)
            entries.append(_entry(row, fields | times.fields[row.line]))
    if not entries:
        raise InputError(problems or [_nothing(str(path))])
    in_order = sorted(problems, key=lambda problem: (problem.line or 0, problem.field or 0))
    return Log(entries=tuple(entries), set_aside=tuple(in_order), taken=tuple(taken))


def _no_heading(problems: list[Problem]) -> list[Problem]:
    """One message in place of one for each cell, where the first line is an entry."""
    first = next(problem for problem in problems if problem.text.startswith("unknown column"))
    above = [problem for problem in problems if (problem.line or 0) < (first.line or 0)]
    heading = Problem(
        file=first.file,
        line=first.line,
        text="this line should be the heading, but names no column of a log",
        expected="names above the first entry, for example time,position,voltage,engine_h,dip",
    )
    return [*above, heading]


def _nothing(file: str) -> Problem:
    return Problem(file=file, text="has no entry", expected=TIME_EXPECTED)


def _cells(
    row: CsvRow, columns: Iterable[LogColumn], cut: Mapping[str, str]
) -> tuple[dict[str, object], list[Problem], list[str]]:
    """Fields of the entry of a row, what is wrong with its cells, and what bare numbers were."""
    given: dict[str, object] = {}
    faults, taken = [], []
    for each in columns:
        name = each.column.name
        text = row.cells.get(name, "")
        if each.read is None or not text or text.casefold() in _NONE_LEFT:
            continue
        if name in cut:
            reason = f"may be a part of {quoted(cut[name])}, cut by its comma as in other lines"
            faults.append(problem_at(row, name, reason, each.column.expected))
            continue
        try:
            plain, unit = row.plain(name), row.units.get(name)
            if unit is None and each.taken is not None:
                unit = bare_unit(each, plain, separator=row.decimals.separator)
                more = [] if unit is None else [f"{name}: bare numbers are {each.taken_as}"]
            else:
                more = []
            given |= each.read(plain, unit)
            taken += more
        except ReadingError as error:
            faults.append(problem_at(row, name, error.reason, _expected(each, error.reason)))
    return given, faults, taken


def _expected(each: LogColumn, reason: str) -> str:
    """What a cell should be; of a bare number also the headings that such may stand under."""
    if "has no unit" not in reason and "may be a share" not in reason:
        return each.column.expected
    heads = (f"{each.column.name}_{unit}".replace("frac", "%") for unit in each.column.units)
    return f"{each.column.expected}; bare numbers go under a heading {' or '.join(heads)}"


def _entry(row: CsvRow, fields: Mapping[str, object]) -> LogEntry:
    places = {name: (number, letter(number)) for name, number in row.fields.items()}
    given: dict = dict(fields)
    return LogEntry(file=row.file, line=row.line, row=row.raw, places=places, **given)


def can_size_L(boat_file: str | PathLike[str]) -> float | None:
    """What one jerrycan holds, where boat.toml has them as `3 x 20 L`.

    Parameters
    ----------
    boat_file : str or Path
        A boat.toml.

    Returns
    -------
    float or None
        None where it does not say, or cannot be read: its own reader tells why. [L]
    """
    import tomllib

    try:
        cans = tomllib.loads(read_text(Path(boat_file)))["fuel"]["jerrycans"]
        _, cross, each = str(cans).lower().replace("×", "x").replace("*", "x").partition("x")
        return to_float(each.strip(), "L") if cross else None
    except (InputError, tomllib.TOMLDecodeError, KeyError, TypeError, ReadingError):
        return None
