"""The boat as fields to fill in: every value of its files, what stands for one that is left out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path as FilePath
from typing import Any

from powersim.inputs.boat import KEYS_BY_TABLE, BoatFile, collect_boat
from powersim.inputs.boat_chargers import KEYS_OF_KIND
from powersim.inputs.boat_tank import TANK_KEYS
from powersim.inputs.load_columns import LOAD_ALIASES, LOAD_COLUMNS, LoadColumn
from powersim.inputs.table import CsvRow, CsvTable, table_of
from powersim.inputs.toml_keys import FLAG, Key
from powersim.inputs.toml_lines import Path, parse_toml
from powersim.inputs.units import find, split
from powersim.records import PRIORITIES, ROLES, Bounds, Load, bounds_of
from powersim.tryout.places import LOADS, key_place, load_name, load_place, name_in
from powersim.tryout.steps import step_of

#: The tables of the page in its order, each with its heading and the keys that are mostly moved.
_TABLES: dict[str, tuple[str, tuple[str, ...]]] = {
    "battery": ("Bank", ("chemistry", "capacity", "health", "at_departure", "floor")),
    "panel": ("Solar panels", ("power", "count", "mount")),
    "controller": ("Solar controllers", ("kind", "rated")),
    "charger": ("Other chargers", ("kind", "diameter", "rated", "power", "hours")),
    "alternator": ("Alternator", ("charging", "motoring")),
    "charging": ("Charging rule", ("read_at", "start", "stop", "run", "hours", "full_every")),
    "engine": ("Engine", ("rated", "charging_burn", "motoring_burn")),
    "fuel": ("Fuel", ("tank", "jerrycans", "aboard", "reserve")),
    "passage": ("Passage", ("depart", "speed", "motoring")),
    "shedding": ("Switching off as the bank falls", ("comfort_below", "useful_below")),
    "supply": ("Supplies", ("efficiency", "idle")),
}
_LOADS_HEAD, _USUAL_OF_LOADS = "Loads", ("draw", "on")
#: Tables that hold where the file has none, by their defaults.
_ALWAYS = ("charging", "passage", "shedding")
#: Tables that the boat can do without; the loads hang on a supply, a fuel belongs to an engine.
_CAN_GO = ("panel", "charger", "alternator")
#: What each is called, and what is no single value.
_LEFT_OUT = ("name", "shade")
_CHOICES_OF_LOADS: dict[str, tuple[str, ...]] = {
    "temp": ("none", "fridge", "heater"),
    "role": ("none", *ROLES),
    "priority": PRIORITIES,
}
_DC = "dc"
#: Cells of a load whose numbers are bounded, and the field by the unit that is typed.
_BOUNDED: dict[str, dict[str, str]] = {
    "draw": {"W": "draw_W", "A": "draw_A"},
    "standby": {"W": "standby_W", "A": "standby_A"},
    "on": {"frac": "on_frac", "h/day": "on_h_per_day"},
    "count": {"": "count"},
    "fuel": {"L/h": "fuel_L_per_h"},
    "spread": {"frac": "spread_frac"},
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One value of the boat.

    Attributes
    ----------
    place : str
        Where it stands, as `--set` takes it.
    label : str
        Its key or column.
    text : str
        As in the files; empty where they say nothing.
    given : bool
        Whether they say anything.
    default, reason : str or None
        What stands for it where it is left out, and why; None where nothing does.
    what, example : str
        What it is, and a value that works.
    choices : tuple of str or None
        All that it can be, where that is a list.
    step : dict or None
        How far an arrow key moves it, as `steps.step_of` has it; {"days": 1} for a date.
    """

    place: str
    label: str
    text: str
    given: bool
    default: str | None = None
    reason: str | None = None
    what: str = ""
    example: str = ""
    choices: tuple[str, ...] | None = None
    step: dict[str, Any] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One load, one panel, or the whole of a group that has no more than one.

    Attributes
    ----------
    name : str
        What the sailor calls it; empty for the whole of a group.
    place : str
        Of all of it.
    on : bool or None
        Whether it is aboard and in use; None for what cannot be left off.
    fields, more : tuple of Field
        Those that are mostly moved, and the rest.
    """

    name: str
    place: str
    on: bool | None
    fields: tuple[Field, ...]
    more: tuple[Field, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """The loads, the panels, or one table of boat.toml.

    Attributes
    ----------
    id : str
        Of the table, or "loads".
    head : str
        Its heading.
    place : str or None
        Where there is no more than one of it.
    rows : tuple of Row
        In the order of the files.
    """

    id: str
    head: str
    place: str | None
    rows: tuple[Row, ...]


def groups_of(
    boat_text: str, loads_text: str, *, folder: FilePath, boat_file: str, loads_file: str
) -> tuple[Group, ...]:
    """All of the boat, as much of it as can be read.

    Parameters
    ----------
    boat_text, loads_text : str
        What boat.toml and loads.csv hold; empty where they cannot be read.
    folder : Path
        That they lie in, for the curves that boat.toml names.
    boat_file, loads_file : str
        What they are called.
    """
    document, _, _ = parse_toml(boat_text, file=boat_file)
    found = collect_boat(folder / boat_file, text=boat_text)
    supplies = [name_in(one) for one in _tables_in(document, "supply")]
    groups = [_loads(loads_text, file=loads_file, supplies=supplies)]
    groups += [_group(table, document, found) for table in _TABLES]
    return tuple(group for group in groups if group.rows)


def table_in(text: str, *, file: str) -> CsvTable:
    """The load list, with whatever is wrong with its form."""
    columns = [each.column for each in LOAD_COLUMNS]
    return table_of(text, columns, file=file, aliases=LOAD_ALIASES)


def key_at(place_parts: tuple[str, ...]) -> Key | None:
    """The key that a place of boat.toml ends with; None where there is none of that name."""
    keys: Iterable[Key] = KEYS_BY_TABLE.get(place_parts[0], ())
    if place_parts[:2] == ("fuel", "tank") and len(place_parts) > 2:
        keys = TANK_KEYS
    return next((key for key in keys if key.name == place_parts[-1]), None)


def _tables_in(document: Mapping[str, Any], name: str) -> list[Any]:
    found = document.get(name, [])
    return found if isinstance(found, list) else [found]


def _group(name: str, document: Mapping[str, Any], found: BoatFile) -> Group:
    """A group of one table of boat.toml, or of all of that name."""
    head, usual = _TABLES[name]
    held = document.get(name)
    if isinstance(held, list):
        rows = [
            _row((name, number), one, document, found, usual=usual, only=len(held) == 1)
            for number, one in enumerate(held)
            if isinstance(one, dict)
        ]
        return Group(id=name, head=head, place=None, rows=tuple(rows))
    if not isinstance(held, dict):
        held = {} if held is None and name in _ALWAYS else None
    rows = [] if held is None else [_row((name,), held, document, found, usual=usual)]
    return Group(id=name, head=head, place=name, rows=tuple(rows))


def _row(
    path: Path,
    table: Mapping[str, Any],
    document: Mapping[str, Any],
    found: BoatFile,
    *,
    usual: tuple[str, ...],
    only: bool = True,
) -> Row:
    table_name = str(path[0])
    keys: Iterable[Key] = KEYS_BY_TABLE[table_name]
    if table_name == "charger":
        of_kind = KEYS_OF_KIND.get(str(table.get("kind", "")).strip().casefold(), ("kind",))
        keys = [key for key in keys if key.name in of_kind]
    fields = {
        key.name: _field((*path, key.name), key, table.get(key.name), document, found)
        for key in keys
        if key.name not in _LEFT_OUT or table_name == "passage"
    }
    tank = table.get("tank") if table_name == "fuel" else None
    if isinstance(tank, dict):
        fields.pop("tank")
        fields |= {
            f"tank.{key.name}": replace(
                _field((*path, "tank", key.name), key, tank.get(key.name), document, found),
                label=f"tank {_spoken(key.name)}",
            )
            for key in TANK_KEYS
            if key.name in tank
        }
    first = [fields.pop(name) for name in usual if name in fields]
    several = len(path) > 1
    title = name_in(table) or (f"{table_name} {int(path[1]) + 1}" if several else "")
    return Row(
        name=title if several else "",
        place=key_place(document, path),
        on=True if table_name in _CAN_GO else None,
        fields=tuple(first),
        more=tuple(fields.values()),
    )


def _field(path: Path, key: Key, held: Any, document: Mapping[str, Any], found: BoatFile) -> Field:
    text = "" if held is None else text_of(held, key)
    default, reason = found.assumed_at.get(path, (None, None))
    if default is None and key.reason and key.default is not None:
        default, reason = key.kind.write(key.default), key.reason
    if default is None and not key.required and key.without and not key.default:
        reason = key.without
    choices = ("true", "false") if key.kind is FLAG else (key.one_of or None)
    if path[0] == "panel" and key.name == "controller":
        choices = tuple(filter(None, map(name_in, _tables_in(document, "controller")))) or None
    step: dict[str, Any] | None = {"days": 1}
    if path != ("passage", "depart"):
        numbers = key.bounds is not None and not key.kind.listed
        step = (
            step_of(text or default or "", unit=key.unit, bounds=key.bounds, whole=key.holds is int)
            if numbers
            else None
        )
    return Field(
        place=key_place(document, path),
        label=_spoken(key.name),
        text=text,
        given=held is not None,
        default=default,
        reason=reason,
        what=key.meaning or key.expected,
        example=_example(key),
        choices=choices,
        step=step,
    )


def text_of(held: Any, key: Key) -> str:
    """A value of boat.toml as it stands in a field; a list without its brackets and quotes."""
    if isinstance(held, bool):
        return str(held).lower()
    if isinstance(held, datetime):
        return held.isoformat(sep=" ", timespec="minutes")
    if isinstance(held, date):
        return held.isoformat()
    if isinstance(held, list):
        return ", ".join(map(str, held)) or (key.kind.write(()) if key.kind.listed else "")
    return "" if isinstance(held, dict) else str(held)


def _spoken(name: str) -> str:
    return name.replace("_", " ")


def _example(key: Key) -> str:
    return key.example.strip("[]").replace('"', "") if "{" not in key.example else key.example


def _loads(text: str, *, file: str, supplies: Iterable[str]) -> Group:
    rows = [_load(row, supplies) for row in table_in(text, file=file).rows if load_name(row.cells)]
    return Group(id=LOADS, head=_LOADS_HEAD, place=None, rows=tuple(rows))


def _load(row: CsvRow, supplies: Iterable[str]) -> Row:
    name = load_name(row.cells)
    fields = {
        each.column.name: _cell(row, name, each, supplies)
        for each in LOAD_COLUMNS
        if each.column.name != "load"
    }
    first = [fields.pop(column) for column in _USUAL_OF_LOADS]
    return Row(
        name=name,
        place=load_place(name),
        on=row.cells.get("count", "") != "0",
        fields=tuple(first),
        more=tuple(fields.values()),
    )


def _cell(row: CsvRow, load: str, each: LoadColumn, supplies: Iterable[str]) -> Field:
    column = each.column
    text = row.cells.get(column.name, "")
    bare = row.units.get(column.name)
    choices = _CHOICES_OF_LOADS.get(column.name)
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
