"""Quantities as a sailor writes them. The only module that knows pint, and it seldom asks it.

Common units convert from the table below, each entry of which a test holds against pint. Only a
unit that is not in the table is handed to pint, whose registry takes a third of a second to
build; and pint sees a number and a unit, never the text, which it would misread: `45,5` as 455,
`nm` as nanometres, `amps` as a speed.
"""

from __future__ import annotations

import functools
import math
import re
from decimal import Decimal
from typing import NamedTuple

from powersim.inputs.text import ReadingError, did_you_mean, quoted
from powersim.records.units_aboard import IMPERIAL_GALLONS, US_GALLONS, aboard


class UnitError(ReadingError):
    """A quantity cannot be read, or measures something else than was asked for."""


class Unit(NamedTuple):
    """One unit: value in the base unit of its dimension = (number + shift) * factor."""

    symbol: str
    dimension: str  # as it reads in a message: "'220 W' is a power"
    factor: float
    pint_name: str
    spellings: tuple[str, ...] = ()
    shift: float = 0.0


_CURRENT, _CHARGE, _POWER, _ENERGY = "a current", "a charge", "a power", "an energy"
_VOLTAGE, _RESISTANCE, _TIME, _LENGTH = "a voltage", "a resistance", "a time", "a length"
_SPEED, _VOLUME, _BURN, _SHARE = "a speed", "a volume", "a volume over time", "a share"
_TEMPERATURE, _ANGLE, _MASS = "a temperature", "an angle", "a mass"
_TIME_A_DAY, _CHARGE_A_DAY, _ENERGY_A_DAY = "a time a day", "a charge a day", "an energy a day"
_SHARE_A_MONTH, _VOLTAGE_SLOPE, _SHARE_SLOPE = (
    "a share a month",
    "volts a degree",
    "a share a degree",
)
_FUEL_SLOPE = "a volume for an energy"

_US_GALLON_L, _IMPERIAL_GALLON_L = US_GALLONS.size, IMPERIAL_GALLONS.size
_NM_M = 1852.0  # by definition

#: The first unit of each dimension is its base. Spellings ignore case; the symbol is one of them.
UNITS = (
    Unit("A", _CURRENT, 1.0, "ampere", ("amp", "amps", "ampere", "amperes")),
    Unit("mA", _CURRENT, 1e-3, "milliampere", ("milliamp", "milliamps")),
    Unit("Ah", _CHARGE, 1.0, "ampere_hour", ("amp hour", "amp hours", "amp-hours", "A h", "A·h")),
    Unit("mAh", _CHARGE, 1e-3, "milliampere_hour"),
    Unit("W", _POWER, 1.0, "watt", ("watt", "watts")),
    Unit("mW", _POWER, 1e-3, "milliwatt"),
    Unit("kW", _POWER, 1e3, "kilowatt", ("kilowatt", "kilowatts")),
    Unit("hp", _POWER, 745.6998715822701, "horsepower", ("horsepower",)),  # 550 ft lbf/s
    Unit("PS", _POWER, 735.49875, "metric_horsepower", ("cv",)),  # 75 kgf m/s
    Unit("Wh", _ENERGY, 1.0, "watt_hour", ("watt hour", "watt hours", "W h", "W·h")),
    Unit("kWh", _ENERGY, 1e3, "kilowatt_hour", ("kilowatt hours",)),
    Unit("V", _VOLTAGE, 1.0, "volt", ("volt", "volts")),
    Unit("mV", _VOLTAGE, 1e-3, "millivolt"),
    Unit("ohm", _RESISTANCE, 1.0, "ohm", ("ohms", "Ω")),
    Unit("mohm", _RESISTANCE, 1e-3, "milliohm", ("mohms", "milliohm", "milliohms", "mΩ")),
    Unit("h", _TIME, 1.0, "hour", ("hr", "hrs", "hour", "hours")),
    Unit("min", _TIME, 1 / 60, "minute", ("mins", "minute", "minutes")),
    Unit("s", _TIME, 1 / 3600, "second", ("sec", "second", "seconds")),
    Unit("day", _TIME, 24.0, "day", ("d", "days")),
    Unit("week", _TIME, 168.0, "week", ("weeks",)),
    Unit("m", _LENGTH, 1.0, "meter", ("metre", "metres", "meter", "meters")),
    Unit("cm", _LENGTH, 1e-2, "centimeter"),
    Unit("mm", _LENGTH, 1e-3, "millimeter"),
    Unit("km", _LENGTH, 1e3, "kilometer"),
    Unit("ft", _LENGTH, 0.3048, "foot", ("foot", "feet")),
    Unit("in", _LENGTH, 0.0254, "inch", ("inch", "inches")),
    Unit("nm", _LENGTH, _NM_M, "nautical_mile", ("nmi", "nautical mile", "nautical miles")),
    Unit("kn", _SPEED, 1.0, "knot", ("kt", "kts", "knot", "knots")),
    Unit("m/s", _SPEED, 3600 / _NM_M, "meter/second"),
    Unit("km/h", _SPEED, 1000 / _NM_M, "kilometer/hour", ("kmh", "kph")),
    Unit("mph", _SPEED, 1609.344 / _NM_M, "mile/hour"),
    Unit("nm/h", _SPEED, 1.0, "nautical_mile/hour"),
    Unit("nm/day", _SPEED, 1 / 24, "nautical_mile/day"),
    Unit("L", _VOLUME, 1.0, "liter", ("litre", "litres", "liter", "liters")),
    Unit("mL", _VOLUME, 1e-3, "milliliter"),
    Unit("gal", _VOLUME, _US_GALLON_L, "gallon", ("gallon", "gallons", "US gal", "US gallons")),
    Unit("imp gal", _VOLUME, _IMPERIAL_GALLON_L, "imperial_gallon", ("UK gal", "imperial gallons")),
    Unit("L/h", _BURN, 1.0, "liter/hour", ("lph",)),
    Unit("L/day", _BURN, 1 / 24, "liter/day"),
    Unit("mL/h", _BURN, 1e-3, "milliliter/hour"),
    Unit("gal/h", _BURN, _US_GALLON_L, "gallon/hour", ("gph", "US gph", "US gal/h")),
    Unit("imp gal/h", _BURN, _IMPERIAL_GALLON_L, "imperial_gallon/hour"),
    Unit("frac", _SHARE, 1.0, "dimensionless", ("fraction",)),
    Unit("%", _SHARE, 1e-2, "percent", ("percent", "per cent", "pct")),
    Unit("okta", _SHARE, 1 / 8, "okta", ("oktas",)),  # an eighth of the sky
    Unit("degC", _TEMPERATURE, 1.0, "degree_Celsius", ("°C", "C", "deg C", "° C", "celsius")),
    Unit("degF", _TEMPERATURE, 5 / 9, "degree_Fahrenheit", ("°F", "F", "deg F", "° F"), -32.0),
    Unit("K", _TEMPERATURE, 1.0, "kelvin", ("kelvin",), -273.15),
    Unit("deg", _ANGLE, 1.0, "degree", ("°", "degree", "degrees")),
    Unit("rad", _ANGLE, 180 / math.pi, "radian"),
    Unit("kg", _MASS, 1.0, "kilogram"),
    Unit("g", _MASS, 1e-3, "gram"),
    Unit("lb", _MASS, 0.45359237, "pound", ("lbs",)),
    Unit("h/day", _TIME_A_DAY, 1.0, "hour/day"),
    Unit("min/day", _TIME_A_DAY, 1 / 60, "minute/day"),
    Unit("s/day", _TIME_A_DAY, 1 / 3600, "second/day"),
    Unit("Ah/day", _CHARGE_A_DAY, 1.0, "ampere_hour/day"),
    Unit("Wh/day", _ENERGY_A_DAY, 1.0, "watt_hour/day"),
    Unit("kWh/day", _ENERGY_A_DAY, 1e3, "kilowatt_hour/day"),
    Unit("frac/month", _SHARE_A_MONTH, 1.0, "1/month"),
    Unit("%/month", _SHARE_A_MONTH, 1e-2, "percent/month"),
    Unit("V/degC", _VOLTAGE_SLOPE, 1.0, "volt/delta_degree_Celsius", ("V/K",)),
    Unit("mV/degC", _VOLTAGE_SLOPE, 1e-3, "millivolt/delta_degree_Celsius", ("mV/K",)),
    Unit("frac/degC", _SHARE_SLOPE, 1.0, "1/delta_degree_Celsius", ("frac/K", "1/degC")),
    Unit("%/degC", _SHARE_SLOPE, 1e-2, "percent/delta_degree_Celsius", ("%/K",)),
    Unit("L/kWh", _FUEL_SLOPE, 1.0, "liter/kilowatt_hour"),
    Unit("gal/kWh", _FUEL_SLOPE, _US_GALLON_L, "gallon/kilowatt_hour", ("US gal/kWh",)),
    Unit("imp gal/kWh", _FUEL_SLOPE, _IMPERIAL_GALLON_L, "imperial_gallon/kilowatt_hour"),
)
_BASES: dict[str, Unit] = {}
for _unit in UNITS:
    _BASES.setdefault(_unit.dimension, _unit)


def _key(spelling: str) -> str:
    return " ".join(spelling.casefold().split())


_BY_SPELLING = {_key(name): unit for unit in UNITS for name in (unit.symbol, *unit.spellings)}
#: Milli and mega differ by a thousand million and by nothing but case, so case counts here.
_NEVER_MEGA = frozenset(("ma", "mah", "mw", "mv", "mohm", "mω", "ml", "m"))
_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_NOT_FINITE = re.compile(r"[+-]?(?:nan|inf(?:inity)?)\b", re.IGNORECASE)
_COMMA = re.compile(r"[+-]?[0-9]*,[0-9]")
#: What may be handed to pint: words joined by / or *, with small whole powers.
_FOR_PINT = re.compile(r"[A-Za-zµμ_]+[23]?(?: ?[/*] ?[A-Za-zµμ_]+[23]?){0,3}")
#: Of no country: the smaller one, of the US, unless the boat reckons in the other.
_GALLONS = re.compile(r"(?:gal|gallons?|gph)\b", re.IGNORECASE)
_WORD = re.compile(r"[A-Za-zµμ_]+")
_SENSIBLE_PREFIXES = {"", "micro", "milli", "centi", "deci", "hecto", "kilo", "mega"}


def split(text: str) -> tuple[float, str | None]:
    """Number and unit of a quantity as typed; the unit is None if there is none.

    Parameters
    ----------
    text : str
        As typed.

    Raises
    ------
    UnitError
        If the text does not begin with a finite number, written with a decimal point.

    Examples
    --------
    >>> split("1.5 kW")
    (1.5, 'kW')
    >>> split("20 US gal")
    (20.0, 'US gal')
    """
    plain = text.strip().replace("\N{MINUS SIGN}", "-")
    if not plain:
        raise UnitError("is empty")
    if _COMMA.match(plain):
        raise UnitError(
            f"{quoted(text)} has a comma in its number; write a decimal point, as in 45.5, "
            "and nothing between thousands"
        )
    if _NOT_FINITE.match(plain):
        raise UnitError(f"{quoted(text)} is not a finite number")
    found = _NUMBER.match(plain)
    if found is None:
        raise UnitError(f"cannot read {quoted(text)}")
    number = float(found.group())
    if not math.isfinite(number):
        raise UnitError(f"{quoted(text)} is not a finite number")
    unit = " ".join(plain[found.end() :].split())
    if unit and (unit[0].isdigit() or unit[0] in ".,"):
        raise UnitError(f"cannot read {quoted(text)}")
    return number, unit or None


def find(spelling: str) -> Unit | None:
    """The table's entry for a spelling, or None.

    Parameters
    ----------
    spelling : str
        Of a unit, as typed.

    Examples
    --------
    >>> find("Amps").symbol
    'A'
    >>> find("hours per day").symbol
    'h/day'
    """
    key = _key(spelling)
    if spelling.strip()[:1] == "M" and key in _NEVER_MEGA:
        return None
    if key in _BY_SPELLING:
        return _BY_SPELLING[key]
    over, slash, under = key.replace(" per ", "/").replace(" a day", "/day").partition("/")
    top, bottom = _BY_SPELLING.get(over.strip()), _BY_SPELLING.get(under.strip())
    if not slash or top is None or bottom is None:
        return None
    return _BY_SPELLING.get(_key(f"{top.symbol}/{bottom.symbol}"))


def dimension_name(unit: str) -> str:
    """What a unit measures, as it reads in a message.

    Examples
    --------
    >>> dimension_name("Ah")
    'a charge'
    """
    return _known(unit).dimension


def to_float(text: str, unit: str, *, bare: str | None = None) -> float:
    """A quantity as typed, as a number of the given unit.

    Parameters
    ----------
    unit : str
        A symbol of the table above that the answer is wanted in; "frac" for a share.
    bare : str or None
        The unit of a number without one, where a column's heading names it.

    Raises
    ------
    UnitError
        With a `reason` that can be shown to the sailor.

    Examples
    --------
    >>> to_float("1.5 kW", "W")
    1500.0
    >>> to_float("65 degF", "degC")
    18.333333
    >>> to_float("36", "W", bare="W")
    36.0
    """
    return measure(text, (unit,), bare=bare)[0]


def measure(text: str, units: tuple[str, ...], *, bare: str | None = None) -> tuple[float, str]:
    """A quantity as typed, in the first of several units that measures the same thing.

    Examples
    --------
    >>> measure("1200 mA", ("A", "W"))
    (1.2, 'A')
    """
    number, spelling = split(text)
    spelling = bare if spelling is None else spelling
    if spelling is None:
        raise UnitError(f"{quoted(text)} has no unit")
    unit = find(spelling)
    if _GALLONS.match(spelling) and aboard().volume is IMPERIAL_GALLONS:
        raise UnitError(
            f"{quoted(text)} may be of either gallon, and units says imperial ones; write imp gal, "
            "or US gal"
        )
    if unit is None:
        dimension, in_base = _by_pint(text, number, spelling)
    else:
        dimension, in_base = unit.dimension, _in_base(number + unit.shift, unit.factor)
    for symbol in units:
        target = _known(symbol)
        if target is unit:
            return number, symbol
        if target.dimension == dimension:
            return _finite(text, in_base / target.factor - target.shift), symbol
    raise UnitError(f"{quoted(text)} is {dimension}")


def _in_base(number: float, factor: float) -> float:
    """A number times its factor, rounded once: 95 times 0.01 is above 0.95, 95 / 100 is not."""
    parts = round(1.0 / factor)
    return number / parts if parts > 1 and 1.0 / parts == factor else number * factor


def scaled(text: str, factor: float) -> str:
    """A quantity as typed with its number multiplied, and all else of it as it stands.

    Returns
    -------
    str
        The number with three digits, without an exponent.

    Raises
    ------
    UnitError
        If the text does not begin with a number.

    Examples
    --------
    >>> scaled("1.5 kW", 1.234), scaled(" 12000mW", 1.234), scaled("0.04", 1.234)
    ('1.85 kW', ' 14800mW', '0.0494')
    """
    found = _NUMBER.match(text, len(text) - len(text.lstrip()))
    if found is None:
        raise UnitError(f"cannot read {quoted(text)}")
    rounded = Decimal(f"{float(found.group()) * factor:.2e}").normalize()
    return f"{text[: found.start()]}{rounded:f}{text[found.end() :]}"


def _known(symbol: str) -> Unit:
    unit = find(symbol)
    if unit is None:
        raise KeyError(symbol)
    return unit


def _finite(text: str, number: float) -> float:
    if not math.isfinite(number):
        raise UnitError(f"{quoted(text)} is not a finite number")
    return number


@functools.cache
def _registry():
    import pint

    return pint.UnitRegistry()


def _by_pint(text: str, number: float, spelling: str) -> tuple[str, float]:
    """Dimension and value in its base unit, for a unit that is not in the table."""
    unknown = UnitError(_unknown_unit(text, spelling))
    if spelling[:1] == "M" and _key(spelling) in _NEVER_MEGA:
        small = "m" + spelling[1:]
        raise UnitError(f"{quoted(text)} has a capital M; write {small!r} if you mean that")
    if len(spelling) > 40 or not _FOR_PINT.fullmatch(spelling):
        raise unknown
    import pint

    registry = _registry()
    try:
        for word in _WORD.findall(spelling):
            prefixes = {prefix for prefix, _, _ in registry.parse_unit_name(word)}
            if find(word) is None and not prefixes & _SENSIBLE_PREFIXES:
                raise unknown  # such as aW, an attowatt, for a slip of the pen
        quantity = registry.Quantity(number, _in_pints_words(spelling))
        for base in _BASES.values():
            if quantity.is_compatible_with(base.pint_name):
                return base.dimension, float(quantity.to(base.pint_name).magnitude)
    except (pint.PintError, ValueError, TypeError, AttributeError, ArithmeticError):
        raise unknown from None
    raise unknown


def _in_pints_words(spelling: str) -> str:
    """The unit with our own spellings replaced, so that `nm/min` is no nanometre a minute."""

    def known(match):
        unit = find(match.group())
        return match.group() if unit is None else unit.pint_name

    return re.sub(r"([23])", r"**\1", _WORD.sub(known, spelling))


def _unknown_unit(text: str, spelling: str) -> str:
    reason = f"cannot read {quoted(text)}"
    if not text.strip().endswith(" " + spelling):
        return reason  # such as 3OW, where the letter may be a slip in the number
    reason += f": unknown unit {quoted(spelling)}"
    if len(spelling) < 3:
        return reason
    return reason + did_you_mean(
        spelling, (name for unit in UNITS for name in (unit.symbol, *unit.spellings))
    )
