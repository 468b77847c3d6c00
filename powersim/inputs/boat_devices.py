"""The [[device]] tables: what is charged aboard and then runs by itself."""

from __future__ import annotations

import re

from powersim.inputs.text import ReadingError, quoted
from powersim.inputs.toml_keys import ValueKind, keys_of, kind_of, one_text
from powersim.inputs.toml_table import Sheet, record_defaults, refuse_doubles
from powersim.inputs.units import to_float
from powersim.records import Device, bounds_of, declared

#: As it stands on small batteries: charge and voltage.
_AH_AT_V = re.compile(r"(?P<charge>.+?)\s*(?:\bat\b|@|\bx\b)\s*(?P<volts>.+)", re.IGNORECASE)
_SURPLUS = "surplus"


def _battery_Wh(value: object) -> float:
    """ "15 Wh" or "4 Ah at 3.7 V"."""
    text = one_text(value)
    found = _AH_AT_V.fullmatch(text.strip())
    energy_Wh = (
        to_float(found["charge"], "Ah") * to_float(found["volts"], "V")
        if found
        else to_float(text, "Wh")
    )
    bounds = bounds_of(Device, "battery_Wh")
    if energy_Wh not in bounds:
        raise ReadingError(f"{quoted(text)} is not {bounds} Wh")
    return energy_Wh


def _when_soc(value: object) -> float | None:
    if isinstance(value, str) and value.strip().casefold() == _SURPLUS:
        return None
    return _CHARGE.read(value)


_CHARGE = kind_of(declared(Device)["when_soc"])
_ENERGY = kind_of(declared(Device)["battery_Wh"])
DEVICE_KEYS = keys_of(
    Device,
    kinds={
        "battery_Wh": ValueKind(read=_battery_Wh, write=_ENERGY.write, span=_ENERGY.span),
        "when_soc": ValueKind(
            read=_when_soc,
            write=lambda found: _SURPLUS if found is None else _CHARGE.write(found),
            span=f"{_SURPLUS}; {_CHARGE.span}",
        ),
    },
)


def read_devices(sheet: Sheet) -> tuple[Device, ...]:
    """Every device that could be read."""
    tables = sheet.tables("device")
    devices: list[Device | None] = []
    levels: dict[float, str] = {}
    for table in tables:
        given = table.take(DEVICE_KEYS)
        level = given.get("when_soc")
        if level is not None:
            levels.setdefault(level, table.data["when"])
            if len(levels) > 1:
                first = next(iter(levels.values()))
                table.problem(
                    "when",
                    f"{quoted(table.data['when'])} differs from {quoted(first)} of another device",
                    "one charge for all that are charged before the bank is full, or surplus",
                )
        table.fill(DEVICE_KEYS, record_defaults(Device))
        device = table.build(Device)
        if device is not None and device.takes_Wh_per_day > 24.0 * device.charge_W:
            table.problem(
                "use",
                f"{quoted(table.data['use'])} is more than it can be charged with in a day, "
                f"{24.0 * device.charge_W * device.efficiency_frac:.4g} Wh",
                "a smaller use, or more watts in charge",
            )
        devices.append(device)
    refuse_doubles(tables)
    return tuple(device for device in devices if device is not None)
