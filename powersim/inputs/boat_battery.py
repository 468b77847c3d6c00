"""The [battery] table: a sticker, and what the chemistry implies for the rest."""

from __future__ import annotations

import itertools

from powersim.inputs.bank_place import BANK_PLACE
from powersim.inputs.cycle_life import CYCLE_LIFE
from powersim.inputs.toml_keys import WEIGHT, Key, choice, number, quantity, share, written
from powersim.inputs.toml_table import Sheet, Table, record_defaults
from powersim.inputs.voltages import judge_voltages
from powersim.records import (
    CHEMISTRIES,
    READINGS,
    Battery,
    chemistry_default,
)

# Below and above these is a slip of the unit or of the point, and no bank; our judgement.
_CAPACITY = quantity("Ah", least=1.0, most=20_000.0)
_USUAL_AH = (40.0, 2_000.0)
_NOMINAL = quantity("V", above=0.0, most=96.0)
_VOLTAGE = quantity("V", above=0.0, most=120.0)

BATTERY_KEYS = (
    Key(
        "chemistry",
        "chemistry",
        choice(*CHEMISTRIES),
        f"one of {', '.join(CHEMISTRIES)}",
        required=True,
    ),
    Key(
        "capacity",
        "capacity_Ah",
        _CAPACITY,
        "charge at the 20-hour rate, for example 220 Ah",
        required=True,
        usual=_USUAL_AH,
    ),
    Key(
        "capacity_10h",
        "capacity_10h_Ah",
        _CAPACITY,
        "charge at the 10-hour rate, for example 200 Ah",
        usual=_USUAL_AH,
    ),
    Key(
        "capacity_5h",
        "capacity_5h_Ah",
        _CAPACITY,
        "charge at the 5-hour rate, for example 180 Ah",
        usual=_USUAL_AH,
    ),
    Key(
        "peukert",
        "peukert_exponent",
        number(least=1.0, most=1.9),
        "the Peukert exponent, from 1 to 1.9, for example 1.2",
        usual=(1.0, 1.4),
    ),
    Key("nominal", "nominal_V", _NOMINAL, "12 V, 24 V, 36 V or 48 V"),
    Key(
        "health",
        "health_frac",
        share(least=0.1, most=1.2),
        "what is left of the label's capacity, for example 85 %",
        usual=(0.5, 1.05),
    ),
    Key("at_departure", "soc_at_departure", share(), "charge when you leave, for example 100 %"),
    Key("floor", "floor_soc", share(), "the lowest charge that you plan for, for example 50 %"),
    Key(
        "flat",
        "flat_soc",
        share(),
        "charge at which the bank counts as flat, below the floor, for example 20 %",
    ),
    Key(
        "cutout",
        "cutout_V",
        _VOLTAGE,
        "voltage under load at which things drop out, for example 11.5 V",
    ),
    Key(
        "self_discharge",
        "self_discharge_frac_per_month",
        quantity("frac/month", also=("frac",), least=0.0, most=0.99),
        "share of its charge lost in a month at rest, for example 5 %",
        usual=(0.0, 0.20),
    ),
    Key(
        "standby",
        "standby_A",
        quantity("A", least=0.0, most=5.0),
        "what the bank's own protection takes, for example 30 mA",
        usual=(0.0, 0.3),
    ),
    Key(
        "charge_efficiency",
        "charge_efficiency_frac",
        share(least=0.5),
        "ampere-hours out for those put in, for example 88 %",
        usual=(0.7, 1.0),
    ),
    Key("absorption", "absorption_V", _VOLTAGE, "charging voltage at 25 degC, for example 14.4 V"),
    Key("float", "float_V", _VOLTAGE, "holding voltage at 25 degC, for example 13.5 V"),
    Key(
        "temp_comp",
        "temp_comp_V_per_C",
        quantity("V/degC", least=-1.0, most=1.0),
        "change of the charging voltage with warmth, for example -30 mV/degC",
    ),
    Key(
        "full_tail",
        "full_tail_frac",
        share(above=0.0, most=0.2),
        "current that counts as full, as a share of capacity, for example 2 %",
        usual=(0.003, 0.1),
    ),
    Key(
        "cycle_life",
        "cycle_life",
        CYCLE_LIFE,
        "cycles to the end of its life by depth, for example 1200 at 30 %; 700 at 50 %",
    ),
    Key(
        "reading", "reading", choice(*READINGS), f"how you read its charge: {' or '.join(READINGS)}"
    ),
    Key(
        "temperature",
        "place",
        BANK_PLACE,
        "how warm the bank is, for example 12 degC; or where it stands, for example cabin, or "
        "bilge, at least 5 degC if it is heated",
    ),
    Key("weight", "weight_kg", WEIGHT, "what the whole bank weighs, for example 58 kg"),
)
_KEY = {key.field: key for key in BATTERY_KEYS}
#: Reasons for the defaults that hold for every chemistry.
_REASONS = {
    "nominal_V": "most small boats",
    "soc_at_departure": "leaves fully charged",
    "reading": "a voltmeter is aboard; a monitor may not be",
    "place": "low in the boat: 3 degC above the air, or halfway to the cabin_temp of the leg; "
    "common practice, no source",
}
_SLOWEST_FIRST = (("capacity_Ah", 20), ("capacity_10h_Ah", 10), ("capacity_5h_Ah", 5))


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
    table.fill(BATTERY_KEYS, record_defaults(Battery, **_REASONS))
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
    return table.build(Battery)


def settle_setpoints(
    table: Table, keys, battery: Battery, *names: str, drop_V: float = 0.0
) -> None:
    """Note which of a charger's setpoints are the bank's own, and refuse those that cannot be.

    Parameters
    ----------
    table : Table
        The charger's; its record holds None for what is not given.
    keys : iterable of Key
        What it may hold.
    battery : Battery
        The bank that it charges.
    names : str
        Keys among absorption, float and temp_comp that this charger has.
    drop_V : float
        Lost between it and the bank. [V]
    """
    for key in BATTERY_KEYS:
        if key.name in names and key.name not in table.data:
            value = key.kind.write(getattr(battery, key.field))
            table.assume(key.name, value, f"as {battery.chemistry} wants it")
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


def _check_nominal(table: Table) -> bool:
    nominal_V = table.given.get("nominal_V", 12.0)
    if nominal_V not in (12.0, 24.0, 36.0, 48.0):
        _refuse(table, "nominal_V", f"no bank has {written(nominal_V, 'V')}")
    return table.sound


def _check_levels(table: Table) -> None:
    flat, floor = table.given["flat_soc"], table.given["floor_soc"]
    if floor >= 1:
        _refuse(table, "floor_soc", "leaves nothing to use above it")
    elif flat >= floor:
        _refuse(
            table,
            "floor_soc" if "floor" in table.data else "flat_soc",
            f"the floor of {written(floor, 'frac')} is not above flat, {written(flat, 'frac')}",
        )


def _check_voltages(table: Table) -> None:
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


def _check_capacities(table: Table) -> None:
    """A faster discharge gives less, but at more amperes."""
    given = table.given
    rated = [(field, hours, given[field]) for field, hours in _SLOWEST_FIRST if field in given]
    for (_, slow_h, slow_Ah), (field, fast_h, fast_Ah) in itertools.pairwise(rated):
        if not slow_Ah / slow_h * fast_h < fast_Ah <= slow_Ah:
            table.problem(
                _KEY[field].name,
                f"{written(fast_Ah, 'Ah')} at the {fast_h}-hour rate does not fit "
                f"{written(slow_Ah, 'Ah')} at the {slow_h}-hour rate",
                "less than at the slower rate, for example 200 Ah after 220 Ah",
            )


def _refuse(table: Table, field: str, text: str) -> None:
    key = _KEY[field]
    table.problem(key.name if key.name in table.data else None, text, key.expected)
