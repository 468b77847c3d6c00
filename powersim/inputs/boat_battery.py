"""The [battery] table: a sticker, and what the chemistry implies for the rest."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from powersim.inputs.bank_place import BANK_PLACE
from powersim.inputs.cycle_life import CYCLE_LIFE
from powersim.inputs.rested_points import RESTED_POINTS
from powersim.inputs.text import quoted
from powersim.inputs.toml_keys import keys_of, written
from powersim.inputs.toml_table import Sheet, TomlTable, record_defaults
from powersim.inputs.voltages import judge_voltages
from powersim.records import (
    CHEMISTRIES,
    Battery,
    chemistry_default,
)
from powersim.records.battery import NOMINAL_V, RATED_IN_H, unfit_ratings
from powersim.records.rested_points import rested_fault

if TYPE_CHECKING:
    from powersim.inputs.toml_keys import Key

BATTERY_KEYS = keys_of(
    Battery, kinds={"cycle_life": CYCLE_LIFE, "place": BANK_PLACE, "rested": RESTED_POINTS}
)
_KEY = {key.field: key for key in BATTERY_KEYS}


def read_battery(sheet: Sheet) -> Battery | None:
    """The bank; None where something is wrong with it."""
    table = sheet.table("battery")
    if table is None:
        if "battery" not in sheet.document:
            sheet.problem(
                ("battery",),
                "there is no such table",
                "a line [battery], then chemistry and capacity",
            )
        return None
    given = table.take(BATTERY_KEYS)
    if not {"chemistry", "capacity_Ah"} <= given.keys():
        return None
    table.fill(BATTERY_KEYS, record_defaults(Battery))
    if not _check_nominal(table):
        return None
    chemistry, nominal_V = given["chemistry"], given.get("nominal_V", 12.0)
    defaults = {
        field: chemistry_default(chemistry, field, nominal_V=nominal_V)
        for field in CHEMISTRIES[chemistry].defaults
    }
    if {"capacity_10h_Ah", "capacity_5h_Ah"} & given.keys():  # these say it better
        given.setdefault("peukert_exponent", defaults.pop("peukert_exponent")[0])
    table.fill(BATTERY_KEYS, defaults)
    judge_voltages(table, BATTERY_KEYS, chemistry=chemistry, nominal_V=nominal_V)
    if table.sound:
        _check_levels(table)
        _check_voltages(table)
        _check_capacities(table)
        _check_rested(table)
    return table.build(Battery)


def settle_setpoints(
    table: TomlTable, keys: Iterable[Key], battery: Battery, *names: str, drop_V: float = 0.0
) -> None:
    """Note which of a charger's setpoints are the bank's own, and refuse those that cannot be.

    Parameters
    ----------
    table : TomlTable
        The charger's; its record holds None for what is not given.
    names : str
        Keys among absorption, float and temp_comp that this charger has.
    """
    for key in BATTERY_KEYS:
        if key.name in names and key.name not in table.data:
            value = key.kind.write(getattr(battery, key.field))
            table.assume(key.name, value, f"as usual for {battery.chemistry}")
    judge_voltages(
        table, keys, chemistry=battery.chemistry, nominal_V=battery.nominal_V, drop_V=drop_V
    )
    if not table.sound:
        return
    absorption_V = table.given.get("absorption_V", battery.absorption_V)
    float_V = table.given.get("float_V", battery.float_V)
    if float_V > absorption_V:
        table.problem(
            "float" if "float" in table.data else "absorption",
            f"float at {written(float_V, 'V')} is above absorption at {written(absorption_V, 'V')}",
            "a float voltage below the absorption voltage, for example 13.5 V and 14.4 V",
        )


def _check_nominal(table: TomlTable) -> bool:
    nominal_V = table.given.get("nominal_V", 12.0)
    if nominal_V not in NOMINAL_V:
        _refuse(table, "nominal_V", f"no bank has {written(nominal_V, 'V')}")
    return table.sound


def _check_levels(table: TomlTable) -> None:
    flat, floor = table.given["flat_soc"], table.given["floor_soc"]
    if floor >= 1:
        _refuse(table, "floor_soc", "leaves nothing to use above it")
    elif flat >= floor:
        _refuse(
            table,
            "floor_soc" if "floor" in table.data else "flat_soc",
            f"the floor of {written(floor, 'frac')} is not above flat, {written(flat, 'frac')}",
        )


def _check_voltages(table: TomlTable) -> None:
    for low, high in (("cutout_V", "float_V"), ("float_V", "absorption_V")):
        low_V, high_V = table.given[low], table.given[high]
        if low_V > high_V or (low == "cutout_V" and low_V == high_V):
            wrong = next((name for name in (low, high) if _KEY[name].name in table.data), low)
            _refuse(
                table,
                wrong,
                f"{_KEY[low].name} at {written(low_V, 'V')} is not below {_KEY[high].name} "
                f"at {written(high_V, 'V')}",
            )


def _check_capacities(table: TomlTable) -> None:
    for fast, slow in unfit_ratings(table.given):
        fast_said, slow_said = (
            f"{written(table.given[field], 'Ah')} at the {RATED_IN_H[field]}-hour rate"
            for field in (fast, slow)
        )
        table.problem(
            _KEY[fast].name,
            f"{fast_said} does not fit {slow_said}",
            "less than at the slower rate, for example 200 Ah after 220 Ah",
        )


def _check_rested(table: TomlTable) -> None:
    given = table.given
    traits, blocks = CHEMISTRIES[given["chemistry"]], given["nominal_V"] / 12.0
    fault = rested_fault(given.get("rested", ()), traits, blocks=blocks)
    if fault is not None:
        key = _KEY["rested"]
        table.problem(key.name, f"{quoted(table.data[key.name])} has {fault}", key.expected)


def _refuse(table: TomlTable, field: str, text: str) -> None:
    key = _KEY[field]
    table.problem(key.name if key.name in table.data else None, text, key.expected)
