"""Measured or hindcast light from a CSV file, to a record."""

from __future__ import annotations

import csv
import math
import re
from array import array
from collections import Counter
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from os import PathLike

from powersim.errors import InputError, Problem, refused
from powersim.inputs import units
from powersim.inputs.irradiance_formats import format_of, read_published
from powersim.inputs.irradiance_headings import ENERGIES, POWERS, STAMPS, read_heading
from powersim.inputs.irradiance_limits import (
    RANGES,
    YEARS,
    FIRST_UTC_s,
    LAST_UTC_s,
    MOST_LIGHT_W_m2,
    NIGHT_NOISE_W_m2,
)
from powersim.inputs.table import CsvRow, problem_at
from powersim.inputs.text import ReadingError, printable, quoted, read_text
from powersim.records.irradiance import LONGEST_STEP_S, Irradiance

MOST_PROBLEMS = 100
_LONGEST_ROW = 200
_TIME_EXPECTED = "date and time, UTC unless it has an offset, for example 2026-09-05 12:00"
_VALUE_EXPECTED = (
    "a number in the heading's unit, for example {}; an empty cell where it is missing"
)
#: Heading of air or wind -> the unit as units.py spells it.
_SPELLED = {
    "air_C": "degC",
    "air_degF": "degF",
    "air_K": "K",
    "wind_m_s": "m/s",
    "wind_kn": "kn",
    "wind_km_h": "km/h",
}


def read_irradiance(path: str | PathLike[str]) -> Irradiance:
    """Light measured along the way, or a hindcast of it.

    Parameters
    ----------
    path : str or Path
        A CSV file with a heading: `time` (start of the interval; or `time_end`, `time_mid`),
        `ghi_W_m2` and perhaps others; or a file in one of the published formats that
        inputs/irradiance_formats.py knows. See docs/model/measured_light.md.

    Raises
    ------
    InputError
        With everything that is wrong with the file, at most MOST_PROBLEMS.
    """
    file, text = str(path), read_text(path)
    form = format_of(text)
    if form is not None:
        return read_published(form, path, text)
    (line, titles), *body = _cells(file, text)
    heading = read_heading(file, titles, line=line)
    if heading.problems:
        raise InputError(heading.problems)
    stamp = heading.stamp
    assert stamp is not None, "a heading without a time is a problem"
    problems: list[Problem] = []
    rows = [_row(heading, number, cells) for number, cells in body]
    times = [_time(row, stamp, problems) for row in rows]
    step_s = _step_s(rows, times, stamp, problems, heading)
    series = {
        quantity: array("d", [_value(row, title, quantity, step_s, problems) for row in rows])
        for quantity, title in heading.title_of.items()
    }
    if problems:
        problems.sort(key=lambda problem: problem.line or 0)
        raise InputError(_not_too_many(file, problems))
    shift_s = STAMPS[stamp] * step_s
    return Irradiance(
        file=file,
        start_utc_s=array("d", [time_s + shift_s for time_s in times]),
        step_s=step_s,
        ghi_W_m2=series["ghi_W_m2"],
        dni_W_m2=series.get("dni_W_m2"),
        dhi_W_m2=series.get("dhi_W_m2"),
        air_C=series.get("air_C"),
        wind_m_s=series.get("wind_m_s"),
    )


def _cells(file, text):
    """Line number and cells of every line that says something; the heading first."""
    lines = [
        (number, line)
        for number, line in enumerate(text.splitlines(), start=1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    delimiter = max(",;\t", key=lines[0][1].count)
    cut = []
    for number, line in lines:
        try:
            cells = next(csv.reader([line], delimiter=delimiter, strict=True))
        except csv.Error:
            reason = "a quotation mark is not closed, or a cell runs on for pages"
            row = printable(line, longest=_LONGEST_ROW)
            raise InputError([Problem(file=file, line=number, text=reason, row=row)]) from None
        cells = [cell.strip() for cell in cells]
        if any(cells):
            cut.append((number, cells))
    if len(cut) < 3:
        text, expected = "has fewer than two rows", "a heading and two rows or more"
        raise refused(file, text, expected)
    return cut


def _row(heading, number, cells):
    cells_of = {name: (cells[at - 1 : at] or [""])[0] for name, at in heading.fields.items()}
    raw = printable(",".join(cells), longest=_LONGEST_ROW)
    return CsvRow(
        file=heading.file,
        line=number,
        raw=raw,
        cells=cells_of,
        fields=heading.fields,
        units={},
    )


def _time(row, stamp, problems):
    """Unix time of a row's stamp; nan, with a problem, where it cannot be read."""
    text = row.cells[stamp]
    plain = re.sub(r"\s*(?:utc|gmt|z)$", "+00:00", text, flags=re.IGNORECASE)
    try:
        if not re.match(r"\d{4}-\d\d-\d\d", plain):
            raise ValueError
        moment = datetime.fromisoformat(plain)
        aware = moment if moment.tzinfo else moment.replace(tzinfo=UTC)
        utc_s = (aware - datetime(1970, 1, 1, tzinfo=UTC)) / timedelta(seconds=1)
        if FIRST_UTC_s <= utc_s <= LAST_UTC_s:
            return utc_s
        reason = f"{quoted(text)} lies outside the years {YEARS}"
    except (ValueError, OverflowError):
        reason = f"cannot read {quoted(text)} as a time"
    problems.append(problem_at(row, stamp, reason, _TIME_EXPECTED))
    return math.nan


def _step_s(rows, times, stamp, problems, heading):
    """The usual distance of two stamps; whatever does not fit it is a problem."""
    forward_s = [later - earlier for earlier, later in pairwise(times) if later > earlier]
    if not forward_s:
        text = "the times do not rise, so there is no step"
        problems.append(Problem(file=heading.file, text=text, expected=_TIME_EXPECTED))
        return math.nan
    step_s = Counter(forward_s).most_common(1)[0][0]
    if step_s > LONGEST_STEP_S:
        text = f"its step of {step_s / 86400.0:.3g} days is longer than a day"
        problems.append(Problem(file=heading.file, text=text, expected="a step of up to a day"))
        return math.nan
    for row, (earlier, later) in zip(rows[1:], pairwise(times), strict=True):
        reason = _misfit(later - earlier, step_s)
        if reason is not None:
            expected = f"times {step_s / 60.0:g} min apart; whole rows may be missing"
            problems.append(
                problem_at(row, stamp, f"{quoted(row.cells[stamp])} {reason}", expected)
            )
    return step_s


def _misfit(gap_s, step_s):
    """What is wrong with the time from one stamp to the next, or None."""
    if math.isnan(gap_s):
        return None  # reported already
    if gap_s == 0:
        return "is there twice"
    if gap_s < 0:
        return "is earlier than the row before"
    steps = gap_s / step_s
    if round(steps) < 1 or abs(steps - round(steps)) > 0.01:
        return f"comes {gap_s / 60.0:g} min after the row before"
    return None


def _value(row, title, quantity, step_s, problems):
    """One cell in the record's unit; nan where it is empty or wrong."""
    text = row.cells[title]
    if not text:
        return math.nan
    try:
        if quantity in RANGES:
            value = units.to_float(text, _SPELLED[quantity], bare=_SPELLED[title])
            lowest, highest = RANGES[quantity]
            if not lowest <= value <= highest:
                raise ReadingError(f"{quoted(text)} is not possible weather")
            return value
        return _light_W_m2(text, title.partition("_")[2], step_s)
    except ReadingError as error:
        expected = _VALUE_EXPECTED.format("18.5" if quantity in RANGES else "350")
        problems.append(problem_at(row, title, error.reason, expected))
        return math.nan


def _light_W_m2(text, unit, step_s):
    number, written = units.split(text)
    if written is not None:
        raise ReadingError(f"cannot read {quoted(text)} as a number")
    value = number * POWERS[unit] if unit in POWERS else number * ENERGIES[unit] / step_s
    if value < -NIGHT_NOISE_W_m2:
        raise ReadingError(f"{quoted(text)} is further below 0 than noise at night")
    if value > MOST_LIGHT_W_m2:
        shown = f"{value:,.0f}" if value < 1e6 else f"{value:.3g}"
        raise ReadingError(
            f"{quoted(text)} is {shown} W/m2, brighter than the sun; is the heading's unit, "
            f"{unit}, right?"
        )
    return max(value, 0.0)


def _not_too_many(file, problems):
    if len(problems) <= MOST_PROBLEMS:
        return problems
    more = Problem(file=file, text=f"and {len(problems) - MOST_PROBLEMS} more of the kind")
    return [*problems[:MOST_PROBLEMS], more]
