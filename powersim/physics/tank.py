"""Litres from a depth on the dip stick and back, and how sure a reading at sea is."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from typing import NamedTuple

from powersim.records import Tank, TankPart

_L_PER_M3 = 1000.0
#: Depth to which `depth_m` comes; a stick is read to a millimetre at best. [m]
_CLOSE_m = 1e-7
#: What a stick cannot be read to; a depth given in inches may be off by less. [m]
_NO_SHARPER_m = 0.0005
#: How many standard deviations lie between the least and the most that a reading may mean.
SPREAD_AT_WORST = 5.0


class Sounding(NamedTuple):
    """What a reading at sea says: litres, one standard deviation, and what it may be at worst."""

    litres: float
    sd_L: float
    least_L: float
    most_L: float


def litres_at(tank: Tank, depth_m: float) -> float:
    """Litres in the tank at a depth of diesel, the boat upright and on her trim.

    Parameters
    ----------
    tank : Tank
        Its parts, or its table.
    depth_m : float
        On the stick. [m]

    Returns
    -------
    float
        Between rows of a table in proportion, below its first row from nothing at the stick's
        zero; [L]

    Raises
    ------
    ValueError
        If the depth is negative or above the tank.
    """
    if not 0.0 <= depth_m <= tank.top_m + _CLOSE_m:
        raise ValueError(f"depth_m must be 0 to {tank.top_m!r}, got {depth_m!r}")
    if tank.table:
        by_shape_L = interpolated(tank.table, depth_m)
    else:
        by_shape_L = sum(part_L(part, depth_m - part.above_m) for part in tank.parts)
    return by_shape_L * (tank.full_L / tank.shape_L)


def part_L(part: TankPart, depth_m: float) -> float:
    """Litres in one part filled to a depth above its own bottom.

    Parameters
    ----------
    part : TankPart
        Its shape and its measures.
    depth_m : float
        Clipped to the part: below its bottom it is empty, above its top full. [m]

    Returns
    -------
    float
        Diesel in that part. [L]

    References
    ----------
    .. [1] I. N. Bronshtein et al., Handbook of Mathematics, Springer: trapezoid and circular
       segment; from memory. `tests/reference/test_tank_shapes.py` integrates both.

    Examples
    --------
    >>> part_L(TankPart(shape="box", length_m=1.0, width_m=0.5, height_m=0.4), 0.2)
    100.0
    """
    depth = min(max(depth_m, 0.0), part.height_m)
    if part.shape == "cylinder":
        area_m2 = _segment_m2(part.height_m / 2.0, depth)
    else:
        bottom = part.width_m if part.shape == "box" else part.bottom_m
        area_m2 = bottom * depth + (part.width_m - bottom) * depth**2 / (2.0 * part.height_m)
    return _L_PER_M3 * part.length_m * area_m2


def _segment_m2(radius: float, depth: float) -> float:
    """Area of a circle below a chord so far above its lowest point."""
    below = radius - depth
    # By products of the depth: differences of squares would lose a film of diesel, or owe one.
    half_chord = math.sqrt(depth * (2.0 * radius - depth))
    return radius**2 * math.atan2(half_chord, below) - below * half_chord


def interpolated(table: Sequence[tuple[float, float]], at: float) -> float:
    """Litres between the rows of a table, of depths or of places on a dial.

    Parameters
    ----------
    table : sequence of (float, float)
        Where, from 0 up, and litres then, both rising. [-], [L]
    at : float
        Where, in the same unit. [-]

    Returns
    -------
    float
        In proportion between two rows, and below the first from nothing at 0; above the last row
        no more than there. [L]
    """
    rows = table if table[0][0] <= 0.0 else ((0.0, 0.0), *table)
    place = min(bisect_right(rows, at, key=lambda row: row[0]), len(rows) - 1)
    (low, low_L), (high, high_L) = rows[max(place - 1, 0)], rows[max(place, 1)]
    part = (at - low) / (high - low)
    return low_L + min(max(part, 0.0), 1.0) * (high_L - low_L)


def depth_m(tank: Tank, litres: float) -> float:
    """The depth at which the tank holds so many litres, by halving.

    Parameters
    ----------
    tank : Tank
        Its parts, or its table.
    litres : float
        Diesel in the tank. [L]

    Returns
    -------
    float
        To a ten-thousandth of a millimetre; of all depths with nothing in it the highest. [m]

    Raises
    ------
    ValueError
        If it is negative or more than the tank holds.
    """
    if not 0.0 <= litres <= tank.full_L * (1.0 + 1e-12):
        raise ValueError(f"litres must be 0 to {tank.full_L!r}, got {litres!r}")
    low, high = 0.0, tank.top_m
    while high - low > _CLOSE_m:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if litres_at(tank, middle) <= litres else (low, middle)
    return 0.5 * (low + high)


def sounding(tank: Tank, depth_m: float) -> Sounding:
    """What a reading at sea says.

    Parameters
    ----------
    tank : Tank
        Its shape, and how far a stick gets wet and the boat rolls.
    depth_m : float
        As read off the stick; above the brim it counts as full. [m]

    Returns
    -------
    Sounding
        The wet part of the stick reaches above the level by anything up to `wet_m`, all alike
        likely, so half of it is taken off; rolling scatters about that. Standard deviation through
        the tank's own curve, where near the bottom or the brim only the part of it within the tank
        tells the slope: a full or an empty tank is not read any surer. At worst two deviations of
        rolling and all or nothing of the wet; the deviation is never below a fifth of that, since a
        curve that is flat where it is read may be steep beside it.

    Raises
    ------
    ValueError
        If the depth is negative.
    """
    if not depth_m >= 0.0:
        raise ValueError(f"depth_m must not be negative, got {depth_m!r}")
    sd_m = math.hypot(tank.rolling_m, tank.wet_m / math.sqrt(12.0))
    level_m = depth_m - tank.wet_m / 2.0 if depth_m > 0.0 else 0.0

    def litres(at_m: float) -> float:
        return litres_at(tank, min(max(at_m, 0.0), tank.top_m))

    least_L = litres(depth_m - tank.wet_m - 2.0 * tank.rolling_m)
    most_L = litres(depth_m + 2.0 * tank.rolling_m)
    by_slope_L = _local_slope_L_per_m(tank, level_m, over_m=sd_m) * sd_m
    return Sounding(
        litres=litres(level_m),
        sd_L=max(by_slope_L, (most_L - least_L) / SPREAD_AT_WORST),
        least_L=least_L,
        most_L=most_L,
    )


def above_tank(tank: Tank, depth_m: float) -> bool:
    """Whether a depth cannot be a reading of a tank: it is above the brim by more than is wet.

    Parameters
    ----------
    tank : Tank
        Its height, and how far a stick gets wet.
    depth_m : float
        As read off the stick. [m]

    Returns
    -------
    bool
        True where the reading is a mistake.
    """
    return depth_m > tank.top_m + tank.wet_m + _NO_SHARPER_m


def _local_slope_L_per_m(tank: Tank, level_m: float, *, over_m: float) -> float:
    """Mean slope of the curve about a level, so far up and down as there is tank."""
    level_m = min(max(level_m, 0.0), tank.top_m)
    low_m, high_m = max(level_m - over_m, 0.0), min(level_m + over_m, tank.top_m)
    if not high_m > low_m:  # a reading without any doubt
        return 0.0
    return (litres_at(tank, high_m) - litres_at(tank, low_m)) / (high_m - low_m)


def strip(tank: Tank, *, step_m: float = 0.01) -> list[tuple[float, float]]:
    """What a reading at every mark of a stick says, the deepest first: depth and litres.

    Parameters
    ----------
    tank : Tank
        As for `sounding`.
    step_m : float
        Between marks. [m]

    Returns
    -------
    list of (float, float)
        From the last whole mark that can be wet down to 0. Litres are those of `sounding`, so that
        whoever reads the strip and whoever types the depth get the same. [m], [L]
    """
    marks = int((tank.top_m + tank.wet_m) / step_m + 1e-6)
    return [(mark * step_m, sounding(tank, mark * step_m).litres) for mark in range(marks, -1, -1)]
