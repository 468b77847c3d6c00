"""What a key of boat.toml may hold: how it is read, between which bounds, how it is written."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from powersim.inputs.text import ReadingError, did_you_mean, quoted
from powersim.inputs.units import measure, split, to_float

_LONGEST_NAME = 60  # characters; a name has to fit a line of a table


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """How a value is read from TOML and written back in an assumption.

    Attributes
    ----------
    read : callable
        From what TOML holds to what the record wants; raises ReadingError.
    write : callable
        The other way round, as text with its unit.
    span : str
        What is accepted, in words, for docs/reference; empty where the reader says it better.
    """

    read: Callable[[Any], Any]
    write: Callable[[Any], str] = str
    span: str = ""


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a table; by position, so that a table of them reads as one.

    Attributes
    ----------
    name : str
        As it is written in the file.
    field : str
        The field of the record that it fills.
    kind : Kind
        How it is read.
    expected : str
        What it should hold, with an example that works.
    required : bool
        Whether there is no default for it.
    usual : tuple of (float, float) or None
        As such boats have it, in the unit of the record: what lies beyond is read, and `check` asks
        whether it is meant. Our judgement; None where anything is usual.
    """

    name: str
    field: str
    kind: Kind
    expected: str
    required: bool = False
    usual: tuple[float, float] | None = None

    @property
    def usual_span(self) -> str:
        """What is usual, in words; empty where anything is."""
        return "" if self.usual is None else " to ".join(map(self.kind.write, self.usual))

    def is_usual(self, value) -> bool:
        """Whether such boats have it so."""
        return self.usual is None or self.usual[0] <= value <= self.usual[1]


def quantity(
    unit: str,
    *,
    above: float | None = None,
    least: float = -math.inf,
    most: float = math.inf,
    also: tuple[str, ...] = (),
) -> Kind:
    """A number with its unit, in quotes, between bounds given in `unit`.

    Parameters
    ----------
    unit : str
        What the record wants it in.
    above : float or None
        What the number must be above, instead of `least`.
    least, most : float
        Bounds, both of them allowed.
    also : tuple of str
        Units of another dimension that stand for the same number, such as "%" for "%/month".
    """

    def read(value):
        text = one_text(value)
        number, _ = measure(text, (unit, *also))
        if above is not None and not number > above:
            raise ReadingError(f"{quoted(text)} is not above {write(above)}")
        if not number >= least:
            raise ReadingError(f"{quoted(text)} is less than {write(least)}")
        if not number <= most:
            raise ReadingError(f"{quoted(text)} is more than {write(most)}")
        return number

    def write(number):
        return written(number, unit)

    return Kind(read=read, write=write, span=_span(unit, above, least, most))


def _span(unit: str, above: float | None, least: float, most: float) -> str:
    """Bounds in words, such as "above 0 Ah, at most 100,000 Ah"."""
    symbol, factor = _WRITTEN.get(unit, (unit, 1.0))

    def bound(number):
        return f"{number * factor:,.10g} {symbol}"

    lowest = f"above {bound(above)}, at most" if above is not None else f"{bound(least)} to"
    return f"{lowest} {bound(most)}"


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
    if abs(number) >= 9_999.5:  # from here .4g would write an exponent, or drop digits
        return f"{number:.0f} {symbol}"
    return f"{number:.4g} {symbol}"


def share(**bounds: float) -> Kind:
    """A percentage, 0 to 100 % unless the bounds say otherwise."""
    return quantity("frac", **({"least": 0.0, "most": 1.0} | bounds))


def choice(*names: str) -> Kind:
    """One of several words."""

    def read(value):
        text = one_text(value)
        word = " ".join(text.casefold().split())
        if word not in names:
            raise ReadingError(f"{quoted(text)} is not known here{did_you_mean(word, names)}")
        return word

    return Kind(read=read, span=", ".join(names))


def one_text(value) -> str:
    """A value that must stand in quotes."""
    if isinstance(value, str):
        return value
    if isinstance(value, int | float) and not isinstance(value, bool):
        raise ReadingError(f"{shown(value)} has no unit; write it with its unit, in quotes")
    raise ReadingError(f"{shown(value)} is no text in quotes")


def shown(value) -> str:
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
        raise ReadingError(f"{shown(value)} is no text in quotes")
    name = " ".join(value.split())
    if not name.isprintable():
        raise ReadingError(f"{quoted(name)} holds signs that cannot be printed")
    if not name:
        raise ReadingError("is empty")
    if len(name) > _LONGEST_NAME:
        raise ReadingError(f"{quoted(name)} is longer than {_LONGEST_NAME} letters")
    return name


def _read_flag(value) -> bool:
    if not isinstance(value, bool):
        raise ReadingError(f"{shown(value)} is neither true nor false")
    return value


def number(*, least: float, most: float, whole: bool = False) -> Kind:
    """A plain number without a unit, such as a count; with or without quotes."""

    def read(value):
        if isinstance(value, str):
            found, unit = split(value)
            if unit is not None:
                raise ReadingError(f"{quoted(value)} should have no unit")
        elif isinstance(value, int | float) and not isinstance(value, bool):
            found = value
        else:
            raise ReadingError(f"{shown(value)} is no number")
        if not least <= found <= most:  # written so that nan fails too
            raise ReadingError(f"{shown(value)} is not between {least:g} and {most:g}")
        if whole and found != int(found):
            raise ReadingError(f"{shown(value)} is no whole number")
        return int(found) if whole else float(found)

    span = f"{least:g} to {most:g}, whole" if whole else f"{least:g} to {most:g}"
    return Kind(read=read, write=lambda found: f"{found:g}", span=span)


def yes_no(found: bool) -> str:
    """How a flag is written in TOML."""
    return "true" if found else "false"


WEIGHT = quantity("kg", above=0.0, most=10_000.0)
NAME = Kind(read=_read_name, span=f"1 to {_LONGEST_NAME} letters")
FLAG = Kind(read=_read_flag, write=yes_no, span="true, false")


def cans_L(value) -> float:
    """Litres in jerrycans, written as `3 x 20 L` or as a volume.

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
    if not 0 <= litres <= 10_000:
        raise ReadingError(f"{quoted(text)} is not between 0 L and 10000 L")
    return litres
