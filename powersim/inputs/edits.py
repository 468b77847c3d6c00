"""boat.toml and loads.csv with values put into their own text, taken out or added.

The text that comes of it is what `load_folder(values=...)` simulates: both go by the same places.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from powersim.errors import InputError, Problem, refused
from powersim.inputs.boat import KEYS_OF
from powersim.inputs.decimals import QUANTITY, as_in_table
from powersim.inputs.load_columns import LOAD_ALIASES, LOAD_COLUMNS
from powersim.inputs.places import Given
from powersim.inputs.set_loads import set_in_loads
from powersim.inputs.set_values import set_in_document
from powersim.inputs.table import CsvRow, CsvTable, table_of
from powersim.inputs.table_cells import with_cells
from powersim.inputs.text import ReadingError
from powersim.inputs.toml_edit import toml_as_asked
from powersim.inputs.toml_lines import parse_toml
from powersim.inputs.was import with_was
from powersim.records import SetValue

_BOAT, _LOADS = "boat.toml", "loads.csv"
_MARK = "\ufeff"  # of UTF-8, with which some spreadsheets begin a file
_NOTE = "note"
_FORM = "plain [tables] with one key a line, as 'powersim new' writes them"
_DEFAULTS = {each.column.name: each.default or None for each in LOAD_COLUMNS}
_COLUMNS = [each.column for each in LOAD_COLUMNS]
_KINDS = {column.name: column.kind for column in _COLUMNS}


@dataclass(frozen=True, slots=True, kw_only=True)
class Edited:
    """What the files are to hold.

    Attributes
    ----------
    texts : dict of str to str
        By file name; those alone that differ.
    changed : tuple of SetValue
        What differs in them.
    """

    texts: dict[str, str]
    changed: tuple[SetValue, ...]


def edited(texts: Mapping[str, str], values: Mapping[str, Given], *, folder: str = "") -> Edited:
    """Files with values put into their text.

    Comments, order, blanks and line ends stay as they are. What a changed line held is noted behind
    it: "(was 220 Ah)"; in loads.csv in the column note, if it has one.

    Parameters
    ----------
    texts : mapping of str to str
        What boat.toml and loads.csv hold, which can be read.
    values : mapping of str to value
        By place as typed, as `load_folder` takes them.
    folder : str
        With its separator, to go before file names in messages.

    Raises
    ------
    InputError
        If there is no such place, a file cannot be read, or one is written in a form that cannot
        be changed without touching the rest of it. Whether a value is possible is for whoever reads
        the texts: `load_folder(folder, texts=...)`.

    Examples
    --------
    >>> text = '[battery]\\ncapacity = "220 Ah"  # label\\n'
    >>> loads = "load,draw,note\\nvhf,5 A,\\n"
    >>> found = edited(
    ...     {"boat.toml": text, "loads.csv": loads},
    ...     {"battery.capacity": "300 Ah", "loads.vhf.draw": "6 A"},
    ... )
    >>> print(found.texts["boat.toml"] + found.texts["loads.csv"])
    [battery]
    capacity = "300 Ah"  # label (was 220 Ah)
    load,draw,note
    vhf,6 A,(was draw 5 A)
    <BLANKLINE>
    """
    found: dict[str, str] = {}
    changed: tuple[SetValue, ...] = ()
    problems: list[Problem] = []
    for name, put in ((_BOAT, _boat), (_LOADS, _loads)):
        if name not in texts:
            continue
        mark = _MARK if texts[name].startswith(_MARK) else ""
        try:
            text, more = put(texts[name].removeprefix(_MARK), values, f"{folder}{name}")
        except InputError as error:
            problems += error.problems
            continue
        changed += more
        if more:
            found[name] = mark + text
    if problems:
        raise InputError(problems)
    return Edited(texts=found, changed=changed)


def _boat(text: str, values: Mapping[str, Given], file: str) -> tuple[str, tuple[SetValue, ...]]:
    document, _, problems = parse_toml(text, file=file)
    if problems:
        raise InputError(problems)
    asked = set_in_document(document, values, keys=KEYS_OF)
    if asked.problems:
        raise InputError(asked.problems)
    if not asked.changed:
        return text, ()
    made = toml_as_asked(text, asked.document, paths=asked.paths, noted=_noted)
    if made is None:
        raise _wrong_form(file)
    return made, asked.changed


def _noted(note: str | None, before: Mapping[str, Any]) -> str:
    if note is None and before.keys() != {""} and list(before.values()) == [None]:
        return "(was not given)"
    return with_was(note, before)


def _wrong_form(file: str) -> InputError:
    what = "is written in a form that cannot be changed without touching the rest of it"
    return refused(file, what, _FORM)


def _loads(text: str, values: Mapping[str, Given], file: str) -> tuple[str, tuple[SetValue, ...]]:
    table = table_of(text, _COLUMNS, file=file, aliases=LOAD_ALIASES)
    asked = set_in_loads(table, values, known=[column.name for column in _COLUMNS])
    if asked.table.problems:
        raise InputError(asked.table.problems)
    if not asked.changed:
        return text, ()
    made = _put(text, table, asked.table)
    again = table_of(made, _COLUMNS, file=file, aliases=LOAD_ALIASES)
    if again.problems or not _reads_as(again, asked.table):
        raise _wrong_form(file)
    return made, asked.changed


def _put(text: str, before: CsvTable, after: CsvTable) -> str:
    """The text with what differs between two tables put into it."""
    cells: dict[tuple[int, int], str] = {}
    new_columns = [name for name in after.columns if name not in before.columns]
    columns = dict(before.columns)
    for number, name in enumerate(new_columns, before.width + 1):
        columns[name] = number
        cells[before.head_line, number] = name
    for old, new in zip(before.rows, after.rows, strict=False):
        was = {}
        for name, number in columns.items():
            if new.cells[name] != old.cells.get(name, ""):
                cells[old.line, number] = _in_table(new.cells[name], name, before)
                was[name] = old.cells.get(name) or _DEFAULTS[name]
        note = columns.get(_NOTE)
        if was and note is not None and _NOTE not in was:
            cells[old.line, note] = with_was(new.cells[_NOTE], was)
    width = max(columns.values())
    rows = []
    for new in after.rows[len(before.rows) :]:
        row = [""] * width
        for name, number in columns.items():
            row[number - 1] = _in_table(new.cells[name], name, before)
        rows.append(row)
    return with_cells(text, cells, new_rows=rows, after_line=before.rows[-1].line)


def _in_table(text: str, column: str, table: CsvTable) -> str:
    """What a cell is to hold, with decimals as the table has them."""
    return as_in_table(text, table.decimals) if _KINDS[column] == QUANTITY else text


def _reads_as(table: CsvTable, asked: CsvTable) -> bool:
    """Whether the rows hold what was asked for, their notes aside."""

    def held(one: CsvTable) -> list[dict[str, str]]:
        return [
            {name: _read_as(row, name) for name in row.cells if name != _NOTE} for row in one.rows
        ]

    return held(table) == held(asked) and table.columns.keys() == asked.columns.keys()


def _read_as(row: CsvRow, column: str) -> str:
    try:
        return row.plain(column)
    except ReadingError:  # it was so before, or the change is refused where it is read
        return row.cells[column]
