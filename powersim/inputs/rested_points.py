"""Rested volts at known charges, of [battery], such as `12.71 V at 100 %; 12.20 V at 50 %`."""

from __future__ import annotations

from powersim.inputs.points_at import points_at
from powersim.inputs.toml_keys import ValueKind, written
from powersim.inputs.units import to_float
from powersim.records.rested_points import FARTHEST_V, LEAST_APART_SOC, MOST_POINTS


def _read(value) -> tuple[tuple[float, float], ...]:
    """Charge and volts of each point, the lowest charge first."""
    return points_at(value, lambda volts, _: to_float(volts, "V"))[1]


def _write(points) -> str:
    return "; ".join(f"{written(volts, 'V')} at {written(soc, 'frac')}" for soc, volts in points)


RESTED_POINTS = ValueKind(
    read=_read,
    write=_write,
    span=f"one to {MOST_POINTS} points, {100 * LEAST_APART_SOC:g} % or more apart, each within "
    f"{FARTHEST_V:g} V (on 12 V) of what is usual",
)
