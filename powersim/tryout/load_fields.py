"""The load list as fields: a row a load, with its tick, its draw and how long a day it is on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from powersim.inputs.load_columns import LOAD_ALIASES, LOAD_COLUMNS, LoadColumn
from powersim.inputs.places import LOADS
from powersim.inputs.table import CsvRow, CsvTable, table_of
from powersim.inputs.text import ReadingError
from powersim.inputs.units import find, split
from powersim.records import PRIORITIES, ROLES, Bounds, Load, bounds_of
from powersim.tryout.fields import Addition, Field, Group, Row
from powersim.tryout.places import load_name, load_place
from powersim.tryout.steps import step_of

#: A load goes by its name, and nothing hangs on what is noted of it.
_NO_FIELDS = ("load", "note")
_USUAL = ("draw", "on")
#: What stands in place of its time on where a line says how often.
_IN_SESSIONS = ("draw", "often", "each")
_ASKED_OF_A_NEW_ONE = ("draw", "when", "window", "on", "often", "each", "priority", "supply")
_CHOICES: dict[str, tuple[str, ...]] = {
    "temp": ("none", "fridge", "heater"),
    "role": ("none", *ROLES),
    "priority": PRIORITIES,
}
_DC = "dc"
#: Cells whose numbers are bounded, and the field of a load by the unit that is typed.
_BOUNDED: dict[str, dict[str, str]] = {
    "draw": {"W": "draw_W", "A": "draw_A"},
    "standby": {"W": "standby_W", "A": "standby_A"},
    "on": {"frac": "on_frac", "h/day": "on_h_per_day"},
    "count": {"": "count"},
    "fuel": {"L/h": "fuel_L_per_h"},
    "spread": {"frac": "spread_frac"},
}


def loads_group(text: str, *, file: str, supplies: Iterable[str]) -> Group:
    """The load list, as many of its lines as can be cut into cells.

    Parameters
    ----------
    text : str
        What loads.csv holds.
    file : str
        Its name in messages.
    supplies : iterable of str
        What the boat's supplies are called.
    """
    rows = [_load(row, supplies) for row in table_in(text, file=file).rows if load_name(row.cells)]
    blank = CsvRow(file=file, line=0, raw="", cells={}, fields={}, units={})
    fields = {
        each.column.name: _cell(blank, "", each, supplies)
        for each in LOAD_COLUMNS
        if each.column.name in _ASKED_OF_A_NEW_ONE
    }
    add = Addition(
        label="Add a load",
        prefix=f"{LOADS}.",
        fields=tuple(replace(field, place=name) for name, field in fields.items()),
    )
    return Group(id=LOADS, head="Loads", place=None, rows=tuple(rows), add=add)


def table_in(text: str, *, file: str) -> CsvTable:
    """The load list, with whatever is wrong with its form."""
    columns = [each.column for each in LOAD_COLUMNS]
    return table_of(text, columns, file=file, aliases=LOAD_ALIASES)


def _load(row: CsvRow, supplies: Iterable[str]) -> Row:
    name = load_name(row.cells)
    fields = {
        each.column.name: _cell(row, name, each, supplies)
        for each in LOAD_COLUMNS
        if each.column.name not in _NO_FIELDS
    }
    first = [fields.pop(column) for column in (_IN_SESSIONS if fields["often"].given else _USUAL)]
    return Row(
        name=name,
        place=load_place(name),
        on=row.cells.get("count", "") != "0",
        fields=tuple(first),
        more=tuple(fields.values()),
    )


def _cell(row: CsvRow, load: str, each: LoadColumn, supplies: Iterable[str]) -> Field:
    column = each.column
    text = _text(row, column.name)
    bare = row.units.get(column.name)
    choices = _CHOICES.get(column.name)
    if column.name == "supply":
        choices = (_DC, *filter(None, supplies))
    return Field(
        place=load_place(load, column.name),
        label=column.name if bare is None else f"{column.name} ({bare})",
        text=text,
        given=bool(text),
        default=each.default or None,
        reason=each.reason,
        what=column.meaning,
        example=column.example,
        choices=choices,
        step=_cell_step(column.name, text or each.default or "", bare),
    )


def _text(row: CsvRow, column: str) -> str:
    """A cell as the page shows it, where decimals stand behind a point."""
    try:
        return row.plain(column)
    except ReadingError:
        return row.cells.get(column, "")


def _cell_step(column: str, text: str, bare: str | None) -> dict[str, Any] | None:
    if column not in _BOUNDED:
        return None
    for unit, field in _BOUNDED[column].items():
        bounds: Bounds = bounds_of(Load, field)
        if not unit:
            return step_of(text, bounds=bounds, whole=True)
        if _measures(text, bare) == find(unit).dimension:  # type: ignore[union-attr]
            return step_of(text, unit=unit, bounds=bounds, bare=bare)
    return None


def _measures(text: str, bare: str | None) -> str | None:
    """What a cell measures, such as "a power"."""
    try:
        _, spelling = split(text)
    except ValueError:
        return None
    unit = find(spelling or bare or "")
    return None if unit is None else unit.dimension
