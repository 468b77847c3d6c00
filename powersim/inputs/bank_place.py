"""The key temperature of [battery], such as `cabin`, `12 degC` or `bilge, at least 5 degC`."""

from __future__ import annotations

import re

from powersim.inputs.text import ReadingError, did_you_mean, quoted
from powersim.inputs.toml_keys import ValueKind, one_text, written
from powersim.inputs.units import to_float
from powersim.records import BANK_PLACES, BankPlace, bounds_of

_BOUNDS = bounds_of(BankPlace, "fixed_C")
_LEAST = re.compile(r"at\s+least\s+(.+)", re.IGNORECASE)


def _read(value) -> BankPlace:
    text = one_text(value)
    parts = [part.strip() for part in text.split(",")]
    least = [found[1] for part in parts if (found := _LEAST.fullmatch(part))]
    places = [part for part in parts if not _LEAST.fullmatch(part)]
    if len(least) > 1 or len(places) > 1:
        raise ReadingError(f"{quoted(text)} says one thing twice")
    least_C = _celsius(least[0]) if least else None
    word = places[0].casefold() if places else BankPlace().place
    if word in BANK_PLACES:
        return BankPlace(place=word, least_C=least_C)
    if word[:1].isalpha():
        raise ReadingError(f"{quoted(text)} is not known here{did_you_mean(word, BANK_PLACES)}")
    if least:
        raise ReadingError(f"{quoted(text)} has one temperature too many")
    return BankPlace(fixed_C=_celsius(places[0]))


def _celsius(text: str) -> float:
    degrees_C = to_float(text, "degC")
    if degrees_C not in _BOUNDS:
        raise ReadingError(
            f"{quoted(text)} is not between {written(_BOUNDS.least, 'degC')} and "
            f"{written(_BOUNDS.most, 'degC')}"
        )
    return degrees_C


def _write(place: BankPlace) -> str:
    if place.fixed_C is not None:
        return written(place.fixed_C, "degC")
    if place.least_C is None:
        return place.place
    return f"{place.place}, at least {written(place.least_C, 'degC')}"


BANK_PLACE = ValueKind(
    read=_read,
    write=_write,
    span=f"{', '.join(BANK_PLACES)}, with or without `, at least` and a temperature; or a "
    f"temperature that it always has, {_BOUNDS.least:g} degC to {_BOUNDS.most:g} degC",
)
