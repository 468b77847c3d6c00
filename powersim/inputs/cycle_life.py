"""The cycle-life curve of [battery], such as `1200 at 30 %; 700 at 50 %`."""

from __future__ import annotations

import re

from powersim.inputs.text import ReadingError, quoted
from powersim.inputs.toml_keys import ValueKind, one_text, written
from powersim.inputs.units import split, to_float
from powersim.records import cycle_life_fault

_AT = re.compile(r"\s+at\s+", re.IGNORECASE)


def _read(value) -> tuple[tuple[float, float], ...]:
    """Depth and cycles of each point, the shallowest first, in whatever order they are written."""
    text = one_text(value)
    points = tuple(sorted(_point(part.strip()) for part in text.split(";") if part.strip()))
    if not points:
        raise ReadingError("is empty")
    fault = cycle_life_fault(points)
    if fault is not None:
        raise ReadingError(f"{quoted(text)} has {fault}")
    return points


def _point(text: str) -> tuple[float, float]:
    count, *depth = _AT.split(text)
    if len(depth) != 1:
        raise ReadingError(f"cannot read {quoted(text)}")
    cycles, unit = split(count)
    if unit is not None and unit.casefold() not in ("cycle", "cycles"):
        raise ReadingError(f"cannot read {quoted(text)}")
    return to_float(depth[0], "frac"), cycles


def _write(points) -> str:
    return "; ".join(f"{cycles:.10g} at {written(depth, 'frac')}" for depth, cycles in points)


CYCLE_LIFE = ValueKind(
    read=_read,
    write=_write,
    span="one point or more, above 0 % to 100 %, 1 to 1,000,000 cycles, fewer the deeper",
)
