"""Values set in loads.csv in place of what it says: `loads.vhf radio.draw`, or a whole load.

They are put into the cells that the reader reads, as `set_values` does with boat.toml.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from powersim.inputs.load_columns import LOAD_COLUMNS
from powersim.inputs.places import (
    LOADS,
    Given,
    as_a_file_says,
    named_by,
    parts_of,
    place_problem,
    plain_name,
    said,
    same,
    told,
)
from powersim.inputs.table import SET, CsvRow, CsvTable
from powersim.inputs.text import ReadingError, did_you_mean, quoted
from powersim.inputs.toml_keys import shown
from powersim.records import SetValue

_NAME, _COUNT, _NOTE = "load", "count", "note"
_OFF = "0"
_DEFAULTS = {each.column.name: each.default for each in LOAD_COLUMNS}


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedTable:
    """What loads.csv would hold with some values set.

    Attributes
    ----------
    table : CsvTable
        Its rows first, as many as it has, and then new ones; with a problem for each place that
        there is not.
    changed : tuple of SetValue
        What differs from the file.
    """

    table: CsvTable
    changed: tuple[SetValue, ...]


def set_in_loads(
    table: CsvTable, values: Mapping[str, Given], *, known: Iterable[str]
) -> AskedTable:
    """What loads.csv would hold with some values set.

    Parameters
    ----------
    table : CsvTable
        As it was read.
    values : mapping of str to value
        By place as typed, one after the other; those of boat.toml are passed over. None in place
        of a load leaves it off: it stays, and its count is 0.
    known : iterable of str
        The columns that there may be.
    """
    work = _Work(table, tuple(known))
    problems = list(table.problems)
    for place, value in values.items():
        try:
            first, *rest = parts_of(place)
        except ReadingError:
            continue  # told with boat.toml
        if first.casefold() != LOADS:
            continue
        try:
            work.set(place, tuple(rest), as_a_file_says(value))
        except ReadingError as error:
            problems.append(place_problem(place, error.reason, value))
    columns = work.columns()
    table = replace(table, rows=tuple(work.rows), problems=tuple(problems), columns=columns)
    return AskedTable(table=table, changed=tuple(work.changed()))


class _Work:
    """The rows in work. A load is named as the file names it, and by a new name too."""

    def __init__(self, table: CsvTable, known: tuple[str, ...]):
        self.table, self.known = table, known
        self.rows = list(table.rows)
        self.labels = [{plain_name(_name_of(row))} for row in self.rows]
        self.touched: dict[tuple[int, str], str] = {}
        self.places: dict[int, str] = {}

    def set(self, place: str, parts: tuple[str, ...], value: Any) -> None:
        """Set one cell or all of a load, leave one off, or add one."""
        if not parts:
            raise ReadingError("needs a load and one of its columns")
        matches = [one for one in named_by(parts, self.labels) if len(one[1]) < 2]
        if len(matches) > 1:
            raise ReadingError(f"{len(matches)} loads may be meant: give each a name of its own")
        if matches:
            number, rest = matches[0]
            self._set_known(place, number, rest, value)
        elif isinstance(value, dict) and len(parts) == 1:
            self._add(place, parts[0], value)
        else:
            raise ReadingError(self._unknown(parts))

    def _unknown(self, parts: tuple[str, ...]) -> str:
        names = [_name_of(row) for row in self.rows]
        load = ".".join(parts[:-1]) or parts[0]
        if len(parts) > 2:
            return f"no load {quoted(load)}; a name with a dot in it goes in quotation marks"
        return f"no load {quoted(load)}{did_you_mean(load, names)}"

    def _set_known(self, place: str, number: int, rest: tuple[str, ...], value: Any) -> None:
        if rest:
            self._set_cell(place, number, self._column(rest[0]), value)
        elif value is None:
            self._set_cell(place, number, _COUNT, _OFF)
        elif isinstance(value, dict):
            self._set_whole(place, number, value)
        else:
            raise ReadingError(f"is a whole load: name a column too, such as {place}.draw")

    def _column(self, name: str) -> str:
        if name not in self.known:
            raise ReadingError(f"unknown column{did_you_mean(name, self.known)}")
        return name

    def _set_cell(self, place: str, number: int, column: str, value: Any) -> None:
        text = _text_of(value)
        if column == _NAME and text.startswith("#"):
            raise ReadingError(f"{quoted(text)} begins with #, which makes a note of its line")
        row = self.rows[number]
        old = row.cells.get(column, "")
        self.touched[number, column] = place
        self.rows[number] = replace(
            row,
            cells=row.cells | {column: old if same(old, text) else text},
            set_cells=row.set_cells | {column: place},
        )
        if column == _NAME:
            self.labels[number].add(plain_name(text))

    def _set_whole(self, place: str, number: int, value: Mapping[str, Any]) -> None:
        """All of a load in the place of what it was; what somebody noted of it stays."""
        given = {self._column(name): one for name, one in value.items()}
        kept = {_NAME, _NOTE} - given.keys()
        for column in self.known:
            if column in given or (column in self.table.columns and column not in kept):
                self._set_cell(f"{place}.{column}", number, column, given.get(column))

    def _add(self, place: str, name: str, value: Mapping[str, Any]) -> None:
        given = {self._column(column): one for column, one in value.items()}
        own = given.get(_NAME, name)
        if not isinstance(own, str) or plain_name(own) != plain_name(name):
            raise ReadingError(f"is called {quoted(str(own))} in its own values; name it so here")
        number = len(self.rows)
        self.places[number] = place
        self.rows.append(
            CsvRow(
                file=SET,
                line=0,
                raw="",
                cells=dict.fromkeys(self.table.columns, ""),
                fields=dict(self.table.columns),
                units=self.rows[0].units if self.rows else {},
                set_cells={column: f"{place}.{column}" for column in self.known},
            )
        )
        self.labels.append({plain_name(own)})
        self._set_cell(place, number, _NAME, own)
        for column, one in given.items():
            if column != _NAME:
                self._set_cell(f"{place}.{column}", number, column, one)

    def columns(self) -> dict[str, int]:
        """Every column with its number, 0 for one that the file has not; rows are filled up."""
        new = [
            name
            for name in self.known
            if name not in self.table.columns and any(row.cells.get(name) for row in self.rows)
        ]
        if new:
            blank = dict.fromkeys(new, "")
            self.rows = [replace(row, cells=blank | row.cells) for row in self.rows]
        known = {*self.table.columns, *new}
        self.rows = [
            replace(row, cells={name: one for name, one in row.cells.items() if name in known})
            for row in self.rows
        ]
        return dict(self.table.columns) | dict.fromkeys(new, 0)

    def changed(self) -> Iterable[SetValue]:
        """What differs from the file."""
        for (number, column), place in self.touched.items():
            if number in self.places:
                continue
            before = self.table.rows[number]
            old = before.cells.get(column) or None
            new = self.rows[number].cells.get(column) or None
            if old != new:
                yield SetValue(place=place, old=old, new=new, told=_told(before, column, old, new))
        for number, place in self.places.items():
            cells = {name: one for name, one in self.rows[number].cells.items() if one}
            name = cells.pop(_NAME)
            words = f"{name} added: {said(cells)}"
            yield SetValue(place=place, old=None, new=said(cells), told=words)


def _name_of(row: CsvRow) -> str:
    return " ".join(row.cells.get(_NAME, "").split())


def _told(before: CsvRow, column: str, old: str | None, new: str | None) -> str:
    load = _name_of(before)
    if column == _COUNT and new is not None and new.isdigit() and int(new) == 0:
        return f"{load} left off"
    if column == _NAME:
        return f"{load} renamed {new}"
    # How often says how long it is on, and no default does.
    default = None if column == "on" and before.cells.get("often") else _DEFAULTS.get(column)
    return told(f"{load} {column}", old, new, default=default)


def _text_of(value: Any) -> str:
    """A value as its cell has it; "" for None."""
    if value is None:
        return ""
    if isinstance(value, list | dict):
        raise ReadingError(f"{shown(value)} is not what a file says of one thing")
    return said(value)
