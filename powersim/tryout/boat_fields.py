"""boat.toml as fields: every key of its tables, and what stands for one that is left out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path as FilePath
from typing import Any

from powersim.inputs.boat import KEYS_BY_TABLE, collect_boat
from powersim.inputs.boat_chargers import KEYS_OF_KIND
from powersim.inputs.boat_tank import TANK_KEYS
from powersim.inputs.toml_keys import FLAG, Key
from powersim.inputs.toml_lines import Path, parse_toml
from powersim.records.declared import BY_THE_REST
from powersim.tryout.fields import Addition, Field, Group, Row
from powersim.tryout.places import key_place, name_in
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
    "fuel": ("Fuel", ("tank", "tank capacity", "jerrycans", "aboard", "reserve")),
    "passage": ("Passage", ("depart", "speed", "motoring")),
    "shedding": ("Switching off as the bank falls", ("comfort_below", "useful_below")),
    "heavy_weather": ("Bad weather", ("lie_to_above", "no_engine_above", "spray_above")),
    "supply": ("Supplies", ("efficiency", "idle")),
    "device": ("Devices with batteries of their own", ("battery", "use", "when")),
}
#: Tables that hold where the file has none, by their defaults.
_ALWAYS = ("charging", "passage", "shedding", "heavy_weather")
#: Tables that the boat can do without; the loads hang on a supply, a fuel belongs to an engine.
_CAN_GO = ("panel", "charger", "alternator", "device")
#: What there may be more of, and what adds it.
_ADDED = {"panel": "Add a panel"}
#: What each is called, and what is no single value.
_LEFT_OUT = ("name", "shade", "needle", "needle_doubt")


class BoatText:
    """boat.toml: what it holds, and what stands for each key that it leaves out."""

    def __init__(self, text: str, path: FilePath):
        self.text, self.path = text, path
        self.document = parse_toml(text, file=str(path))[0]
        self._assumed_at = collect_boat(path, text=text).assumed_at

    def assumed_with(self, values: Mapping[str, Any]) -> Mapping[Path, tuple[str, str]]:
        """Default and reason of every key that is left out, with values set, by path."""
        if not values:
            return self._assumed_at
        return collect_boat(self.path, text=self.text, values=values).assumed_at

    def names(self, table: str) -> list[str]:
        """What the tables of a name are called; those that are not, left out."""
        held = self.document.get(table, [])
        return [name for one in (held if isinstance(held, list) else []) if (name := name_in(one))]

    def default(self, path: Path, key: Key, *, given: bool) -> tuple[str | None, str | None]:
        """What stands for a key where it is left out, and why."""
        assumed_at = self._assumed_at
        if given and not key.required:
            assumed_at = self.assumed_with({key_place(self.document, path): None})
        if path in assumed_at:
            return assumed_at[path]
        if key.reason and key.default is not None:
            return key.kind.write(key.default), key.reason
        if key.required or key.without == BY_THE_REST:
            return None, None
        return None, key.without.replace("`", "")


def defaults_moved(found: BoatText, values: Mapping[str, Any]) -> list[dict[str, str]]:
    """What stands for keys that are left out, where a change of others has moved that.

    Parameters
    ----------
    found : BoatText
        What the file holds.
    values : mapping
        By place.

    Returns
    -------
    list of dict
        "place", "default" and "reason" of each; none of panels and the like where one of them came
        or went.
    """
    whole = any(value is None or isinstance(value, Mapping) for value in values.values())
    before = found.assumed_with({})
    moved = {
        path: told
        for path, told in found.assumed_with(values).items()
        if before.get(path) != told and len(path) > 1
    }
    several = {path for path in moved if any(isinstance(part, int) for part in path)}
    # A controller that nobody wrote down has no field.
    no_field = several if whole else {one for one in several if str(one[0]) not in found.document}
    return [
        {"place": key_place(found.document, path), "default": default, "reason": reason}
        for path, (default, reason) in moved.items()
        if path not in no_field
    ]


def boat_groups(found: BoatText) -> list[Group]:
    """All tables of boat.toml, as much of them as can be read.

    Parameters
    ----------
    found : BoatText
        What it holds.
    """
    groups = [_group(table, found) for table in _TABLES]
    return [group for group in groups if group.rows or group.add]


def key_at(place_parts: tuple[str, ...]) -> Key | None:
    """The key that a place of boat.toml ends with; None where there is none of that name."""
    keys: Iterable[Key] = KEYS_BY_TABLE.get(place_parts[0], ())
    if place_parts[:2] == ("fuel", "tank") and len(place_parts) > 2:
        keys = TANK_KEYS
    return next((key for key in keys if key.name == place_parts[-1]), None)


def _group(name: str, found: BoatText) -> Group:
    """A group of one table of boat.toml, or of all of that name."""
    head, usual = _TABLES[name]
    held = found.document.get(name)
    if isinstance(held, list):
        rows = [
            _row((name, number), one, found, usual=usual)
            for number, one in enumerate(held)
            if isinstance(one, dict)
        ]
        return Group(id=name, head=head, place=None, rows=tuple(rows), add=_addition(name, found))
    if not isinstance(held, dict):
        held = {} if held is None and name in _ALWAYS else None
    rows = [] if held is None else [_row((name,), held, found, usual=usual)]
    add = _addition(name, found) if held is None else None
    return Group(id=name, head=head, place=name, rows=tuple(rows), add=add)


def _addition(name: str, found: BoatText) -> Addition | None:
    """One more of a table, by the keys that it needs and those that are mostly moved."""
    if name not in _ADDED:
        return None
    needed = ("controller",) if len(found.names("controller")) > 1 else ()
    keys = {key.name: key for key in KEYS_BY_TABLE[name]}
    return Addition(
        label=_ADDED[name],
        prefix=f"{name}.",
        fields=tuple(_blank(keys[one], found) for one in (*_TABLES[name][1], *needed)),
    )


def _blank(key: Key, found: BoatText) -> Field:
    default, reason = None, None
    if key.reason and key.default is not None:
        default, reason = key.kind.write(key.default), key.reason
    return Field(
        place=key.name,
        label=_spoken(key.name),
        text="",
        given=False,
        default=default,
        reason=reason,
        what=key.meaning,
        example=_example(key),
        choices=_choices(("panel", 0, key.name), key, found),
        step=_step((key.name,), key, default or key.example),
    )


def _row(path: Path, table: Mapping[str, Any], found: BoatText, *, usual: tuple[str, ...]) -> Row:
    name, several = str(path[0]), len(path) > 1
    fields = {
        key.name: _field((*path, key.name), key, table.get(key.name), found)
        for key in _keys_of(name, table)
    }
    tank = table.get("tank") if name == "fuel" else None
    if isinstance(tank, dict):
        fields.pop("tank")
        fields |= {
            f"tank {key.name}": replace(
                _field((*path, "tank", key.name), key, tank[key.name], found),
                label=f"tank {_spoken(key.name)}",
            )
            for key in TANK_KEYS
            if key.name in tank
        }
    first = tuple(fields.pop(name) for name in usual if name in fields)
    title = name_in(table) or (f"{name} {int(path[1]) + 1}" if several else "")
    return Row(
        name=title if several else "",
        place=key_place(found.document, path),
        on=True if name in _CAN_GO else None,
        fields=first,
        more=tuple(fields.values()),
    )


def _keys_of(name: str, table: Mapping[str, Any]) -> list[Key]:
    """The keys of a table that are fields: a charger has those of its kind."""
    keys: Iterable[Key] = KEYS_BY_TABLE[name]
    if name == "charger":
        of_kind = KEYS_OF_KIND.get(str(table.get("kind", "")).strip().casefold(), ("kind",))
        keys = [key for key in keys if key.name in of_kind]
    return [key for key in keys if key.name not in _LEFT_OUT or name == "passage"]


def _field(path: Path, key: Key, held: Any, found: BoatText) -> Field:
    text = "" if held is None else text_of(held, key)
    default, reason = found.default(path, key, given=held is not None)
    return Field(
        place=key_place(found.document, path),
        label=_spoken(key.name),
        text=text,
        given=held is not None,
        default=default,
        reason=reason,
        what=key.meaning or key.expected,
        example=_example(key),
        choices=_choices(path, key, found),
        step=_step(path, key, text or default or ""),
    )


def _choices(path: Path, key: Key, found: BoatText) -> tuple[str, ...] | None:
    if path[0] == "panel" and key.name == "controller":
        return tuple(found.names("controller")) or None
    return ("true", "false") if key.kind is FLAG else key.one_of or None


def _step(path: Path, key: Key, text: str) -> dict[str, Any] | None:
    if path == ("passage", "depart"):
        return {"days": 1}
    if key.bounds is None or key.kind.listed:
        return None
    return step_of(text, unit=key.unit, bounds=key.bounds, whole=key.holds is int)


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
