"""What a key of boat.toml may hold: how it is read, between which bounds, how it is written."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from typing import Any

from powersim.inputs.text import LONGEST_NAME, ReadingError, did_you_mean, quoted
from powersim.inputs.units import measure, split, to_float
from powersim.records import Fuel
from powersim.records.declared import Bounds, Declared, bounds_of, declared
from powersim.records.units_aboard import CELSIUS, FAHRENHEIT, LITRES, UnitAboard, aboard


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueKind:
    """How a value is read from TOML and written back in an assumption.

    Attributes
    ----------
    read : callable
        From what TOML holds to what the record wants; raises ReadingError.
    write : callable
        The other way round, as text with its unit.
    span : str
        What is accepted, in words, for docs/reference; empty where the reader says it better.
    listed : bool
        Whether TOML holds a list of texts.
    """

    read: Callable[[Any], Any]
    write: Callable[[Any], str] = str
    span: str = ""
    listed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Key(Declared):
    """One key of a table: what is known of its field, and how it is read.

    Attributes
    ----------
    kind : ValueKind
        How it is read and written.
    """

    kind: ValueKind

    @property
    def usual_span(self) -> str:
        """What is usual, in words; empty where anything is."""
        return "" if self.usual is None else " to ".join(map(self.kind.write, self.usual))

    def is_usual(self, value: Any) -> bool:
        """Whether such boats have it so."""
        return self.usual is None or self.usual[0] <= value <= self.usual[1]


def key_of(name: str, kind: ValueKind, meaning: str, example: str = "", **more: Any) -> Key:
    """A key that fills no field of a record by itself; `more` as in Key."""
    return Key(**({"field": name} | more), name=name, kind=kind, meaning=meaning, example=example)


def keys_of(
    record: type,
    *,
    kinds: Mapping[str, ValueKind] | None = None,
    also: Mapping[str, Key] | None = None,
) -> tuple[Key, ...]:
    """The keys of a table of boat.toml, as its record declares them.

    Parameters
    ----------
    kinds : mapping of str to ValueKind, optional
        By field: how it is read, where that takes more than its type and its unit.
    also : mapping of str to Key, optional
        By field: a key behind it that has no field of its own.
    """
    found = []
    for name, one in declared(record).items():
        known = {each.name: getattr(one, each.name) for each in fields(one)}
        found.append(Key(kind=(kinds or {}).get(name) or kind_of(one), **known))
        found += [also[name]] if also and name in also else []
    return tuple(found)


def kind_of(one: Declared) -> ValueKind:
    """How a field is read whose type and unit say it."""
    if one.one_of:
        return choice(*one.one_of)
    if one.bounds is None:
        return {bool: FLAG, str: NAME}[one.holds]
    if one.unit is None:
        return number(one.bounds, whole=one.holds is int)
    return quantity(one.unit, one.bounds)


#: Units of another dimension that stand for the same number.
_ALSO = {"frac/month": ("frac",)}


def quantity(unit: str, bounds: Bounds) -> ValueKind:
    """A number with its unit, in quotes, between bounds given in `unit`, that of the record."""

    def read(value):
        text = one_text(value)
        number, _ = measure(text, (unit, *_ALSO.get(unit, ())))
        if bounds.above and not number > bounds.least:
            raise ReadingError(f"{quoted(text)} is not above {write(bounds.least)}")
        if not number >= bounds.least:
            raise ReadingError(f"{quoted(text)} is less than {write(bounds.least)}")
        if not number <= bounds.most:
            raise ReadingError(f"{quoted(text)} is more than {write(bounds.most)}")
        return number

    def write(number):
        return written(number, unit)

    return ValueKind(read=read, write=write, span=_span(unit, bounds))


def _span(unit: str, bounds: Bounds) -> str:
    """Bounds in words, such as "above 0 Ah, at most 100,000 Ah"."""
    symbol, factor = _WRITTEN.get(unit, (unit, 1.0))
    least, most = (f"{end * factor:,.10g} {symbol}" for end in (bounds.least, bounds.most))
    return f"above {least}, at most {most}" if bounds.above else f"{least} to {most}"


#: Units of the records that a sailor would not write, what is written instead, and the factor.
_WRITTEN = {
    "frac": ("%", 100.0),
    "frac/month": ("%/month", 100.0),
    "frac/degC": ("%/degC", 100.0),
    "V/degC": ("mV/degC", 1000.0),
}


def written(number: float, unit: str) -> str:
    """A number of a record as the sailor would write it.

    Examples
    --------
    >>> written(0.85, "frac")
    '85 %'
    >>> written(0.015, "A")
    '15 mA'
    >>> written(100_000.0, "Ah")
    '100000 Ah'
    """
    if unit == "A" and 0 < number < 0.1:
        return f"{number * 1000.0:.4g} mA"
    symbol, factor = _WRITTEN.get(unit, (unit, 1.0))
    number *= factor
    number, symbol = _aboard(number, symbol)
    if abs(number) >= 9_999.5:  # from here .4g would write an exponent, or drop digits
        return f"{number:.0f} {symbol}"
    return f"{number:.4g} {symbol}"


#: Units of the records that are written in a unit aboard, and which of them that is.
_ABOARD = {"L": "volume", "L/h": "volume", "L/kWh": "volume", "degC": "temperature"}


def _aboard(number: float, unit: str) -> tuple[float, str]:
    """A number and its unit, in the unit aboard."""
    if unit not in _ABOARD:
        return number, unit
    there: UnitAboard = getattr(aboard(), _ABOARD[unit])
    if there in (LITRES, CELSIUS):
        return number, unit
    symbol = "degF" if there is FAHRENHEIT else there.symbol
    return there.of(number), "/".join([symbol, *unit.split("/")[1:]])


def choice(*names: str) -> ValueKind:
    """One of several words."""

    def read(value):
        text = one_text(value)
        word = " ".join(text.casefold().split())
        if word not in names:
            raise ReadingError(f"{quoted(text)} is not known here{did_you_mean(word, names)}")
        return word

    return ValueKind(read=read, span=", ".join(names))


def one_text(value: object) -> str:
    """A value that must stand in quotes."""
    if isinstance(value, str):
        return value
    if isinstance(value, int | float) and not isinstance(value, bool):
        raise ReadingError(f"{shown(value)} has no unit; write it with its unit, in quotes")
    raise ReadingError(f"{shown(value)} is not text in quotes")


def shown(value: object) -> str:
    """A TOML value of whatever type, in a few words.

    Examples
    --------
    >>> shown([1, 2])
    'a list'
    """
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return "a list"
    if isinstance(value, dict):
        return "a table"
    return quoted(value) if isinstance(value, str) else quoted(str(value))[1:-1]


def _read_name(value) -> str:
    if not isinstance(value, str):
        raise ReadingError(f"{shown(value)} is not text in quotes")
    name = " ".join(value.split())
    if not name.isprintable():
        raise ReadingError(f"{quoted(name)} has characters that cannot be printed")
    if not name:
        raise ReadingError("is empty")
    if len(name) > LONGEST_NAME:
        raise ReadingError(f"{quoted(name)} is longer than {LONGEST_NAME} letters")
    return name


def _read_flag(value) -> bool:
    if not isinstance(value, bool):
        raise ReadingError(f"{shown(value)} is neither true nor false")
    return value


def number(bounds: Bounds, *, whole: bool = False) -> ValueKind:
    """A plain number without a unit, such as a count; with or without quotes."""
    span = f"{bounds.least:g} to {bounds.most:g}"

    def read(value):
        if isinstance(value, str):
            found, unit = split(value)
            if unit is not None:
                raise ReadingError(f"{quoted(value)} should have no unit")
        elif isinstance(value, int | float) and not isinstance(value, bool):
            found = value
        else:
            raise ReadingError(f"{shown(value)} is not a number")
        if found not in bounds:
            raise ReadingError(f"{shown(value)} is not between {span.replace(' to ', ' and ')}")
        if whole and found != int(found):
            raise ReadingError(f"{shown(value)} is not a whole number")
        return int(found) if whole else float(found)

    return ValueKind(
        read=read, write=lambda found: f"{found:g}", span=span + (", whole" if whole else "")
    )


def yes_no(found: bool) -> str:
    """How a flag is written in TOML."""
    return "true" if found else "false"


def or_never(kind: ValueKind) -> ValueKind:
    """What a kind holds, or the word `never` for None."""

    def read(value):
        never = isinstance(value, str) and value.strip().casefold() == "never"
        return None if never else kind.read(value)

    return ValueKind(read=read, write=lambda found: "never" if found is None else kind.write(found))


NAME = ValueKind(read=_read_name, span=f"1 to {LONGEST_NAME} letters")
FLAG = ValueKind(read=_read_flag, write=yes_no, span="true, false")


def cans_L(value: object) -> float:
    """Litres in jerrycans, written as `3 x 20 L` or as a volume.

    Parameters
    ----------
    value : object
        As boat.toml has it.

    Examples
    --------
    >>> cans_L("3 x 20 L")
    60.0
    """
    text = one_text(value)
    count, cross, each = text.lower().replace("×", "x").replace("*", "x").partition("x")
    if not cross:
        litres = to_float(text, "L")
    elif not (count.strip().isascii() and count.strip().isdigit() and len(count) < 6):
        raise ReadingError(f"cannot read {quoted(text)}")
    else:
        litres = int(count) * to_float(each.strip(), "L")
    bounds = bounds_of(Fuel, "jerrycans_L")
    if litres not in bounds:
        raise ReadingError(
            f"{quoted(text)} is not between {written(bounds.least, 'L')} and "
            f"{written(bounds.most, 'L')}"
        )
    return litres


CANS = ValueKind(read=cans_L, write=lambda litres: written(litres, "L"))
