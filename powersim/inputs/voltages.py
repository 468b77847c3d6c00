"""Whether a voltage in boat.toml can be meant: by the bank's chemistry and nominal voltage."""

from __future__ import annotations

from collections.abc import Iterable

from powersim.inputs.text import quoted
from powersim.inputs.toml_keys import Key, written
from powersim.inputs.toml_table import TomlTable
from powersim.records import CHEMISTRIES, chemistry_default, impossible_voltage
from powersim.records.battery import NOMINAL_V

_SLOPE = "temp_comp_V_per_C"
#: The default that stands as the example, where it is not that of the field itself.
_EXAMPLE = {"constant_V": "absorption_V"}
_ROUNDING_V = 1e-9  # 1.2 times 12 is not quite 14.4


def judge_voltages(
    table: TomlTable, keys: Iterable[Key], *, chemistry: str, nominal_V: float, drop_V: float = 0.0
) -> None:
    """Refuse what cannot be meant of the voltages that the sailor gave; doubt what is unusual.

    Parameters
    ----------
    table : TomlTable
        The bank's, or that of something that charges it.
    keys : iterable of Key
        Of the table; those whose field is in Chemistry.voltages are looked at.
    drop_V : float
        Lost on the way to the bank: a setpoint at the source may be higher by so much. [V]
    """
    ranges = CHEMISTRIES[chemistry].voltages
    for key in keys:
        if key.name in table.data and key.field in table.given.keys() & ranges:
            _judge(table, key, chemistry, nominal_V, drop_V)


def _judge(table: TomlTable, key: Key, chemistry: str, nominal_V: float, drop_V: float) -> None:
    found, value = CHEMISTRIES[chemistry].voltages[key.field], table.given[key.field]
    blocks, unit = nominal_V / 12.0, "V/degC" if key.field == _SLOPE else "V"
    bank = f"{written(nominal_V, 'V')} {chemistry} bank"
    typed, meaning = quoted(str(table.data[key.name])), key.expected.partition(", for example")[0]
    default, _ = chemistry_default(
        chemistry, _EXAMPLE.get(key.field, key.field), nominal_V=nominal_V
    )
    example = f"for example {written(default, unit)}"
    if impossible_voltage(key.field, value, chemistry=chemistry, blocks=blocks, drop_V=drop_V):
        span = _span(found.possible_V, blocks, drop_V, unit)
        other = _other_nominal(key.field, value, chemistry, drop_V)
        table.problem(
            key.name, f"{typed} does not go with a {bank}", f"{meaning}: {span}, {example}{other}"
        )
        return
    low, high = found.usual_V[0] * blocks, found.usual_V[1] * blocks + drop_V
    if not low - _ROUNDING_V <= value <= high + _ROUNDING_V:
        span = _span(found.usual_V, blocks, drop_V, unit)
        harm = found.above if value > high else found.below
        table.doubt(key.name, f"{typed} is not the usual {span} of a {bank}", f"{harm}; {example}")


def _span(ends: tuple[float, float], blocks: float, drop_V: float, unit: str) -> str:
    low, high = written(ends[0] * blocks, unit), written(ends[1] * blocks + drop_V, unit)
    return low if low == high else f"{low} to {high}"


def _other_nominal(field: str, value: float, chemistry: str, drop_V: float) -> str:
    """The end of a message, where the figure would suit a bank of another voltage."""
    if field == _SLOPE:
        return ""
    for nominal_V in NOMINAL_V:
        blocks = nominal_V / 12.0
        if not impossible_voltage(field, value, chemistry=chemistry, blocks=blocks, drop_V=drop_V):
            return f'; or is the bank one of {nominal_V:g} V? then nominal = "{nominal_V:g} V"'
    return ""
