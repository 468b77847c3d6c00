"""How far an arrow key moves a value: as far as a sailor would, in the unit that is typed."""

from __future__ import annotations

from typing import Any

from powersim.inputs.text import ReadingError
from powersim.inputs.units import Unit, find, split
from powersim.records.declared import Bounds

#: Steps by the symbol of a unit, small ones first: the largest is taken of which a value has four.
_BY_UNIT: dict[str, tuple[float, ...]] = {
    "Ah": (1, 5, 10),
    "A": (0.01, 0.05, 0.1, 0.5, 1, 5),
    "mA": (1, 5, 10, 50),
    "W": (0.1, 0.5, 1, 5, 10),
    "kW": (0.5, 1),
    "V": (0.1,),
    "h": (0.5,),
    "h/day": (0.5,),
    "min": (1, 5, 10),
    "min/day": (1, 5, 10),
    "day": (1,),
    "%": (1, 5),
    "%/month": (1,),
    "L": (1, 5, 10),
    "L/h": (0.01, 0.05, 0.1),
    "kn": (0.5,),
    "deg": (5,),
    "degC": (1,),
    "kg": (1, 5),
    "cm": (1, 5),
    "m": (0.1, 0.5),
}
_OF_ANY_OTHER = tuple(figure * 10.0**power for power in range(-4, 5) for figure in (1.0, 2.0, 5.0))
_SMALLEST_SHARE = 0.25
_MOST_DECIMALS = 6


def step_of(
    text: str,
    *,
    unit: str | None = None,
    bounds: Bounds | None = None,
    whole: bool = False,
    bare: str | None = None,
) -> dict[str, Any] | None:
    """The step of a number as typed, with its ends; None for what is no number with a unit.

    Parameters
    ----------
    text : str
        As in the files, or as the default would be written.
    unit : str or None
        That of the bounds; None for a number without one.
    bounds : Bounds or None
        What may be written.
    whole : bool
        Whether it counts something.
    bare : str or None
        The unit of a number without one, where a heading names it.

    Examples
    --------
    >>> step_of("220 Ah", unit="Ah", bounds=Bounds(1.0, 20_000.0))
    {'by': 10, 'least': 1, 'most': 20000, 'decimals': 0}
    >>> step_of("40 min/day", unit="h/day", bounds=Bounds(0.0, 24.0))
    {'by': 10, 'least': 0, 'most': 1440, 'decimals': 0}
    >>> step_of("3 x 20 L", unit="L") is None
    True
    """
    try:
        number, spelling = split(text)
    except ReadingError:
        return None
    spelling = spelling or bare
    typed = None if spelling is None else find(spelling)
    if (typed is None) != (unit is None):
        return None
    by = 1.0 if whole else _by(number, typed)
    decimals = max(_decimals(by), _decimals_typed(text))
    least, most = (None, None) if bounds is None else _ends(bounds, unit, typed, by)
    return {
        "by": _plain(by),
        "least": _plain(least),
        "most": _plain(most),
        "decimals": decimals,
    }


def _by(number: float, unit: Unit | None) -> float:
    steps = _OF_ANY_OTHER if unit is None else _BY_UNIT.get(unit.symbol, _OF_ANY_OTHER)
    if steps is _OF_ANY_OTHER:  # a tenth of a number without a unit is much: a peukert, a slope
        small = [step for step in steps if step <= abs(number) / 20.0]
        return small[-1] if small else steps[0] if number else 1.0
    return max((step for step in steps if step <= _SMALLEST_SHARE * abs(number)), default=steps[0])


def _ends(
    bounds: Bounds, unit: str | None, typed: Unit | None, by: float
) -> tuple[float | None, float | None]:
    """The bounds in the unit that is typed; none for a scale that does not begin at nothing."""
    factor = 1.0
    if unit is not None and typed is not None:
        own = find(unit)
        if own is None or own.dimension != typed.dimension or own.shift != typed.shift:
            return None, None
        factor = own.factor / typed.factor
    least, most = (round(end * factor, _MOST_DECIMALS) for end in (bounds.least, bounds.most))
    return (by if bounds.above and least == 0.0 else least), most


def _decimals(number: float) -> int:
    text = f"{number:.{_MOST_DECIMALS}f}".rstrip("0")
    return len(text.partition(".")[2])


def _decimals_typed(text: str) -> int:
    digits = text.strip().partition(".")[2]
    return next((at for at, sign in enumerate(digits) if not sign.isdigit()), len(digits))


def _plain(number: float | None) -> float | int | None:
    """Whole numbers without a point, as they would be typed."""
    if number is None:
        return None
    number = round(number, _MOST_DECIMALS)
    return int(number) if number == int(number) else number
