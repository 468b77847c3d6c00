"""trial.csv, kept with a meter in hand before leaving: a row a load, a reading a state.

As a log, it is kept by tired hands: what cannot be read is set aside cell by cell and named, and
the rest counts.
"""

from __future__ import annotations

import re
from dataclasses import replace
from os import PathLike
from typing import Any

from powersim.errors import InputError, Problem
from powersim.inputs.headings import CsvColumn, letter
from powersim.inputs.table import CsvRow, problem_at
from powersim.inputs.text import ReadingError, quoted
from powersim.inputs.units import measure, split, to_float
from powersim.inputs.whole_rows import whole_rows
from powersim.records import Trial, TrialReading

TRIAL_FILE = "trial.csv"
#: Each is a reading by hand; the sum over all of them takes their cube.
MOST_READINGS = 600
#: In place of a load's name, where nothing or everything is switched.
_NOTHING = ("", "-", "none", "nothing", "nothing on")
_EVERYTHING = ("all", "everything", "all off")
#: What the printed sheet has behind a load's name, which somebody may copy.
_EXPECTED = re.compile(r"\s*\([-0-9. /]+\)$")
_EMPTY = ("-", "–", "n/a")
#: The states in the order of their columns, which is that in which a row is read.
_IN_ORDER = ("idle", "on", "off")
_MOST_A, _LEAST_V, _MOST_V, _LONGEST_h = 2_000.0, 6.0, 100.0, 48.0
_DECIMALS = re.compile(r"[+-]?[0-9]*\.?([0-9]*)")
_SHOWN = "what the meter shows"

TRIAL_COLUMNS = (
    CsvColumn(
        name="load",
        meaning="what is switched, by its name in loads.csv or as a supply; several of one switch "
        "with ; between them; `all` for everything, empty for nothing",
        example="vhf radio",
        required=True,
    ),
    CsvColumn(
        name="idle",
        meaning=f"{_SHOWN} with it on, but idle",
        example="0.56 A",
        units=("A", "Ah"),
    ),
    CsvColumn(
        name="on",
        meaning=f"{_SHOWN} with it at work",
        example="5.4 A",
        units=("A", "Ah"),
    ),
    CsvColumn(
        name="off",
        meaning=f"{_SHOWN} with it off again",
        example="0.31 A",
        units=("A", "Ah"),
    ),
    CsvColumn(
        name="voltage", meaning="volts at the bank meanwhile", example="12.62 V", units=("V",)
    ),
    CsvColumn(
        name="counted_over",
        meaning="for how long a counter was watched, where a reading is in Ah",
        example="30 min",
        units=("h",),
    ),
    CsvColumn(name="note", meaning="free text", example="screen at half"),
)


def read_trial(path: str | PathLike[str]) -> Trial:
    """A sheet of readings as far as it can be read.

    Parameters
    ----------
    path : str or Path
        A table with `load` and at least one of `idle`, `on` and `off`; rows in the order in which
        they were taken, and in each row idle before on before off.

    Raises
    ------
    InputError
        If nothing of it can be used.
    """
    table, problems = whole_rows(path, TRIAL_COLUMNS)
    if "load" not in table.columns or not set(_IN_ORDER) & set(table.columns):
        raise InputError(problems or [_no_reading(str(path))])
    wounded = {problem.line for problem in problems}
    readings: list[tuple[str, TrialReading]] = []
    for row in table.rows:
        if row.line in wounded:
            continue  # cells have slipped from under their headings
        found, faults = _readings(row)
        readings += found
        problems += faults
        if len(readings) > MOST_READINGS:
            many = f"more than {MOST_READINGS} readings"
            raise InputError([Problem(file=str(path), line=row.line, text=many)])
    if not readings:
        raise InputError(problems or [_no_reading(str(path))])
    in_order = sorted(problems, key=lambda problem: (problem.line or 0, problem.field or 0))
    return Trial(readings=_by_finest_digit(readings), set_aside=tuple(in_order))


def _by_finest_digit(readings: list[tuple[str, TrialReading]]) -> tuple[TrialReading, ...]:
    """The readings, each as fine as the finest of its unit: a spreadsheet drops a last zero."""
    finest: dict[str, float] = {}
    for unit, one in readings:
        finest[unit] = min(finest.get(unit, one.step_A), one.step_A)
    return tuple(replace(one, step_A=finest[unit]) for unit, one in readings)


def _no_reading(file: str) -> Problem:
    return Problem(
        file=file,
        text="has no reading",
        expected="columns load,idle,on,off,voltage and amperes below them, for example "
        "vhf radio,0.56 A,5.4 A,0.31 A,12.62 V",
    )


def _readings(row: CsvRow) -> tuple[list[tuple[str, TrialReading]], list[Problem]]:
    """A row's readings in order, each with its unit as typed, and what is wrong with the row."""
    faults: list[Problem] = []
    shared: dict[str, Any] = {}
    for name, unit, least, most in (
        ("voltage", "V", _LEAST_V, _MOST_V),
        ("counted_over", "h", 0.0, _LONGEST_h),
    ):
        text = row.cells.get(name, "")
        if text and text not in _EMPTY:
            try:
                bare = row.units.get(name) or ("V" if name == "voltage" else None)
                shared[name] = _within(row.plain(name), unit, least, most, bare=bare)
            except ReadingError as error:
                faults.append(_fault(row, name, error))
    loads, everything = _named(row.cells["load"])
    found = []
    for state in _IN_ORDER:
        if row.cells.get(state, "") in ("", *_EMPTY):
            continue
        try:
            text = row.plain(state)
            if state != "off" and not loads:
                raise ReadingError("there is no one load in this row that could be on")
            over_h = shared.get("counted_over")
            bare = row.units.get(state) or ("Ah" if over_h else "A")
            shown = _shown(text, bare, over_h=over_h)
        except ReadingError as error:
            faults.append(_fault(row, state, error))
            continue
        reading = TrialReading(
            file=row.file,
            line=row.line,
            row=row.raw,
            column=state,
            places={name: (number, letter(number)) for name, number in row.fields.items()},
            loads=loads,
            everything=everything,
            voltage_V=shared.get("voltage"),
            **shown,
        )
        found.append((f"{split(text)[1] or bare}", reading))
    return found, faults


def _named(text: str) -> tuple[tuple[str, ...], bool]:
    """The loads of a cell, and whether it means all of them."""
    whole = _EXPECTED.sub("", " ".join(text.split()))
    if whole.casefold().strip("()") in _NOTHING:
        return (), False
    if whole.casefold() in _EVERYTHING:
        return (), True
    return tuple(
        name for name in (" ".join(one.split()) for one in whole.split(";")) if name
    ), False


def _shown(text: str, bare: str, *, over_h: float | None) -> dict[str, Any]:
    """What the meter showed, from amperes at a glance or ampere-hours over a time."""
    number, unit = measure(text, ("A", "Ah"), bare=bare)
    step = _last_digit(text, unit, bare)
    if unit == "Ah":
        if not over_h:
            raise ReadingError(f"{quoted(text)} is a count, and counted_over does not say how long")
        number, step = number / over_h, step / over_h
    if abs(number) > _MOST_A:
        raise ReadingError(f"{quoted(text)} comes to more than {_MOST_A:g} A")
    return {"shown_A": number, "step_A": step, "counted": unit == "Ah"}


def _last_digit(text: str, unit: str, bare: str) -> float:
    """What one more in the last digit that was written would be, in A or Ah.

    Examples
    --------
    >>> _last_digit("0.31 A", "A", "A"), _last_digit("310 mA", "A", "A")
    (0.01, 0.001)
    """
    spelling = split(text)[1] or bare
    found = _DECIMALS.match(text.strip().replace("\N{MINUS SIGN}", "-"))
    decimals = min(len(found.group(1)), 6) if found else 0
    return to_float(f"1 {spelling}", unit) * 10.0**-decimals


def _within(text: str, unit: str, least: float, most: float, *, bare: str | None) -> float:
    number = to_float(text, unit, bare=bare)
    if not least <= number <= most:
        raise ReadingError(f"{quoted(text)} is not between {least:g} {unit} and {most:g} {unit}")
    return number


def _fault(row: CsvRow, name: str, error: ReadingError) -> Problem:
    column = next(one for one in TRIAL_COLUMNS if one.name == name)
    return problem_at(row, name, error.reason, column.expected)
