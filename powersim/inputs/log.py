"""log.csv, written at sea: what the instruments and the dip stick said. Read only, never written.

A log is kept by tired hands, so what cannot be read is set aside cell by cell and named; the rest
counts. Whether entries contradict each other or the passage is judged by `underway.contradictions`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from os import PathLike
from pathlib import Path
from typing import Any

from powersim.errors import InputError, Problem
from powersim.inputs.boat_passage import FIRST_YEAR, LAST_YEAR, parse_depart
from powersim.inputs.depths import read_depth
from powersim.inputs.headings import CsvColumn, letter
from powersim.inputs.legs import read_cloud
from powersim.inputs.positions import parse_position
from powersim.inputs.table import CsvRow, CsvTable, problem_at, table_of
from powersim.inputs.text import ReadingError, quoted, read_sound_lines, read_text
from powersim.inputs.toml_keys import cans_L
from powersim.inputs.units import split, to_float
from powersim.records import Log, LogEntry

LOG_FILE = "log.csv"
_SHIP = re.compile(r"\s*(?:ship(?:'s time)?|ship time|zt|lt)$", re.IGNORECASE)
_NONE_LEFT = ("-", "–", "none", "n/a")
#: A row that cannot be cut into cells hides those below it; so many are taken out one by one.
_MOST_TORN = 50
_LONGEST_NOTE = 2_000
_MOST_OUT_Ah = 10_000.0  # as large as banks may be
_YEARS = f"the years {FIRST_YEAR} to {LAST_YEAR}"

Fields = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class LogColumn:
    """A column of log.csv and how its cells are read.

    Attributes
    ----------
    column : CsvColumn
        Its name and what it holds.
    read : callable
        From a cell's text and the heading's unit to fields of LogEntry.
    span : str
        What it may be, for the reference page.
    """

    column: CsvColumn
    read: Callable[[str, str | None], Fields]
    span: str = ""


def _read_time(text: str, bare: str | None) -> Fields:
    clock = _SHIP.sub("", text.strip())
    moment, time_given = parse_depart(clock)
    if not time_given:
        raise ReadingError(f"{quoted(text)} has no time of the day")
    return {"clock_s": moment.timestamp(), "in_ship_time": clock != text.strip()}


def _read_ship_time(text: str, bare: str | None) -> Fields:
    return _read_time(text, bare) | {"in_ship_time": True}


def _read_position(text: str, bare: str | None) -> Fields:
    lat_deg, lon_deg = parse_position(text)
    return {"lat_deg": lat_deg, "lon_deg": lon_deg}


def _quantity(name: str, unit: str, least: float, most: float):
    """A reader of one quantity between two bounds, and the bounds in words."""
    shown = "%" if unit == "frac" else unit
    scale = 100.0 if unit == "frac" else 1.0
    span = f"{scale * least:.0f} {shown} to {scale * most:.0f} {shown}"

    def read(text: str, bare: str | None) -> Fields:
        number = to_float(text, unit, bare=bare)
        if not least <= number <= most:
            raise ReadingError(f"{quoted(text)} is not between {span.replace(' to ', ' and ')}")
        return {name: number}

    return {"read": read, "span": span}


def _read_dip(text: str, bare: str | None) -> Fields:
    number, unit = read_depth(text, or_litres=True, bare=bare)
    most = {"m": 5.0, "L": 10_000.0}[unit]
    if not 0 <= number <= most:
        raise ReadingError(f"{quoted(text)} is not between 0 and {most:g} {unit}")
    return {f"dip_{unit}": number}


def _read_monitor(text: str, bare: str | None) -> Fields:
    number_Ah = to_float(text, "Ah", bare=bare)
    if number_Ah > 0:  # the sign left out, or what is left of the bank: nobody here can tell which
        raise ReadingError(
            f"{quoted(text)} is above 0, where the count since full is 0 or below (write the "
            "minus; what is left of the bank goes under soc, in percent)"
        )
    if number_Ah < -_MOST_OUT_Ah:
        raise ReadingError(f"{quoted(text)} is not between -{_MOST_OUT_Ah:.0f} Ah and 0 Ah")
    return {"monitor_Ah": number_Ah + 0.0}  # no minus zero


def _cans_reader(can_L: float | None):
    """A reader of what is left in cans: a count of full ones, `2 x 20 L`, or litres."""

    def read(text: str, bare: str | None) -> Fields:
        if "x" in text.lower().replace("×", "x").replace("*", "x"):
            return {"cans_L": cans_L(text)}
        number, unit = split(text)
        if unit is not None or bare is not None:
            left_L = to_float(text, "L", bare=bare)
        elif number == 0:
            left_L = 0.0
        elif can_L is None:
            raise ReadingError(
                f"{quoted(text)} is a count, and boat.toml does not say how large a can is"
            )
        else:
            left_L = number * can_L
        if not 0 <= left_L <= 10_000:
            raise ReadingError(f"{quoted(text)} is not between 0 L and 10000 L")
        return {"cans_L": left_L}

    return read


def _read_cloud(text: str, bare: str | None) -> Fields:
    return {"cloud_oktas": read_cloud(text, bare)["cloud_oktas"]}


def _read_note(text: str, bare: str | None) -> Fields:
    return {"note": text[:_LONGEST_NOTE]}


TIME_EXPECTED = (
    "date and time in one cell, year first; UTC, or with 'ship' or an offset behind it, "
    "for example 2026-09-12 08:00"
)


def log_columns(can_L: float | None = None) -> tuple[LogColumn, ...]:
    """The columns of log.csv.

    Parameters
    ----------
    can_L : float or None
        What one jerrycan holds, so that a count of them can be read. [L]
    """

    def column(name, meaning, example, units=()):
        return CsvColumn(name=name, meaning=meaning, example=example, units=units)

    return (
        LogColumn(
            column=column("time", "when, UTC unless 'ship' stands behind it", "2026-09-12 08:00"),
            read=_read_time,
            span=_YEARS,
        ),
        LogColumn(
            column=column(
                "ship_time", "when, in ship's time, in place of time", "2026-09-12 06:00"
            ),
            read=_read_ship_time,
            span=_YEARS,
        ),
        LogColumn(column=column("position", "the fix", "52 10.5 N 27 31 W"), read=_read_position),
        LogColumn(
            column=column("soc", "charge, as the monitor shows it", "72 %", ("frac",)),
            **_quantity("soc", "frac", 0.0, 1.0),
        ),
        LogColumn(
            column=column("voltage", "volts at the bank", "12.45 V", ("V",)),
            **_quantity("voltage_V", "V", 0.0, 100.0),
        ),
        LogColumn(
            column=column(
                "resting_h",
                "for how long next to no current had flowed, in or out",
                "3 h; a bare number is hours",
                ("h",),
            ),
            **_with_bare(_quantity("resting_h", "h", 0.0, 1_000.0), "h"),
        ),
        LogColumn(
            column=column("current", "amperes into the bank, below 0 out of it", "-3.2 A", ("A",)),
            **_quantity("current_A", "A", -2_000.0, 2_000.0),
        ),
        LogColumn(
            column=column("engine_h", "the hour meter", "1234.5 h; a bare number is hours", ("h",)),
            **_with_bare(_quantity("engine_h", "h", 0.0, 100_000.0), "h"),
        ),
        LogColumn(
            column=column(
                "gear_h",
                "hours in gear: a meter's, or all since departure; a count that only goes up",
                "31.5 h; a bare number is hours",
                ("h",),
            ),
            **_with_bare(_quantity("gear_h", "h", 0.0, 100_000.0), "h"),
        ),
        LogColumn(
            column=column("dip", "the stick in the tank, depth or litres", "23.5 cm", ("cm", "L")),
            read=_read_dip,
            span="0 cm to 500 cm, or 0 L to 10000 L",
        ),
        LogColumn(
            column=column("cans_left", "full jerrycans left", "2, 2 x 20 L or 40 L", ("L",)),
            read=_cans_reader(can_L),
            span="0 L to 10000 L",
        ),
        LogColumn(
            column=column(
                "absorb_A", "amperes into the bank at absorption voltage", "4.2 A", ("A",)
            ),
            **_with_bare(_quantity("absorb_A", "A", 0.0, 2_000.0), "A"),
        ),
        LogColumn(
            column=column("fuel_added", "fuel bought since the entry before", "20 L", ("L",)),
            **_quantity("fuel_added_L", "L", 0.0, 10_000.0),
        ),
        LogColumn(
            column=column("solar_Ah", "the controller's counter", "182 Ah", ("Ah",)),
            **_with_bare(_quantity("solar_Ah", "Ah", 0.0, 10_000_000.0), "Ah"),
        ),
        LogColumn(
            column=column(
                "monitor_Ah",
                "the battery monitor's own count, 0 when full and below 0 by what has left since",
                "-35.2 Ah; a bare number is Ah",
                ("Ah",),
            ),
            **_with_bare({"read": _read_monitor, "span": f"-{_MOST_OUT_Ah:.0f} Ah to 0 Ah"}, "Ah"),
        ),
        LogColumn(
            column=column("cloud", "cloud of the day, in eighths", "6 oktas", ("okta",)),
            read=_read_cloud,
            span="0 oktas to 8 oktas",
        ),
        LogColumn(column=column("note", "free text", "reefed at noon"), read=_read_note),
    )


def _with_bare(reader: dict, unit: str) -> dict:
    """The same for a column whose very name has the unit of a bare number."""
    read = reader["read"]
    return reader | {"read": lambda text, bare: read(text, bare or unit)}


def read_log(path: str | PathLike[str], *, can_L: float | None = None) -> Log:
    """A log as far as it can be read.

    Parameters
    ----------
    path : str or Path
        A table with `time`, or `ship_time`; rows in any order.
    can_L : float or None
        What one jerrycan holds. [L]

    Raises
    ------
    InputError
        If nothing of it can be used: no such file, no text, no heading with a time, no entry.
    """
    columns = log_columns(can_L)
    table, problems = _whole_rows(path, columns)
    if not table.columns and any(each.text.startswith("unknown column") for each in problems):
        raise InputError(_no_heading(problems))
    timed = [name for name in ("time", "ship_time") if name in table.columns]
    if len(timed) != 1:
        raise InputError(problems + ([_which_time(str(path), timed)] if table.columns else []))
    wounded = {problem.line for problem in problems}
    entries = []
    for row in table.rows:
        if row.line in wounded:
            continue  # cells have slipped from under their headings
        entry, faults = _entry(row, columns, timed[0])
        problems += faults
        if entry is not None:
            entries.append(entry)
    if not entries:
        raise InputError(problems or [_nothing(str(path))])
    in_order = sorted(problems, key=lambda problem: (problem.line or 0, problem.field or 0))
    return Log(entries=tuple(entries), set_aside=tuple(in_order))


def _whole_rows(path, columns: Iterable[LogColumn]) -> tuple[CsvTable, list[Problem]]:
    """The table without the rows that cannot be cut into cells."""
    text, no_text = read_sound_lines(path)
    known = [each.column for each in columns]
    torn: list[Problem] = list(no_text)
    for _ in range(_MOST_TORN):
        table = table_of(text, known, file=str(path))
        if table.torn_line is None:
            break
        torn += [problem for problem in table.problems if problem.line == table.torn_line]
        lines = text.splitlines(keepends=True)
        lines[table.torn_line - 1] = "#\n"
        text = "".join(lines)
    return table, [*torn, *(problem for problem in table.problems if problem not in torn)]


def _which_time(file: str, timed: list[str]) -> Problem:
    text = "has both a time and a ship_time column" if timed else "has no time column"
    return Problem(
        file=file,
        text=text,
        expected="a column `time` (UTC), or `ship_time`; all others may be left out",
    )


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


def _entry(row: CsvRow, columns: Iterable[LogColumn], timed: str):
    """The entry of a row, and what is wrong with its cells; None without a time."""
    given: Fields = {}
    faults = []
    for each in columns:
        name = each.column.name
        text = row.cells.get(name, "")
        if not text or text.casefold() in _NONE_LEFT:
            continue
        try:
            given |= each.read(text, row.units.get(name))
        except ReadingError as error:
            expected = TIME_EXPECTED if name in ("time", "ship_time") else each.column.expected
            if error.reason.endswith("has no unit"):
                heads = (f"{name}_{unit}".replace("frac", "%") for unit in each.column.units)
                expected += f"; bare numbers go under a heading {' or '.join(heads)}"
            faults.append(problem_at(row, name, error.reason, expected))
    if "clock_s" not in given:
        if not any(True for fault in faults if f"{timed} (" in fault.text):
            faults.append(problem_at(row, timed, "is empty", TIME_EXPECTED))
        return None, faults
    places = {name: (number, letter(number)) for name, number in row.fields.items()}
    return LogEntry(file=row.file, line=row.line, row=row.raw, places=places, **given), faults


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
