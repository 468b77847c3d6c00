"""The [[charger]] tables: wind generator, generators in the water, shore power at a berth."""

from __future__ import annotations

from dataclasses import MISSING, fields

from powersim.inputs.beside import file_beside
from powersim.inputs.boat_battery import settle_setpoints
from powersim.inputs.boat_charging import CLOCK_HOURS
from powersim.inputs.power_curve import GENERIC_DIAMETER_M, generic_curve, read_curve
from powersim.inputs.text import quoted
from powersim.inputs.toml_keys import Key, ValueKind, choice, key_of, keys_of, one_text, written
from powersim.inputs.toml_table import Sheet, TomlTable, record_defaults, refuse_doubles
from powersim.records import RECORD_OF_KIND, Battery, Charger
from powersim.records.chargers.power_curve import Stream

_KIND = key_of(
    "kind",
    choice(*RECORD_OF_KIND),
    "what turns it, or where it is plugged in",
    one_of=tuple(RECORD_OF_KIND),
    required=True,
)
_CURVE = key_of(
    "curve", ValueKind(read=one_text), "a CSV file of its power at each speed", '"my-curve.csv"'
)
_SETPOINTS = ("absorption", "float", "temp_comp")


def _keys_of_kind(record: type[Charger]) -> dict[str, Key]:
    """The keys that a kind may have, by name."""
    also = {"name": _CURVE} if record.stream is not None else {}
    return {key.name: key for key in (_KIND, *keys_of(record, kinds=_HOURS, also=also))}


_HOURS = {"hours_h": CLOCK_HOURS}
_BY_KIND = {kind: _keys_of_kind(record) for kind, record in RECORD_OF_KIND.items()}
_KNOWN = {name: key for keys in _BY_KIND.values() for name, key in keys.items()}
#: What several kinds have stands below what only one has.
for _name in ("wiring", "regulated", *_SETPOINTS):
    _KNOWN[_name] = _KNOWN.pop(_name)
CHARGER_KEYS = tuple(_KNOWN.values())
#: The keys that mean something for each kind.
KEYS_OF_KIND = {kind: tuple(keys) for kind, keys in _BY_KIND.items()}


def read_chargers(sheet: Sheet, battery: Battery | None) -> tuple[Charger, ...]:
    """Every other charger; without those that something is wrong with."""
    tables = sheet.tables("charger")
    kinds = [_kind_of(table) for table in tables]
    for place, (table, kind) in enumerate(zip(tables, kinds, strict=True)):
        table.take(CHARGER_KEYS)
        number = f" {kinds[: place + 1].count(kind)}" if kinds.count(kind) > 1 else ""
        if "name" not in table.data and kind is not None:
            table.given["name"] = kind + number
    found = [_read(table, kind, battery) for table, kind in zip(tables, kinds, strict=True)]
    refuse_doubles(tables)
    return tuple(charger for charger in found if charger is not None)


def _kind_of(table: TomlTable) -> str | None:
    """The kind that is named, or None where it is none; `take` tells what is wrong with it."""
    name = table.data.get("kind")
    word = " ".join(name.casefold().split()) if isinstance(name, str) else None
    return word if word in RECORD_OF_KIND else None


def _read(table: TomlTable, kind: str | None, battery: Battery | None):
    if kind is None:
        return None
    _refuse_others_keys(table, kind)
    given, data = table.given, table.data
    record = RECORD_OF_KIND[kind]
    for key in _needed_by(kind):
        if key.name not in data:
            table.problem(None, f"no {key.name}", f"{key.name}: {key.expected}")
    never = record.never.get(kind, {})
    for field, why in never.items():
        if given.get(field):
            table.problem(_name_of(kind, field), why, "false")
    free = given.get("regulated") is False
    for name in _SETPOINTS:
        if free and name in data:
            table.problem(name, "it has no regulator: regulated is false", "no such line")
    if record.stream is not None:
        _settle_curve(table, kind, record.stream)
    used = set(KEYS_OF_KIND[kind]) - {_name_of(kind, field) for field in never}
    used -= set(_SETPOINTS) if free else set()
    table.fill(
        [key for key in CHARGER_KEYS if key.name in used],
        record_defaults(record, **record.own_reasons.get(kind, {})),
    )
    if table.sound and given.get("from_kn", 0.0) >= given.get("to_kn", 40.0):
        table.problem(
            "from" if "from" in data else "to",
            f"it would be in the water from {written(given['from_kn'], 'kn')} to "
            f"{written(given['to_kn'], 'kn')}",
            "from below to, for example 3 kn and 8 kn",
        )
    if table.sound and battery is not None and not free:
        settle_setpoints(table, CHARGER_KEYS, battery, "absorption", "float")
    if len(record.kinds) == 1:
        given.pop("kind", None)  # the record's class says it
    return table.build(record)


def _name_of(kind: str, field: str) -> str:
    """The key by which a field of a kind is set."""
    return next(key.name for key in _BY_KIND[kind].values() if key.field == field)


def _needed_by(kind: str) -> list[Key]:
    """The keys of a kind whose fields have no default at all."""
    record: type = RECORD_OF_KIND[kind]
    bare = {one.name for one in fields(record) if one.default is MISSING}
    return [key for key in _BY_KIND[kind].values() if key.field in bare]


def _refuse_others_keys(table: TomlTable, kind: str) -> None:
    """A key of another kind would change nothing, and the sailor thinks that it does."""
    for name in table.data:
        if name in _KNOWN and name not in KEYS_OF_KIND[kind]:
            has = ", ".join(KEYS_OF_KIND[kind])
            table.problem(name, f"means nothing for kind {kind!r}", f"one of {has}")


def _settle_curve(table: TomlTable, kind: str, stream: Stream) -> None:
    """The sailor's curve, or the invented one of that kind, scaled to the rotor if it is known."""
    given, data = table.given, table.data
    file = given.pop("curve", None)
    if file is not None:
        curve = _read_own_curve(table, stream, file)
        if curve is None:
            return
        if "diameter" not in data:
            table.assume("diameter", "unknown", "then its curve is not checked against any limit")
    elif "curve" in data or ("diameter" in data and "diameter_m" not in given):
        return
    else:
        usual_m = GENERIC_DIAMETER_M[kind]
        if "diameter" not in data:
            given["diameter_m"] = usual_m
            table.assume("diameter", written(usual_m, "m"), "that of the invented curve")
        curve = generic_curve(kind, diameter_m=given["diameter_m"])
        reason = f"an invented rotor of {written(usual_m, 'm')}"
        reason += ", scaled to yours by area" if "diameter" in data else ""
        table.assume("curve", "generic", f"{reason}; your own readings are better")
    given |= {stream.field: curve.speeds, "powers_W": curve.powers_W}


def _read_own_curve(table: TomlTable, stream: Stream, file: str):
    path = file_beside(table, "curve", file, example="my-curve.csv")
    if path is None:
        return None
    curve = read_curve(path, stream, diameter_m=table.given.get("diameter_m"))
    for problem in curve.problems:
        table.sound = False
        if problem.line is not None:
            table.sheet.problems.append(problem)
            continue
        expected = f"a CSV file with columns {stream.name}_kn and power_W, or no such line"
        table.problem("curve", f"{quoted(file)}: {problem.text}", problem.expected or expected)
    return curve
