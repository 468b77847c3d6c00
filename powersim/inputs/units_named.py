"""The units aboard as boat.toml names them: `units = "US gallons, inches"` in [passage]."""

from __future__ import annotations

import re

from powersim.inputs.text import ReadingError, did_you_mean, quoted
from powersim.inputs.toml_keys import ValueKind, one_text
from powersim.records.units_aboard import CHOICES, UnitAboard, UnitsAboard

_KNOWN: dict[str, tuple[str, UnitAboard]] = {
    spelling.casefold(): (kind, one)
    for kind, choices in CHOICES.items()
    for one in choices
    for spelling in (one.name, one.symbol, *one.spellings)
}
_NAMES = [one.name for choices in CHOICES.values() for one in choices]
_GALLONS = re.compile(r"gal(lons?)?\.?", re.IGNORECASE)
_BETWEEN = re.compile(r"\s*[,;+&]\s*|\s+and\s+", re.IGNORECASE)


def read_units(value: object) -> UnitsAboard:
    """Units by their names, one of a kind; of a kind that is not named, that of the records.

    Examples
    --------
    >>> read_units("US gallons, inches").depth.symbol
    'in'
    """
    chosen: dict[str, UnitAboard] = {}
    for word in _BETWEEN.split(one_text(value).strip()):
        kind, one = _one(word)
        if chosen.setdefault(kind, one) is not one:
            raise ReadingError(f"names both {chosen[kind].name} and {one.name}: one of them")
    return UnitsAboard(**chosen)


def write_units(units: UnitsAboard) -> str:
    """All of them by their names.

    Examples
    --------
    >>> write_units(UnitsAboard())
    'litres, cm, nautical miles, degC'
    """
    return ", ".join(getattr(units, kind).name for kind in CHOICES)


def _one(word: str) -> tuple[str, UnitAboard]:
    plain = " ".join(word.casefold().split())
    if _GALLONS.fullmatch(plain):
        raise ReadingError(
            f"{quoted(word)} are of two sizes: US gallons of 3.785 L, imperial gallons of 4.546 L"
        )
    if plain not in _KNOWN:
        known = {name.casefold(): name for name in _NAMES}
        near = did_you_mean(plain, known)
        for low, name in known.items():
            near = near.replace(low, name)
        raise ReadingError(f"{quoted(word)} is no unit to print in{near}")
    return _KNOWN[plain]


UNITS_KIND = ValueKind(
    read=read_units,
    write=write_units,
    span="; ".join(" or ".join(one.name for one in choices) for choices in CHOICES.values()),
)
