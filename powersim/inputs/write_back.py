"""What a log has shown, put into the text of boat.toml and loads.csv; the rest stays as it is."""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from powersim.errors import InputError, Problem, refused
from powersim.inputs.boat import KEYS_BY_TABLE
from powersim.inputs.decimals import as_in_table
from powersim.inputs.load_columns import LOAD_ALIASES, LOAD_COLUMNS
from powersim.inputs.table import problem_at, table_of
from powersim.inputs.table_cells import with_cells
from powersim.inputs.text import ReadingError, quoted
from powersim.inputs.toml_edit import as_they_stand, toml_as_asked
from powersim.inputs.toml_keys import Key
from powersim.inputs.toml_lines import line_at, parse_toml
from powersim.inputs.units import scaled
from powersim.records import Boat, Change

#: What a load's factor multiplies.
_DRAWN = ("draw", "standby", "fuel")
_NOTE = "found by the log"
_FORM = "plain [tables] with one key a line, as 'powersim new' writes them"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Edit:
    """One key of boat.toml to be multiplied: where it stands, what holds without it."""

    table: str
    place: int | None
    key: Key
    value: float
    factor: float
    which: str | None = None

    @property
    def path(self) -> tuple:
        where = (self.table,) if self.place is None else (self.table, self.place)
        return (*where, self.key.name)

    @property
    def name(self) -> str:
        return f"{self.table}.{self.key.name}" + (f" ({self.which})" if self.which else "")


def calibrated_boat(
    text: str, boat: Boat, factors: Mapping[str, float], *, file: str = "boat.toml"
) -> tuple[str, tuple[Change, ...]]:
    """boat.toml with what a log has shown.

    Parameters
    ----------
    text : str
        The file, which can be read.
    boat : Boat
        What it was read as, for the defaults that it leaves out.
    factors : mapping of str to float
        By the names of simulation.factors.Factors; those that are to be written. [-]
    file : str
        Its name in messages.

    Returns
    -------
    tuple of (str, tuple of Change)
        The text with the same comments, order and line ends; a key that was left out is added
        below the others of its table.

    Raises
    ------
    InputError
        If a value would leave the range of its key, or the file is written in a form that cannot
        be changed without touching more.

    Notes
    -----
    `capacity` goes to the bank's health, `solar` to each panel's yield, `alternator` to its hot
    outputs, `burn` to the burn at charging revs and to the slope above it; the loads are in
    loads.csv. The slope is the engine's own, so that the alternator's share of motoring moves with
    it.
    """
    document = tomllib.loads(text)
    asked = copy.deepcopy(document)
    notes: dict[str, str] = {}
    changes, problems = [], []
    for edit in _edits(boat, factors):
        table = _at(asked, edit.path[:-1])
        old = table.get(edit.key.name, edit.key.kind.write(edit.value))
        new = scaled(old, edit.factor)
        if new == old:
            continue
        try:
            edit.key.kind.read(new)
        except ReadingError as error:
            problems.append(_out_of_range(edit, old, error, text=text, file=file))
            continue
        added = edit.key.name not in table
        if added:
            notes[edit.key.name] = f"{_NOTE}; {old} was taken before"
        table[edit.key.name] = new
        changes.append(Change(file=Path(file).name, place=edit.name, old=old, new=new, added=added))
    if problems:
        raise InputError(problems)

    def noted(note: str | None, before: Mapping[str, Any]) -> str | None:
        """What is new is noted; behind all else, what somebody noted stays."""
        new = [notes[key] for key, old in before.items() if old is None]
        return "; ".join([note, *new] if note else new) or None

    made = toml_as_asked(text, asked, paths=as_they_stand(document), noted=noted)
    if made is None:
        what = "is written in a form that cannot be changed without touching the rest of it"
        raise refused(file, what, _FORM)
    return made, tuple(changes)


def _at(document: dict[str, Any], path: tuple) -> dict[str, Any]:
    """The table at a path; made where it is not there, as that of a boat without [fuel]."""
    found: Any = document
    for part in path:
        found = found.setdefault(part, {}) if isinstance(found, dict) else found[part]
    return found


def calibrated_loads(
    text: str,
    factors: Sequence[float],
    *,
    more: Mapping[str, str] | None = None,
    states: Mapping[tuple[str, str], tuple[float | None, str]] | None = None,
    file: str = "loads.csv",
) -> tuple[str, tuple[Change, ...]]:
    """loads.csv with each draw, standby and fuel multiplied, in the unit of its cell.

    Parameters
    ----------
    text : str
        The file, which can be read.
    factors : sequence of float
        What each load draws over what the file says, in the order of its rows. [-]
    more : mapping of str to str, optional
        Cells of one more load, by column; those of columns that the file has not are left out.
    states : mapping, optional
        By a load's name as names are compared and a column: in place of the load's own factor what
        the cell is multiplied by, or None and what an empty cell is to hold. [-]
    file : str
        Its name in messages.

    Returns
    -------
    tuple of (str, tuple of Change)
        The text with everything else as it stands: quotation marks, blanks, notes, line ends.

    Raises
    ------
    InputError
        If a cell would leave the range of its column.
    """
    table = table_of(text, [each.column for each in LOAD_COLUMNS], file=file, aliases=LOAD_ALIASES)
    cells: dict[tuple[int, int], str] = {}
    changes, problems = [], []
    for row, factor in zip(table.rows, factors, strict=True):
        for each in LOAD_COLUMNS:
            name = each.column.name
            old = row.cells.get(name)
            load = " ".join(row.cells["load"].split())
            own, measured = (states or {}).get((load.casefold(), name), (factor, ""))
            if name not in _DRAWN or old is None or (own is not None and not old):
                continue
            new = measured if own is None else scaled(row.plain(name), own)
            try:
                each.read(new, row.units.get(name))
            except ReadingError as error:
                reason = f"{quoted(old)} would become too much: {error.reason}"
                problems.append(problem_at(row, name, reason, each.column.expected))
            if new != row.plain(name):
                new = as_in_table(new, table.decimals)
                cells[row.line, row.fields[name]] = new
                place = f"{name} ({load})"
                changes.append(
                    Change(
                        file=Path(file).name, place=place, old=old or "-", new=new, added=not old
                    )
                )
    if problems:
        raise InputError(problems)
    if more is None:
        return with_cells(text, cells), tuple(changes)
    new_row = [""] * table.width
    for name, number in table.columns.items():
        held = more.get(name, "")
        new_row[number - 1] = as_in_table(held, table.decimals) if name == "draw" else held
    place = f"draw ({more['load']})"
    changes.append(Change(file=Path(file).name, place=place, old="-", new=more["draw"], added=True))
    made = with_cells(text, cells, new_rows=[new_row], after_line=table.rows[-1].line)
    return made, tuple(changes)


def _edits(boat: Boat, factors: Mapping[str, float]) -> list[_Edit]:
    """Every key that a factor goes to."""
    found = []

    def add(factor, table, key, value, place=None, which=None):
        if factor in factors:
            known = next(one for one in KEYS_BY_TABLE[table] if one.name == key)
            found.append(
                _Edit(
                    table=table,
                    place=place,
                    key=known,
                    value=value,
                    factor=factors[factor],
                    which=which,
                )
            )

    add("capacity", "battery", "health", boat.battery.health_frac)
    for place, panel in enumerate(boat.panels):
        which = panel.name if len(boat.panels) > 1 else None
        add("solar", "panel", "yield", panel.yield_frac, place, which)
    if boat.alternator is not None:
        add("alternator", "alternator", "charging", boat.alternator.charging_A)
        add("alternator", "alternator", "motoring", boat.alternator.motoring_A)
    if boat.engine is not None:
        add("burn", "engine", "charging_burn", boat.engine.charging_L_per_h)
        if not boat.engine.charging_burn_loaded:
            add("burn", "engine", "slope", boat.engine.slope_L_per_kWh)
    return found


def _out_of_range(edit: _Edit, old: str, error: ReadingError, *, text: str, file: str) -> Problem:
    _, lines, _ = parse_toml(text, file=file)
    right = edit.key.expected
    if edit.key.name == "health":
        right = "a battery.capacity that such a bank could have on its label"
    return Problem(
        file=file,
        line=line_at(lines, edit.path),
        text=f"{edit.name}: {old} times {edit.factor:.3g} would be too much: {error.reason}",
        expected=f"{right}; set it by hand, then run this again",
    )
