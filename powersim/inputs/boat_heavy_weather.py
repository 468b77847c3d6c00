"""The [heavy_weather] table: what strong wind keeps the boat and her engine from."""

from __future__ import annotations

from powersim.inputs.text import quoted
from powersim.inputs.toml_keys import keys_of
from powersim.inputs.toml_table import Sheet, TomlTable, record_defaults
from powersim.records import HeavyWeather

HEAVY_WEATHER_KEYS = keys_of(HeavyWeather)
#: What holds above a strength, and the key that has the strength.
_HANGS_ON = {
    "lie_to": "lie_to_above",
    "spray_yield": "spray_above",
    "rough_pilot": "rough_above",
    "very_rough_pilot": "very_rough_above",
}


def read_heavy_weather(sheet: Sheet) -> HeavyWeather | None:
    """What holds in bad weather; None where something is wrong with it."""
    table = sheet.table("heavy_weather")
    if table is None:
        if "heavy_weather" in sheet.document:
            return None
        sheet.assume(
            "heavy_weather",
            "none",
            "the sums leave bad weather out; 'powersim simulate' says how often it blows a gale",
        )
        return HeavyWeather()
    given = table.take(HEAVY_WEATHER_KEYS)
    _without_strength(table)
    rough_kn, very_kn = given.get("rough_above_kn"), given.get("very_rough_above_kn")
    if rough_kn is not None and very_kn is not None and not rough_kn < very_kn:
        table.problem(
            "very_rough_above",
            f"{quoted(table.data['very_rough_above'])} is not above rough_above, "
            f"{quoted(table.data['rough_above'])}",
            "more wind than rough_above, for example 22 kn and 30 kn",
        )
    defaults = record_defaults(HeavyWeather)
    for key in HEAVY_WEATHER_KEYS:  # what nothing hangs on is not assumed
        strength = _HANGS_ON.get(key.name)
        if strength is not None and strength not in table.data:
            del defaults[key.field]
    if not any(key.name.endswith("_above") for key in HEAVY_WEATHER_KEYS if key.name in table.data):
        defaults.clear()
    table.fill(HEAVY_WEATHER_KEYS, defaults)
    return table.build(HeavyWeather)


def _without_strength(table: TomlTable) -> None:
    """Doubt what is said of a sea that never comes."""
    for name, strength in _HANGS_ON.items():
        if name in table.data and strength not in table.data:
            table.doubt(
                name,
                f"{quoted(str(table.data[name]))} has no effect without {strength}",
                f"look again: {strength}, {table.known[strength].expected}",
            )
