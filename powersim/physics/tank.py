"""Litres from a depth on the dip stick, back again, and how sure a reading is."""

from __future__ import annotations

import math
from bisect import bisect_right

_L_PER_M3 = 1000.0
#: Halvings of an interval: beyond these a float has no digit left to settle.
_HALVINGS = 60


def litres_of(tank, depth_m: float) -> float:
    """What is in a tank by the depth of its fuel.

    Parameters
    ----------
    tank : Tank
    depth_m : float
        On the stick, from the bottom of the lowest part. [m]

    Returns
    -------
    float
        Volume, the unusable rest included. [L]

    Raises
    ------
    ValueError
        For a depth below 0 or above the tank.

    Notes
    -----
    For a boat upright and on her designed trim, with the stick where the parts have their common
    bottom. A table is taken as straight between its rows.

    References
    ----------
    .. [1] Any handbook of mathematics, "circular segment": area r^2 acos((r-h)/r) - (r-h)
       sqrt(2rh-h^2); from memory.

    Examples
    --------
    >>> from powersim.records.tank import Tank, TankPart
    >>> box = TankPart(shape="box", length_m=1.0, width_m=0.5, height_m=0.2)
    >>> litres_of(Tank(parts=(box,)), 0.1)
    50.0
    """
    if not 0 <= depth_m <= tank.height_m:
        raise ValueError(f"depth_m must be 0 to {tank.height_m:g}, got {depth_m!r}")
    if tank.depths_m:
        return _by_table(tank, depth_m)
    return sum(_part_m3(part, depth_m) for part in tank.parts) * _L_PER_M3


def capacity_L(tank) -> float:
    """What the tank holds when full.

    Parameters
    ----------
    tank : Tank

    Returns
    -------
    float
        [L]
    """
    return litres_of(tank, tank.height_m)


def depth_of(tank, volume_L: float) -> float:
    """How deep so many litres stand.

    Parameters
    ----------
    tank : Tank
    volume_L : float
        [L]

    Returns
    -------
    float
        Depth on the stick. [m]

    Raises
    ------
    ValueError
        For a volume below 0 or above what the tank holds.

    Notes
    -----
    By halving, since litres never fall as the depth grows. Where a part ends below the base of the
    next, one volume has many depths; one of them is given.

    Examples
    --------
    >>> from powersim.records.tank import Tank
    >>> depth_of(Tank(depths_m=(0.0, 0.2, 0.4), volumes_L=(0.0, 20.0, 80.0)), 50.0)
    0.3
    """
    most_L = capacity_L(tank)
    if not 0 <= volume_L <= most_L:
        raise ValueError(f"volume_L must be 0 to {most_L:g}, got {volume_L!r}")
    if volume_L == most_L:
        return tank.height_m
    low_m, high_m = 0.0, tank.height_m
    for _ in range(_HALVINGS):
        middle_m = (low_m + high_m) / 2.0
        if litres_of(tank, middle_m) < volume_L:
            low_m = middle_m
        else:
            high_m = middle_m
    return high_m


def reading_sd_L(tank, depth_m: float) -> float:
    """How uncertain the litres of a depth read at sea are, one standard deviation.

    Parameters
    ----------
    tank : Tank
    depth_m : float
        [m]

    Returns
    -------
    float
        [L]

    Raises
    ------
    ValueError
        For a depth below 0 or above the tank.

    Notes
    -----
    The uncertainty of the depth times the slope of litres over depth there: the steeper of those
    over one standard deviation up and down, as far as the tank goes. At the bottom of a lying
    cylinder the slope in the point is 0, which would call a wet stick certain.

    Examples
    --------
    >>> from powersim.records.tank import Tank
    >>> tank = Tank(depths_m=(0.0, 0.5), volumes_L=(0.0, 100.0), rolling_m=0.03, wetting_m=0.04)
    >>> reading_sd_L(tank, 0.25)
    10.0
    """
    here_L, sd_m = litres_of(tank, depth_m), tank.reading_sd_m
    slopes_L_per_m = [0.0]
    for other_m in (max(depth_m - sd_m, 0.0), min(depth_m + sd_m, tank.height_m)):
        if other_m != depth_m:
            rise_L = litres_of(tank, other_m) - here_L
            slopes_L_per_m.append(rise_L / (other_m - depth_m))
    return max(slopes_L_per_m) * sd_m


def sounded(tank, depth_m: float) -> tuple[float, float]:
    """Litres and their standard deviation, as a log of soundings wants them.

    Parameters
    ----------
    tank : Tank
    depth_m : float
        [m]

    Returns
    -------
    tuple of (float, float)
        Volume and one standard deviation. [L]

    Raises
    ------
    ValueError
        For a depth below 0 or above the tank.
    """
    return litres_of(tank, depth_m), reading_sd_L(tank, depth_m)


def _by_table(tank, depth_m: float) -> float:
    depths_m, volumes_L = tank.depths_m, tank.volumes_L
    place = min(bisect_right(depths_m, depth_m), len(depths_m) - 1)
    low_m, high_m = depths_m[place - 1], depths_m[place]
    share = (depth_m - low_m) / (high_m - low_m)
    return volumes_L[place - 1] * (1.0 - share) + volumes_L[place] * share


def _part_m3(part, level_m: float) -> float:
    """Volume in one part below a level; none below its base, no more than it holds above."""
    depth_m = min(max(level_m - part.base_m, 0.0), part.height_m)
    if part.shape == "cylinder":
        return part.length_m * _segment_m2(part.height_m / 2.0, depth_m)
    if part.shape == "wedge":
        low_m = part.bottom_width_m
        level_width_m = low_m + (part.width_m - low_m) * depth_m / part.height_m
        return part.length_m * depth_m * (low_m + level_width_m) / 2.0
    return part.length_m * part.width_m * depth_m


def _segment_m2(radius_m: float, depth_m: float) -> float:
    """Area of a circular segment; reference 1 of litres_of, with the angle by its tangent."""
    above_m = radius_m - depth_m
    half_chord_m = math.sqrt(max(depth_m * (2.0 * radius_m - depth_m), 0.0))
    return radius_m**2 * math.atan2(half_chord_m, above_m) - above_m * half_chord_m
