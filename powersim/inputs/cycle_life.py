"""The cycle-life curve of [battery], such as `1200 at 30 %; 700 at 50 %`."""

from __future__ import annotations

from powersim.inputs.points_at import points_at
from powersim.inputs.text import ReadingError, quoted
from powersim.inputs.toml_keys import ValueKind, written
from powersim.inputs.units import split
from powersim.records import cycle_life_fault


def _read(value) -> tuple[tuple[float, float], ...]:
    """Depth and cycles of each point, the shallowest first."""
    text, points = points_at(value, _cycles)
    fault = cycle_life_fault(points)
    if fault is not None:
        raise ReadingError(f"{quoted(text)} has {fault}")
    return points


def _cycles(count: str, point: str) -> float:
    cycles, unit = split(count)
    if unit is not None and unit.casefold() not in ("cycle", "cycles"):
        raise ReadingError(f"cannot read {quoted(point)}")
    return cycles


def _write(points) -> str:
    return "; ".join(f"{cycles:.10g} at {written(depth, 'frac')}" for depth, cycles in points)


CYCLE_LIFE = ValueKind(
    read=_read,
    write=_write,
    span="one point or more, above 0 % to 100 %, 1 to 1,000,000 cycles, fewer the deeper",
)
