"""Values set in place of what the files say: `battery.capacity`, `loads.vhf radio.draw`.

They are put where the reader would have found them, so that they are read, bounded and refused as
if they stood there; a message about one names the place as it was typed, and no line of a file.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from powersim.errors import Problem
from powersim.inputs.table import SET, CsvTable
from powersim.inputs.text import ReadingError, did_you_mean, quoted
from powersim.inputs.toml_keys import shown
from powersim.inputs.toml_lines import Path

#: What a file can say of one thing; a datetime is a date.
Value = str | int | float | bool | date
LOADS = "loads"
PLACE_EXPECTED = (
    "a key of boat.toml or a column of a load, for example battery.capacity, panel.arch.power or "
    "loads.vhf radio.draw"
)
#: Tables of which a file may have several, each told by its name or its number.
_SEVERAL = {("panel",), ("controller",), ("charger",), ("supply",), ("fuel", "tank", "part")}
#: A part of a place: in quotes where its name holds a dot.
_PART = re.compile(r"""\s*(?:"([^"]*)"|'([^']*)'|([^."']+?))\s*(?:\.|$)""")


def parts_of(place: str) -> tuple[str, ...]:
    """The parts of a place, from the outside in.

    Parameters
    ----------
    place : str
        As typed.

    Raises
    ------
    ReadingError
        If it is no place.

    Examples
    --------
    >>> parts_of('loads."no. 2 pilot".draw')
    ('loads', 'no. 2 pilot', 'draw')
    """
    found, at = [], 0
    while at < len(place):
        match = _PART.match(place, at)
        if match is None:
            break
        found.append(next(part for part in match.groups() if part is not None))
        at = match.end()
    if at < len(place) or len(found) < 2 or not all(found) or place.endswith("."):
        raise ReadingError("names nothing in the files")
    return tuple(found)


def set_in_document(
    document: dict[str, Any], values: Mapping[str, Value], *, tables: Iterable[str]
) -> tuple[dict[Path, str], list[Problem]]:
    """Put values into what boat.toml holds.

    Parameters
    ----------
    values : mapping of str to Value
        By place as typed; those of loads are passed over.

    Returns
    -------
    places : dict of tuple to str
        The place as typed, by the path at which its value now stands.
    """
    places: dict[Path, str] = {}
    problems = []
    known = (*tables, LOADS)
    for place, value in values.items():
        try:
            first, *rest = parts = parts_of(place)
            if first == LOADS:
                continue
            if first not in known:
                raise ReadingError(f"unknown table{did_you_mean(first, known)}")
            _refuse_what_no_file_says(value)
            table, path = _table_of(document, (), parts)
            table[rest[-1]] = value
            places[path] = place
        except ReadingError as error:
            problems.append(_problem(place, error.reason))
    return places, problems


def _table_of(node: Any, path: Path, parts: tuple[str, ...]) -> tuple[dict[str, Any], Path]:
    """The table that holds the last of the parts, and the path of that."""
    if isinstance(node, list):
        number, parts = _which(node, path, parts)
        return _table_of(node[number], (*path, number), parts)
    if not isinstance(node, dict):
        raise ReadingError(f"{shown(node)} is not a table")
    head, *rest = parts
    if not rest:
        return node, (*path, head)
    names = tuple(part for part in (*path, head) if isinstance(part, str))
    if head not in node:
        if names in _SEVERAL:
            raise ReadingError(f"there is no [[{'.'.join(names)}]]")
        node[head] = {}
    return _table_of(node[head], (*path, head), tuple(rest))


def _which(tables: list[Any], path: Path, parts: tuple[str, ...]) -> tuple[int, tuple[str, ...]]:
    """Which of several tables is meant, and what of the place is left."""
    kind = str(path[-1])
    names = [
        str(one.get("name", f"{kind} {number}")) if isinstance(one, dict) else ""
        for number, one in enumerate(tables, 1)
    ]
    said, *rest = parts
    for number, name in enumerate(names):
        if rest and said.casefold() in (" ".join(name.split()).casefold(), str(number + 1)):
            return number, tuple(rest)
    if len(tables) == 1 and not rest:
        return 0, parts
    if not rest:
        raise ReadingError(f"which {kind}: {', '.join(names)}?")
    raise ReadingError(f"no {kind} {quoted(said)}{did_you_mean(said, names)}")


def set_in_loads(table: CsvTable, values: Mapping[str, Value], *, known: Iterable[str]) -> CsvTable:
    """Put values into what loads.csv holds.

    Parameters
    ----------
    values : mapping of str to Value
        By place as typed; those of boat.toml are passed over.

    Returns
    -------
    CsvTable
        With a problem for each place that there is not.
    """
    known = tuple(known)
    rows, problems, columns = list(table.rows), list(table.problems), dict(table.columns)
    names = [" ".join(row.cells.get("load", "").split()).casefold() for row in rows]
    for place, value in values.items():
        try:
            first, *rest = parts_of(place)
        except ReadingError:
            continue  # told with boat.toml
        if first != LOADS:
            continue
        try:
            if len(rest) != 2:
                raise ReadingError("needs a load and one of its columns")
            load, column = rest
            if load.casefold() not in names:
                raise ReadingError(f"no load {quoted(load)}{did_you_mean(load, names)}")
            if column not in known:
                raise ReadingError(f"unknown column{did_you_mean(column, known)}")
            _refuse_what_no_file_says(value)
            number = names.index(load.casefold())
        except ReadingError as error:
            problems.append(_problem(place, error.reason))
            continue
        if column not in columns:
            columns[column] = 0
            rows = [replace(row, cells=row.cells | {column: ""}) for row in rows]
        row = rows[number]
        rows[number] = replace(
            row,
            cells=row.cells | {column: str(value).strip()},
            set_cells=row.set_cells | {column: place},
        )
    return replace(table, rows=tuple(rows), problems=tuple(problems), columns=columns)


def _refuse_what_no_file_says(value: object) -> None:
    if not isinstance(value, Value):
        raise ReadingError(f"{shown(value)} is not what a file says of one thing")


def _problem(place: str, reason: str) -> Problem:
    return Problem(file=SET, text=f"{place or quoted(place)}: {reason}", expected=PLACE_EXPECTED)
