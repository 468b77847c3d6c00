"""The fuel tank as the dip stick meets it: shapes, or a sounding table."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from itertools import pairwise

_PRACTICE = "common practice, no source"
TANK_SHAPES = ("box", "wedge", "cylinder")


@dataclass(frozen=True, slots=True, kw_only=True)
class TankPart:
    """One tank, or one piece of it, of a simple shape; the inside counts.

    Attributes
    ----------
    shape : str
        "box"; "wedge", a keel tank whose width grows evenly from bottom to top; or "cylinder",
        lying, with flat ends.
    length_m : float
        [m]
    height_m : float
        Of a cylinder, its diameter. [m]
    width_m : float
        Of a wedge, its width at the top; of a cylinder, its diameter. [m]
    bottom_width_m : float
        Of a wedge alone. [m]
    base_m : float
        How high its bottom lies above that of the lowest part. [m]
    """

    shape: str
    length_m: float
    height_m: float
    width_m: float
    bottom_width_m: float = 0.0
    base_m: float = 0.0

    def __post_init__(self):
        if self.shape not in TANK_SHAPES:
            raise ValueError(f"unknown shape {self.shape!r}")
        for name in ("length_m", "height_m", "width_m"):
            if not 0 < getattr(self, name) < math.inf:
                raise ValueError(f"{name} must be above 0, got {getattr(self, name)!r}")
        if not 0 <= self.bottom_width_m <= self.width_m:
            raise ValueError("bottom_width_m must be 0 to width_m")
        if self.shape == "cylinder" and self.width_m != self.height_m:
            raise ValueError("a cylinder is as wide as it is high")
        if not 0 <= self.base_m < math.inf:
            raise ValueError(f"base_m must not be negative, got {self.base_m!r}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Tank:
    """What turns a depth on the stick into litres: parts with one level, or a table.

    Attributes
    ----------
    parts : tuple of TankPart
        Joined at the bottom, so that the fuel stands equally high in all of them.
    depths_m : tuple of float
        Of a sounding table, rising from 0. [m]
    volumes_L : tuple of float
        At each depth, rising from 0. [L]
    rolling_m : float
        One standard deviation of the depth by the boat's motion. [m]
    wetting_m : float
        One standard deviation of the depth by a stick that is wet too far. [m]
    """

    parts: tuple[TankPart, ...] = ()
    depths_m: tuple[float, ...] = ()
    volumes_L: tuple[float, ...] = ()
    rolling_m: float = field(default=0.01, metadata={"reason": f"a reading at sea; {_PRACTICE}"})
    wetting_m: float = field(
        default=0.01, metadata={"reason": f"a stick wet 1 cm too far; {_PRACTICE}"}
    )

    def __post_init__(self):
        if bool(self.parts) == bool(self.depths_m):
            raise ValueError("a tank has parts or a table, one of them")
        if self.parts and min(part.base_m for part in self.parts) != 0:
            raise ValueError("the lowest part has a base_m of 0")
        fault = sounding_fault(self.depths_m, self.volumes_L) if self.depths_m else None
        if fault is not None:
            raise ValueError(f"{fault[1]} {fault[0] + 1} of the table {fault[2]}")
        for name in ("rolling_m", "wetting_m"):
            if not 0 <= getattr(self, name) < math.inf:
                raise ValueError(f"{name} must not be negative, got {getattr(self, name)!r}")

    @property
    def height_m(self) -> float:
        """The deepest that it can be. [m]"""
        if self.depths_m:
            return self.depths_m[-1]
        return max(part.base_m + part.height_m for part in self.parts)

    @property
    def reading_sd_m(self) -> float:
        """One standard deviation of a depth read at sea. [m]"""
        return math.hypot(self.rolling_m, self.wetting_m)


def sounding_fault(depths_m, volumes_L) -> tuple[int, str, str] | None:
    """Which row of a sounding table cannot be, and why; None for a sound table.

    Parameters
    ----------
    depths_m : sequence of float
        [m]
    volumes_L : sequence of float
        As many. [L]

    Returns
    -------
    tuple of (int, str, str) or None
        Row from 0, "depth" or "litres", and what is wrong.
    """
    if len(depths_m) != len(volumes_L) or len(depths_m) < 2:
        return 0, "depth", "stands alone: a table has two rows or more"
    if depths_m[0] != 0:
        return 0, "depth", "is not 0: a table begins with the empty tank"
    if volumes_L[0] != 0:
        return 0, "litres", "is not 0: a table begins with the empty tank"
    for name, values in (("depth", depths_m), ("litres", volumes_L)):
        for place, (low, high) in enumerate(pairwise(values), start=1):
            if not low < high < math.inf:
                return place, name, "is not above the one before it"
    return None
