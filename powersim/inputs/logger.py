"""logger.csv: volts and amperes at many moments, under whatever headings a logger writes.

What is taken for what is told; what is unclear is asked. A logger is cut off in the middle of a
line: rows that cannot be read are set aside and counted.
"""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING

from powersim.errors import InputError, Problem, refused
from powersim.inputs.logger_headings import (
    LoggerColumn,
    LoggerHeading,
    logger_heading,
    looks_like_heading,
)
from powersim.inputs.logger_times import times_of
from powersim.inputs.table import delimiter_of
from powersim.inputs.text import (
    ordinary_size,
    printable,
    quoted,
    refused_if_unreadable,
)
from powersim.inputs.units import find
from powersim.records import LoggerSeries

if TYPE_CHECKING:
    from powersim.records.arrays import Array

LOGGER_FILE = "logger.csv"
#: Two months of every ten seconds with a dozen columns come to half of these.
LARGEST_LOGGER_BYTES, MOST_LOGGER_ROWS = 100_000_000, 1_000_000
#: The heading is looked for in so many lines; a logger may write of itself above it.
_MOST_ABOVE = 40
_MOST_SHOWN = 5
_LEAST_ROWS = 10
#: No passage is so long; a clock that was not set yet shows another year. [s]
_FARTHEST_s = 400.0 * 86_400.0
_MISSING = ("", "-", "--", "---", "nan", "null", "none", "n/a", "na")
_UNITED = re.compile(r"([+-]?[\d.,]+(?:[eE][+-]?\d+)?)\s*[^\W\d_%]{0,4}%?")
#: What no bank, shunt or panel shows. [V], [A], [W]
_MOST = {"voltage": (0.0, 100.0), "current": (-2_000.0, 2_000.0), "soc": (0.0, 1.0)}
_MOST["solar"] = (-5.0, 20_000.0)


def read_logger(
    path: str | PathLike[str],
    *,
    named: Mapping[str, str] | None = None,
    within: tuple[datetime, datetime] | None = None,
) -> LoggerSeries:
    """A logger's time series.

    Parameters
    ----------
    path : str or Path
        A table separated by commas, semicolons or tabs, with a heading in its first lines; numbers
        may have decimal commas where the separator is another sign.
    named : mapping of str to str or None
        Role, one of `logger_headings.ROLES`, to heading, where the sailor says which.
    within : tuple of datetime or None
        Departure, and the latest that a row may be, to tell day from month.

    Raises
    ------
    InputError
        If it cannot be read, or cannot be understood without asking.
    """
    file = str(path)
    text, told = _text(Path(path), file)
    lines = text.splitlines()
    if len(lines) > MOST_LOGGER_ROWS:
        most = f"at most {MOST_LOGGER_ROWS:,}; part it, or log less often"
        raise refused(file, f"has {len(lines):,} lines", most)
    sign, heading, first = _heading(file, lines, named or {})
    if heading.problems:
        raise InputError(heading.problems)
    body = _body(lines, first, sign, [column.at for column in heading.columns.values()])
    return _series(file, heading, body, told, within)


def _text(path: Path, file: str) -> tuple[str, tuple[str, ...]]:
    """What a file holds, in whichever of the usual encodings."""
    with refused_if_unreadable(file):
        size_bytes = ordinary_size(path, file)
        if size_bytes > LARGEST_LOGGER_BYTES:
            most = f"at most {LARGEST_LOGGER_BYTES / 1e6:.0f} MB; part it, or log less often"
            raise refused(file, f"holds {size_bytes / 1e6:.0f} MB", most)
        raw = path.read_bytes()
    if raw.startswith(b"PK\x03\x04"):
        raise refused(file, "is a spreadsheet or an archive, not text", "a table saved as CSV")
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return raw.decode("utf-16", errors="replace"), ("written in UTF-16",)
    text = raw.decode("utf-8-sig", errors="replace").replace("\0", "\N{REPLACEMENT CHARACTER}")
    if not text.strip():
        raise refused(file, "is empty", "a heading and rows below it")
    return text, ()


def _heading(
    file: str, lines: Sequence[str], named: Mapping[str, str]
) -> tuple[str, LoggerHeading, int]:
    """The separator, the heading, and the place of the line below it."""
    head = lines[:_MOST_ABOVE]
    stated = re.match(r"\s*sep=(.)\s*$", head[0], re.IGNORECASE)
    sign = stated[1] if stated else delimiter_of(max(head, key=_marks))
    says = [(at, line) for at, line in enumerate(head) if line.strip() and line[0] != "#"]
    if not says:
        raise refused(file, "has no heading", "a heading and rows below it")
    cut = [(at, [cell.strip() for cell in _cut(line, sign) or []]) for at, line in says]
    titles = {_plain(title) for title in named.values()}
    found = next((one for one in cut if titles & set(map(_plain, one[1]))), None)
    found = found or next((one for one in cut if looks_like_heading(one[1])), None)
    at, cells = found or cut[1 if stated and len(cut) > 1 else 0]
    return sign, logger_heading(file, cells, line=at + 1, named=named), at + 1


def _marks(line: str) -> int:
    return max(map(line.count, ",;\t"))


def _plain(title: str) -> str:
    return " ".join(title.split()).casefold()


def _cut(line: str, sign: str) -> list[str] | None:
    """The cells of a line; None where a quotation mark is not closed."""
    if '"' not in line:
        return line.split(sign)
    try:
        return next(csv.reader([line], delimiter=sign, strict=True))
    except (csv.Error, StopIteration):
        return None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Body:
    """The rows below the heading: their lines, cells by the place of their column, what is torn."""

    lines: list[int]
    cells: dict[int, list[str]]
    torn: dict[int, str]


def _body(lines: Sequence[str], first: int, sign: str, places: Sequence[int]) -> _Body:
    """The cells that are used; all others of half a million rows are let go at once."""
    kept: list[int] = []
    cells: dict[int, list[str]] = {place: [] for place in places}
    into = [(place, cells[place].append) for place in places]
    torn: dict[int, str] = {}
    last = max(places)
    for at in range(first, len(lines)):
        line = lines[at]
        if not line or line[0] == "#" or line.isspace():
            continue
        found = line.split(sign) if '"' not in line else _cut(line, sign)
        if found is None:
            torn[at + 1] = "a quotation mark is not closed"
        elif len(found) <= last:
            torn[at + 1] = "the row is cut short"
        else:
            kept.append(at + 1)
            for place, append in into:
                append(found[place])
    return _Body(lines=kept, cells=cells, torn=torn)


def _series(
    file: str,
    heading: LoggerHeading,
    body: _Body,
    told: tuple[str, ...],
    within: tuple[datetime, datetime] | None,
) -> LoggerSeries:
    import numpy as np

    columns, broken = heading.columns, dict(body.torn)
    if len(body.lines) < _LEAST_ROWS:
        raise InputError([*_shown(file, broken), _too_few(file, len(body.lines))])
    stamps = body.cells[columns["time"].at]
    if "clock" in columns:
        clocks = body.cells[columns["clock"].at]
        stamps = [
            f"{day.strip()} {clock.strip()}" for day, clock in zip(stamps, clocks, strict=True)
        ]
    times = times_of(
        stamps, file=file, lines=body.lines, heading=columns["time"].title, within=within
    )
    if times.problem is not None:
        raise InputError([times.problem])
    values = {
        role: _numbers(body.cells[column.at], column, role)
        for role, column in columns.items()
        if role not in ("time", "clock")
    }
    utc_s = np.array(times.utc_s)
    sound = np.isfinite(utc_s)
    for place in np.flatnonzero(~sound).tolist():
        broken[body.lines[place]] = f"cannot read {quoted(stamps[place])} as a time"
    if sound.any():
        far = np.abs(utc_s - np.median(utc_s[sound])) > _FARTHEST_s
        for place in np.flatnonzero(far).tolist():
            broken[body.lines[place]] = f"{quoted(stamps[place])} is far from all other rows"
        sound &= ~far
    for role, found in values.items():
        least, most = _MOST[role]
        beyond = (found < least) | (found > most)
        for place in np.flatnonzero(beyond).tolist():
            cell = quoted(body.cells[columns[role].at][place].strip())
            broken.setdefault(body.lines[place], f"{cell} is not what {columns[role].title} can be")
        sound &= ~beyond
    order = np.flatnonzero(sound)[np.argsort(utc_s[sound], kind="stable")]
    new = np.append([True], np.diff(utc_s[order]) > 0.0)[: len(order)]
    taken = [*told, *heading.taken, *times.told]
    if not new.all():
        taken.append(f"{int((~new).sum()):,} rows of a time that is there already are left out")
    order = order[new]
    if len(order) < _LEAST_ROWS:
        raise InputError([*_shown(file, broken), _too_few(file, len(order))])
    kept = {role: found[order] for role, found in values.items()}
    return LoggerSeries(
        file=file,
        times_s=utc_s[order],
        lines=np.array(body.lines)[order],
        volts_V=kept.get("voltage"),
        amps_A=kept.get("current"),
        solar_A=_solar_A(columns.get("solar"), kept, taken),
        soc=kept.get("soc"),
        taken=tuple(taken),
        broken=len(broken),
        set_aside=tuple(_shown(file, broken)),
        in_utc=heading.in_utc or times.in_utc,
    )


def _too_few(file: str, count: int) -> Problem:
    text = f"has {count} rows that can be read"
    return Problem(file=file, text=text, expected=f"{_LEAST_ROWS} or more below a heading")


def _solar_A(column: LoggerColumn | None, kept, taken: list[str]):
    """Amperes of the panels, from watts by the volts of the bank. [A]"""
    if column is None or _of(column) == "A":
        return kept.get("solar")
    if "voltage" not in kept:
        taken.append(f"{column.title} is in watts, and not used without volts")
        return None
    return kept["solar"] / kept["voltage"].clip(min=6.0)


def _of(column: LoggerColumn) -> str:
    unit, ampere = find(column.unit), find("A")
    assert ampere is not None
    return "A" if unit is not None and unit.dimension == ampere.dimension else "W"


def _numbers(cells: Sequence[str], column: LoggerColumn, role: str) -> Array:
    """In SI units; nan where nothing stands, infinity where it cannot be read."""
    import numpy as np

    try:
        found = np.array(cells, dtype=float)
    except ValueError:
        found = np.array([_typed(cell.strip()) for cell in cells])
    finite = found[np.isfinite(found)]
    if role == "soc" and finite.size and finite.max() <= 1.0:
        return found  # a share, not per cent
    unit = find(column.unit)
    return found if unit is None else found * unit.factor


def _typed(cell: str) -> float:
    """A number with a decimal comma or its unit; nan for nothing, infinity for anything else."""
    if cell.casefold() in _MISSING:
        return math.nan
    found = _UNITED.fullmatch(cell)
    if found is None:
        return math.inf
    digits = found[1]
    if digits.count(",") == 1 and "." not in digits:
        digits = digits.replace(",", ".")
    try:
        return float(digits)
    except ValueError:
        return math.inf


def _shown(file: str, broken: Mapping[int, str]) -> list[Problem]:
    first = sorted(broken.items())[:_MOST_SHOWN]
    return [
        Problem(file=file, line=line, text=printable(text, longest=200)) for line, text in first
    ]
