"""Places on the dial of the tank's gauge, and `needle` of [fuel], such as `4 L at E; 85 L at F`."""

from __future__ import annotations

import re

from powersim.inputs.points_at import points_at
from powersim.inputs.text import ReadingError, quoted
from powersim.inputs.toml_keys import ValueKind, written
from powersim.inputs.units import to_float
from powersim.records.needle import MOST_MARKS, mark_told

EXPECTED = "a place on the dial: E, 1/4, 1/2, 3/4, F or a share such as 30 %"
_ENDS = {"e": 0.0, "empty": 0.0, "f": 1.0, "full": 1.0}
_PART = re.compile(r"([0-9]{1,2})\s*/\s*([0-9]{1,2})")


def read_mark(text: str) -> float:
    """A place on the dial, from 0 at E to 1 at F.

    Parameters
    ----------
    text : str
        As it is written beside the dial.

    Raises
    ------
    ReadingError
        If it is none.

    Examples
    --------
    >>> read_mark("E"), read_mark("3/4"), read_mark("30 %")
    (0.0, 0.75, 0.3)
    """
    plain = text.strip().casefold()
    if plain in _ENDS:
        return _ENDS[plain]
    part = _PART.fullmatch(plain)
    if part is not None and int(part[2]) > 0:
        place = int(part[1]) / int(part[2])
    else:
        place = to_float(text, "frac")
    if not 0.0 <= place <= 1.0:
        raise ReadingError(f"{quoted(text)} is not between E and F")
    return place


def _read(value: object) -> tuple[tuple[float, float], ...]:
    """Place and litres of each mark, the lowest first."""
    return points_at(value, lambda litres, _: to_float(litres, "L"), at=read_mark)[1]


def _write(marks: tuple[tuple[float, float], ...]) -> str:
    return "; ".join(f"{written(litres, 'L')} at {mark_told(place)}" for place, litres in marks)


NEEDLE_MARKS = ValueKind(
    read=_read, write=_write, span=f"2 to {MOST_MARKS} marks, more at each than at the one below"
)
