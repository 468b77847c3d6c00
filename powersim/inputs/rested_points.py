"""Rested volts at known charges, of [battery], such as `12.71 V at 100 %; 12.20 V at 50 %`."""

from __future__ import annotations

import re

from powersim.inputs.text import ReadingError, quoted
from powersim.inputs.toml_keys import ValueKind, one_text, written
from powersim.inputs.units import to_float
from powersim.records.rested_points import FARTHEST_V, LEAST_APART_SOC, MOST_POINTS

_AT = re.compile(r"\s+at\s+", re.IGNORECASE)


def _read(value) -> tuple[tuple[float, float], ...]:
    """Charge and volts of each point, the lowest charge first, in whatever order they stand."""
    text = one_text(value)
    points = tuple(sorted(_point(part.strip()) for part in text.split(";") if part.strip()))
    if not points:
        raise ReadingError("is empty")
    return points


def _point(text: str) -> tuple[float, float]:
    volts, *charge = _AT.split(text)
    if len(charge) != 1:
        raise ReadingError(f"cannot read {quoted(text)}")
    return to_float(charge[0], "frac"), to_float(volts, "V")


def _write(points) -> str:
    return "; ".join(f"{written(volts, 'V')} at {written(soc, 'frac')}" for soc, volts in points)


RESTED_POINTS = ValueKind(
    read=_read,
    write=_write,
    span=f"one to {MOST_POINTS} points, {100 * LEAST_APART_SOC:g} % or more apart, each within "
    f"{FARTHEST_V:g} V (on 12 V) of what is usual",
)
