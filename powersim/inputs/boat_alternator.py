"""The [alternator] table: what it gives when hot, and what its regulator and cable make of it."""

from __future__ import annotations

from powersim.inputs.boat_battery import settle_setpoints
from powersim.inputs.toml_keys import FLAG, key_of, keys_of, written
from powersim.inputs.toml_table import Sheet, TomlTable, record_defaults
from powersim.inputs.voltages import judge_voltages
from powersim.records import SPLITTER_V, Alternator, Battery
from powersim.records.alternator import MOST_OF_NAMEPLATE

_PRACTICE = "common practice, no source"
#: Hot output over the nameplate at charging and at motoring revs; common practice, no source. [-]
HOT_CHARGING_FRAC, HOT_MOTORING_FRAC = 0.60, 0.75
_SPLITTER = key_of(
    "splitter", FLAG, "true for a diode splitter between alternator and bank, false for none"
)
ALTERNATOR_KEYS = keys_of(Alternator, also={"cable_drop_V": _SPLITTER})


def read_alternator(sheet: Sheet, battery: Battery | None) -> Alternator | None:
    """The alternator; None if there is none or something is wrong with it."""
    table = sheet.table("alternator")
    if table is None:
        return None
    if "engine" not in sheet.document:
        table.problem(None, "there is no [engine] to turn it", "a line [engine], then rated")
    given = table.take(ALTERNATOR_KEYS)
    if not {"nameplate", "charging", "motoring"} & table.data.keys():
        table.problem(
            None, "no nameplate", f"nameplate: {ALTERNATOR_KEYS[0].expected}; or charging, motoring"
        )
    blocks = 1.0 if battery is None else battery.blocks
    table.fill(ALTERNATOR_KEYS, _fixed_defaults(given, blocks))
    table.fill(ALTERNATOR_KEYS, _output_defaults(given, battery))
    _judge_output(table)
    if given.pop("splitter", False):
        given["cable_drop_V"] = given.get("cable_drop_V", 0.0) + SPLITTER_V * blocks
    if table.sound and battery is not None:
        # One that senses at the bank makes up for the drop by itself.
        drop_V = 0.0 if given["battery_sensing"] else given["cable_drop_V"]
        if given["regulator"] == "multi-stage":
            names = ("absorption", "float")
            settle_setpoints(table, ALTERNATOR_KEYS, battery, *names, drop_V=drop_V)
        else:
            judge_voltages(
                table,
                ALTERNATOR_KEYS,
                chemistry=battery.chemistry,
                nominal_V=battery.nominal_V,
                drop_V=drop_V,
            )
    return table.build(Alternator)


def _judge_output(table: TomlTable) -> None:
    """No alternator gives more than its nameplate when hot, and none gives twice as much."""
    nameplate_A = table.given.get("nameplate_A")
    for key in ALTERNATOR_KEYS:
        if nameplate_A is None or key.field not in ("charging_A", "motoring_A"):
            continue
        output_A = table.given.get(key.field, 0.0)
        said = f"{written(output_A, 'A')} hot, and its nameplate says {written(nameplate_A, 'A')}"
        if output_A > MOST_OF_NAMEPLATE * nameplate_A:
            table.problem(key.name, said, f"less than the nameplate: {key.expected}")
        elif output_A > nameplate_A:
            table.ask(key, said)


def _fixed_defaults(given: dict, blocks: float) -> dict[str, tuple[object, str]]:
    """Defaults that ask for no other key, but for the stages that a constant regulator lacks."""
    defaults = record_defaults(Alternator)
    for field in ("constant_V", "cable_drop_V"):
        volts, reason = defaults[field]
        defaults[field] = (volts * blocks, reason)
    defaults.pop("absorption_h" if given.get("regulator") != "multi-stage" else "constant_V")
    defaults["splitter"] = (False, "no diode splitter named; one would lose another 0.6 V")
    return defaults


def _output_defaults(given: dict, battery: Battery | None) -> dict[str, tuple[float, str]]:
    """Hot output from the nameplate, or from the one figure that was measured."""
    nameplate_A = given.get("nameplate_A")
    if nameplate_A is None:
        return _output_from_the_other(given)
    most_frac, bank = None, ""
    if battery is not None and not given.get("temperature_controlled", False):
        most_frac, bank = battery.traits.alternator_frac, battery.traits.word
    defaults = {}
    for field, hot_frac in (("charging_A", HOT_CHARGING_FRAC), ("motoring_A", HOT_MOTORING_FRAC)):
        frac, why = hot_frac, "hot"
        if most_frac is not None:
            frac, why = min(hot_frac, most_frac), f"so that {bank} does not burn it"
        reason = f"{written(frac, 'frac')} of the nameplate, {why}; {_PRACTICE}"
        defaults[field] = (nameplate_A * frac, reason)
    return defaults


def _output_from_the_other(given: dict) -> dict[str, tuple[float, str]]:
    charging_A, motoring_A = given.get("charging_A"), given.get("motoring_A")
    if charging_A is not None:
        return {"motoring_A": (charging_A, "as at charging revs, which is never more")}
    if motoring_A is not None:
        ratio = HOT_CHARGING_FRAC / HOT_MOTORING_FRAC
        reason = f"{written(ratio, 'frac')} of that when motoring; {_PRACTICE}"
        return {"charging_A": (motoring_A * ratio, reason)}
    return {}
