"""An engine plan: charging runs one by one, as `plan` writes them and the sailor changes them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import timedelta
from itertools import pairwise, takewhile
from os import PathLike
from pathlib import Path

from powersim.errors import InputError
from powersim.inputs.boat_passage import DEPART_EXPECTED, parse_depart
from powersim.inputs.headings import CsvColumn
from powersim.inputs.table import CsvRow, collect_table, problem_at
from powersim.inputs.text import ReadingError, quoted, read_text
from powersim.inputs.units import to_float
from powersim.records import PlannedRun, SetValue
from powersim.records.set_value import WHAT_IF
from powersim.records.timetable import NO_RULE

COLUMNS = (
    CsvColumn(
        name="start_utc",
        meaning="when the engine is started, UTC unless it has an offset",
        example="2026-09-07 08:45",
        required=True,
    ),
    CsvColumn(
        name="run",
        meaning="how long it charges",
        example="75 min",
        required=True,
        units=("min",),
    ),
    # What `plan` adds for the reader; nothing of it is read back.
    *(
        CsvColumn(name=name, meaning="for the reader", example="")
        for name in ("ship_time", "place", "fuel_L", "soc_before", "soc_after")
    ),
)


def read_engine_plan(path: str | PathLike[str]) -> tuple[PlannedRun, ...]:
    """The charging runs of a file, in order of time.

    Parameters
    ----------
    path : str or Path
        A table with the columns `start_utc` and `run`, or `run_min`; rows in any order.

    Raises
    ------
    InputError
        With everything that is wrong with it, overlapping runs included.
    """
    table = collect_table(path, COLUMNS)
    problems = list(table.problems)
    read = [(row, _run(row, problems)) for row in table.rows if {*row.fields} >= {"start_utc"}]
    runs = sorted(
        ((run, row) for row, run in read if run is not None), key=lambda one: one[0].start_utc_s
    )
    for (earlier, its_row), (later, row) in pairwise(runs):
        if later.start_utc_s < earlier.end_utc_s:
            problems.append(_overlap(row, earlier, its_row))
    if problems:
        raise InputError(sorted(problems, key=lambda problem: problem.line or 0))
    return tuple(run for run, _ in runs)


def plan_warnings(path: object, changed: Iterable[SetValue]) -> tuple[str, ...]:
    """That a plan was made for changed files, and not for these; empty where it was not.

    Parameters
    ----------
    path : str, Path or other
        A file that has been read; of what is none nothing is known.
    changed : iterable of SetValue
        What is changed in the files that it is to be run on.
    """
    if not isinstance(path, str | PathLike):
        return ()
    notes = [line.lstrip("# ").rstrip(" ,") for line in _notes(read_text(path, is_table=True))]
    if WHAT_IF not in notes:
        return ()
    made_for = notes[notes.index(WHAT_IF) + 1 :]
    made_for = [one for one in made_for if not one.startswith(NO_RULE)]
    if set(made_for) == {one.told for one in changed}:
        return ()
    name, what = Path(path).name, "; ".join(made_for)
    return (
        f"{name} was planned for another boat ({what}); run it with these changes, or plan anew.",
    )


def _notes(text: str) -> Iterator[str]:
    """The lines above the heading."""
    return takewhile(lambda line: line.startswith("#"), text.lstrip("\ufeff").splitlines())


def _run(row: CsvRow, problems: list) -> PlannedRun | None:
    start, run_h = _start(row, problems), _run_h(row, problems)
    if start is None or run_h is None:
        return None
    return PlannedRun(start_utc_s=start.timestamp(), run_h=run_h)


def _start(row: CsvRow, problems: list):
    text = row.cells["start_utc"]
    try:
        moment, time_given = parse_depart(text)
        if time_given:
            return moment
        reason = f"{quoted(text)} has no time of the day"
    except ReadingError as error:
        reason = error.reason
    problems.append(problem_at(row, "start_utc", reason, DEPART_EXPECTED))
    return None


def _run_h(row: CsvRow, problems: list) -> float | None:
    if "run" not in row.fields:
        return None  # reported with the heading
    text = row.cells["run"]
    try:
        run_h = to_float(row.plain("run"), "h", bare=row.units.get("run"))
        if 0 < run_h <= 24:
            return run_h
        reason = f"{quoted(text)} is not above 0 and up to 24 h"
    except ReadingError as error:
        reason = error.reason
    problems.append(problem_at(row, "run", reason, "how long it charges, for example 75 min"))
    return None


def _overlap(row: CsvRow, earlier: PlannedRun, its_row: CsvRow):
    start = row.cells["start_utc"]
    end = parse_depart(its_row.cells["start_utc"])[0] + timedelta(hours=earlier.run_h)
    return problem_at(
        row,
        "start_utc",
        f"{quoted(start)} begins before the run of line {its_row.line} ends",
        f"{end:%Y-%m-%d %H:%M} UTC or later, or a shorter run there",
    )
