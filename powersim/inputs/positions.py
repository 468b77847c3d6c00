"""Latitudes and longitudes as they are written in a log, on a chart or by a receiver."""

from __future__ import annotations

import re

from powersim.inputs.text import ReadingError, quoted


class _SlipError(ValueError):
    """What is wrong with the text of a position: a sentence without its subject."""


#: What typists and programs put for the degree, minute, second and minus signs. Two single
#: primes are a second sign.
_SPELLINGS = (
    (re.compile(r"[°º˚]|deg(?:rees?)?\.?", re.IGNORECASE), "° "),
    (re.compile(r"''|′′|[″”“\"]"), '" '),
    (re.compile(r"[′’‘´`ʹ]"), "'"),
    (re.compile(r"[−–—]"), "-"),
)
_NUMBER = r"\d+(?:\.\d*)?|\.\d+"
_ANGLE = re.compile(
    rf"""
    (?P<front>[NSEW])?\s*
    (?P<sign>[-+])?\s*
    (?P<degrees>{_NUMBER})\s*°?
    (?: [\s-]*(?P<minutes>{_NUMBER})\s*'?
        (?: \s*(?P<seconds>{_NUMBER})\s*"? )?
    )?\s*
    (?P<back>[NSEW])?
    """,
    re.VERBOSE,
)
#: Where a pair is cut in two: behind a hemisphere's letter, before one, at a comma, at a blank.
_PAIRS = (
    re.compile(r"([^NSEW]+[NSEW])\s*[,;/]?\s*([^NSEW]+[NSEW])"),
    re.compile(r"([NSEW][^NSEW]+?)\s*[,;/]?\s*([NSEW][^NSEW]+)"),
    re.compile(r"([^,;/]+)[,;/]([^,;/]+)"),
    re.compile(r"([-+]?[\d.]+)\s+([-+]?[\d.]+)"),
)
_LETTERS = {"latitude": ("N", "S"), "longitude": ("E", "W")}
_LONGEST = 80  # characters; no position is longer


def parse_position(text: str) -> tuple[float, float]:
    """Latitude and longitude of one place, latitude first.

    Parameters
    ----------
    text : str
        Decimal degrees, degrees and minutes, or degrees, minutes and seconds; hemispheres by
        letter or by sign.

    Returns
    -------
    tuple of float
        North and east positive, longitude -180 to 180. [deg]

    Raises
    ------
    ReadingError
        With a `reason`, if it is no position.

    Examples
    --------
    >>> parse_position("38°32.0'N 028°37.5'W")
    (38.53333333333333, -28.625)
    >>> parse_position("64.15, -21.95")
    (64.15, -21.95)
    """
    try:
        return _position(_plain(text))
    except _SlipError as slip:
        raise ReadingError(f"{quoted(text)} {slip}") from None


def parse_angle(text: str, axis: str) -> float:
    """One latitude or longitude.

    Returns
    -------
    float
        North and east positive; a longitude of 180 to 360 east becomes one west. [deg]

    Raises
    ------
    ReadingError
        With a `reason`, if it is none.

    Examples
    --------
    >>> parse_angle("16 53.0 S", "latitude")
    -16.883333333333333
    >>> parse_angle("335.0 E", "longitude")
    -25.0
    """
    try:
        return _angle(_plain(text), axis)
    except _SlipError as slip:
        raise ReadingError(f"{quoted(text)} {slip}") from None


def _position(plain: str) -> tuple[float, float]:
    _refuse_decimal_comma(plain, most_commas=1)
    for pattern in _PAIRS:
        pair = pattern.fullmatch(plain)
        if pair:
            break
    else:
        raise _SlipError("is not a latitude and a longitude")
    first, second = (part.strip() for part in pair.groups())
    if set(first) & set("EW") and set(second) & set("NS"):
        raise _SlipError("has the longitude first; the latitude comes first")
    return _angle(first, "latitude"), _angle(second, "longitude")


def _angle(plain: str, axis: str) -> float:
    _refuse_decimal_comma(plain, most_commas=0)
    match = _ANGLE.fullmatch(plain)
    if not match:
        raise _SlipError(f"is not a {axis}")
    letter = _letter(match, axis)
    degrees = _degrees(match)
    negative = letter in ("S", "W") or match["sign"] == "-"
    if axis == "latitude" and degrees > 90:
        raise _SlipError("is a latitude above 90 degrees")
    most_deg = 180 if negative else 360
    if degrees > most_deg:
        raise _SlipError(f"is a longitude above {most_deg} degrees")
    if negative:
        return -degrees if degrees else 0.0
    return degrees - 360.0 if degrees > 180 else degrees


def _plain(text: str) -> str:
    if len(text) > _LONGEST:
        raise _SlipError("is too long for a position")
    for pattern, plain in _SPELLINGS:
        text = pattern.sub(plain, text)
    return " ".join(text.upper().split())


def _refuse_decimal_comma(plain: str, *, most_commas: int) -> None:
    commas = re.findall(r"\d,\d", plain)
    if commas and plain.count(",") > most_commas:
        raise _SlipError("has a decimal comma; write a point, for example 38 32.5 N")


def _letter(match: re.Match, axis: str) -> str | None:
    """The hemisphere's letter, if there is one and it fits."""
    front, back, sign = match["front"], match["back"], match["sign"]
    if front and back:
        raise _SlipError("names its hemisphere twice")
    letter = front or back
    if letter and sign:
        raise _SlipError(f"has both a sign and {letter}; write one of them")
    if letter and letter not in _LETTERS[axis]:
        north, south = _LETTERS[axis]
        raise _SlipError(f"is not a {axis}: {letter} should be {north} or {south}")
    return letter


def _degrees(match: re.Match) -> float:
    """Degrees without their sign, from degrees, minutes and seconds."""
    parts = [match[name] for name in ("degrees", "minutes", "seconds") if match[name]]
    if any("." in part for part in parts[:-1]):
        raise _SlipError("has a fraction before its last part")
    values = [float(part) for part in parts]
    for name, value in zip(("minutes", "seconds"), values[1:], strict=False):
        if not value < 60:
            raise _SlipError(f"has {name} of 60 or more")
    return sum(value / 60.0**power for power, value in enumerate(values))
