"""A depth on the dip stick, as it is marked or measured aboard."""

from __future__ import annotations

import re

from powersim.inputs.text import ReadingError, quoted
from powersim.inputs.units import measure, split

#: Of all lengths only these are read off a stick: `mil` would be a thousandth of an inch, and
#: `fathom` or `nm` are slips of the pen.
_ON_A_STICK = re.compile(
    r"[mcd]?m|(milli|centi|deci)?met(re|er)s?|in|inch|inches|ft|foot|feet", re.IGNORECASE
)
_UNITS = "mm, cm, m, in or ft"
#: Inches as a rule has them, such as 9 1/4 in.
_FRACTION = re.compile(
    r"(?:([0-9]{1,3})\s+)?([0-9]{1,2})/([0-9]{1,2})\s*(in|inch|inches)", re.IGNORECASE
)


def read_depth(text: str, *, or_litres: bool = False, bare: str | None = None) -> tuple[float, str]:
    """A depth on the stick, or what a table beside the tank makes of it.

    Parameters
    ----------
    text : str
        Such as `23.5 cm` or `9 1/4 in`.
    or_litres : bool
        Whether litres will do as well.
    bare : str or None
        The unit of a bare number.

    Returns
    -------
    tuple of (float, str)
        The number, and "m" or "L".

    Raises
    ------
    ReadingError
        If it is neither, or in a unit that no stick has.

    Examples
    --------
    >>> read_depth("23.5 cm"), read_depth("9 1/4 in")
    ((0.235, 'm'), (0.23495, 'm'))
    >>> read_depth("41 L", or_litres=True)
    (41.0, 'L')
    """
    plain = _whole_inches(text)
    number, unit = measure(plain, ("m", "L") if or_litres else ("m",), bare=bare)
    spelling = split(plain)[1]
    if unit == "m" and spelling is not None and not _ON_A_STICK.fullmatch(spelling):
        raise ReadingError(f"{quoted(text)} is in a unit that no dip stick has; write {_UNITS}")
    return number, unit


def _whole_inches(text: str) -> str:
    """Inches and their fractions as a decimal; all else as it is."""
    found = _FRACTION.fullmatch(text.strip())
    if found is None or int(found[3]) == 0:
        return text
    return f"{int(found[1] or 0) + int(found[2]) / int(found[3])!r} {found[4]}"
