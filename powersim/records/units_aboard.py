"""The units that the crew thinks in.

Everything is worked out in litres, metres, nautical miles and degrees Celsius. What is printed is
turned into the units aboard by whatever writes numbers, and nowhere else; `printed_in` says which
they are while an answer is written, since a number does not know for whom.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitAboard:
    """A unit that numbers are printed in.

    Attributes
    ----------
    name : str
        As boat.toml calls it.
    symbol : str
        Behind a number; never one that two units have.
    size : float
        One of it, in the unit that is counted in. [-]
    zero : float
        Where it begins, in the unit that is counted in. [-]
    more : int
        Decimals that it needs beyond those of the unit counted in, to say as much.
    digits : int
        As many are told of a figure that was typed.
    spellings : tuple of str
        What else boat.toml may call it, in small letters.
    """

    name: str
    symbol: str
    size: float = 1.0
    zero: float = 0.0
    more: int = 0
    digits: int = 4
    spellings: tuple[str, ...] = ()

    @property
    def heading(self) -> str:
        """Its name where a sentence begins with it."""
        return f"{self.name[0].upper()}{self.name[1:]}"

    def of(self, value: float) -> float:
        """A number of the unit that is counted in, in this one.

        Examples
        --------
        >>> round(US_GALLONS.of(37.85411784), 12), FAHRENHEIT.of(100.0)
        (10.0, 212.0)
        """
        return value if self.size == 1.0 and self.zero == 0.0 else (value - self.zero) / self.size

    def said(self, value: float) -> str:
        """The same with as many digits as a figure is typed with.

        Examples
        --------
        >>> LITRES.said(20.0), LITRES.said(12.5), US_GALLONS.said(20.0), CENTIMETRES.said(0.2345)
        ('20 L', '12.5 L', '5.283 US gal', '23.45 cm')
        """
        return f"{self.of(value):.{self.digits}g} {self.symbol}"

    def text(self, value: float, *, decimals: int = 0) -> str:
        """A number of the unit that is counted in, with this unit behind it.

        Examples
        --------
        >>> LITRES.text(85.0), US_GALLONS.text(85.0), IMPERIAL_GALLONS.text(85.0, decimals=1)
        ('85 L', '22.5 US gal', '18.70 imp gal')
        """
        return f"{self.of(value):.{decimals + self.more}f} {self.symbol}"


LITRES = UnitAboard(
    name="litres", symbol="L", digits=6, spellings=("litre", "liters", "liter", "l")
)
#: 231 cubic inches of 2.54 cm: NIST Handbook 44, appendix C. [L]
US_GALLONS = UnitAboard(
    name="US gallons",
    symbol="US gal",
    size=3.785411784,
    more=1,
    spellings=("us gallon", "us gal"),
)
#: The Weights and Measures Act 1985 of the United Kingdom, schedule 1. [L]
IMPERIAL_GALLONS = UnitAboard(
    name="imperial gallons",
    symbol="imp gal",
    size=4.54609,
    more=1,
    spellings=("imperial gallon", "imp gal", "imp gallons", "uk gallons", "uk gal"),
)
CENTIMETRES = UnitAboard(
    name="cm", symbol="cm", size=0.01, spellings=("centimetres", "centimeters", "centimetre")
)
#: Of 25.4 mm: the international yard and pound agreement of 1959. [m]
INCHES = UnitAboard(name="inches", symbol="in", size=0.0254, spellings=("inch", "in"))
MILES = UnitAboard(
    name="nautical miles",
    symbol="nm",
    spellings=("nautical mile", "sea miles", "miles", "nm", "nmi"),
)
#: A nautical mile is 1,852 m: International Hydrographic Conference, Monaco 1929. [nm]
KILOMETRES = UnitAboard(
    name="km",
    symbol="km",
    size=1.0 / 1.852,
    spellings=("kilometres", "kilometers", "kilometre", "kilometer"),
)
CELSIUS = UnitAboard(name="degC", symbol="°C", spellings=("°c", "celsius", "c"))
#: Of 5/9 degC, from the freezing of water at 32: Celsius = (Fahrenheit - 32) / 1.8. [degC]
FAHRENHEIT = UnitAboard(
    name="degF",
    symbol="°F",
    size=5.0 / 9.0,
    zero=-32.0 * 5.0 / 9.0,
    spellings=("°f", "fahrenheit", "f"),
)
#: What may be chosen, by what it measures; the first of each where nothing is said.
CHOICES = {
    "volume": (LITRES, US_GALLONS, IMPERIAL_GALLONS),
    "depth": (CENTIMETRES, INCHES),
    "distance": (MILES, KILOMETRES),
    "temperature": (CELSIUS, FAHRENHEIT),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitsAboard:
    """What numbers are printed in.

    Attributes
    ----------
    volume : UnitAboard
        Of fuel.
    depth : UnitAboard
        On the stick.
    distance : UnitAboard
        Over the ground; speeds and wind stay in knots.
    temperature : UnitAboard
        Of air, cabin and bank.
    """

    volume: UnitAboard = LITRES
    depth: UnitAboard = CENTIMETRES
    distance: UnitAboard = MILES
    temperature: UnitAboard = CELSIUS

    def __post_init__(self) -> None:
        for kind, choices in CHOICES.items():
            if getattr(self, kind) not in choices:
                names = ", ".join(one.name for one in choices)
                raise ValueError(f"{kind} must be one of {names}, got {getattr(self, kind)!r}")


METRIC = UnitsAboard()
_NOW: ContextVar[UnitsAboard] = ContextVar("units aboard", default=METRIC)


def aboard() -> UnitsAboard:
    """The units of the answer that is being written; litres, cm and nautical miles if nobody says.

    Examples
    --------
    >>> with printed_in(UnitsAboard(volume=US_GALLONS)):
    ...     aboard().volume.symbol
    'US gal'
    >>> aboard().volume.symbol
    'L'
    """
    return _NOW.get()


@contextmanager
def printed_in(units: UnitsAboard) -> Iterator[None]:
    """While this lasts, in this thread, numbers are printed in these units.

    Parameters
    ----------
    units : UnitsAboard
        Of the passage that is answered for.
    """
    before = _NOW.set(units)
    try:
        yield
    finally:
        _NOW.reset(before)
