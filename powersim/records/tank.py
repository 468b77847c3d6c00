"""The diesel tank as a dip stick sees it: shapes, or a sounding table."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from powersim.records.declared import FieldError, by_default, check_fields, given
from powersim.records.described import described

_PRACTICE = "common practice, no source"
TANK_SHAPES = ("box", "wedge", "cylinder")
#: What a tank may hold at all; below and above is a slip. Our judgement. [L]
TANK_L = (0.5, 20_000.0)
#: No tank is longer, wider or deeper. [m]
MOST_M = 5.0
_SIZE: dict[str, Any] = {"above": (0.0, MOST_M)}


@described
@dataclass(frozen=True, slots=True, kw_only=True)
class TankPart:
    """One tank, or one part of a tank, that the stick's depth tells of.

    Attributes
    ----------
    shape : str
        "box"; "wedge", whose sides lean out from the bottom, as in a keel; "cylinder", lying, with
        flat ends.
    width_m : float
        Of a box, and of a wedge at its top; a cylinder's diameter. [m]
    height_m : float
        A cylinder's diameter. [m]
    """

    shape: str = field(
        metadata=given("", one_of=TANK_SHAPES, without="none; then a table or parts")
    )
    length_m: float = field(
        metadata=given(
            "along the boat, or a cylinder's axis",
            "90 cm",
            without="required with a shape",
            **_SIZE,
        )
    )
    width_m: float = field(
        metadata=given(
            "of a box, or of a wedge at its top",
            "60 cm",
            without="required for a box and a wedge",
            **_SIZE,
        )
    )
    height_m: float = field(
        metadata=given(
            "from bottom to top", "35 cm", without="required for a box and a wedge", **_SIZE
        )
    )
    bottom_m: float = by_default(
        0.0, "a wedge's width at its bottom", "10 cm", within=(0.0, MOST_M), without="0 cm, a V"
    )
    above_m: float = by_default(
        0.0, "from the stick's zero up to its bottom", "2 cm", within=(0.0, MOST_M), without="0 cm"
    )

    def __post_init__(self) -> None:
        check_fields(self)
        if not self.bottom_m <= self.width_m:
            raise ValueError("bottom_m must be 0 to width_m")
        if self.shape == "cylinder" and self.width_m != self.height_m:
            raise ValueError("a cylinder is as wide as it is high")

    @property
    def full_L(self) -> float:
        """What it holds. [L]"""
        if self.shape == "cylinder":
            area_m2 = math.pi * self.height_m**2 / 4.0
        else:
            bottom_m = self.width_m if self.shape == "box" else self.bottom_m
            area_m2 = self.height_m * (self.width_m + bottom_m) / 2.0
        return 1000.0 * self.length_m * area_m2


@described
@dataclass(frozen=True, slots=True, kw_only=True)
class Tank:
    """What a depth on the dip stick means.

    Attributes
    ----------
    parts : tuple of TankPart
        In line, at one level of diesel; none with a table.
    table : tuple of (float, float)
        Depth and litres, both rising; none with parts. [m], [L]
    capacity_L : float or None
        What it really holds, where hoses, baffles and corners make that another figure than the
        shape's: litres at every depth go in proportion. [L]
    wet_m : float
        How far the stick may be wet above the level, since diesel creeps and sloshes. [m]
    """

    parts: tuple[TankPart, ...] = ()
    table: tuple[tuple[float, float], ...] = ()
    capacity_L: float | None = by_default(
        None,
        "what the tank holds, if hoses and corners make it differ from the shape",
        "85 L",
        within=TANK_L,
        without="what its shape or table holds",
    )
    rolling_m: float = by_default(
        0.01,
        "how far readings at sea scatter, one standard deviation",
        "1 cm",
        within=(0.0, 0.2),
        reason=f"a tank that rolls, read three times; {_PRACTICE}",
    )
    wet_m: float = by_default(
        0.01,
        "how far the stick is wet above the level",
        "1 cm",
        within=(0.0, 0.2),
        reason=f"fuel creeps up a stick; {_PRACTICE}",
    )

    def __post_init__(self) -> None:
        check_fields(self)
        if bool(self.parts) == bool(self.table):
            raise ValueError("a tank has parts or a table, and not both")
        if self.table and len(self.table) < 2:
            raise ValueError("a table needs two rows or more")
        for depth_m, volume_L in self.table:
            if not (0 <= depth_m <= MOST_M and 0 <= volume_L <= TANK_L[1]):
                wanted = f"0 to {MOST_M:g} m and 0 to {TANK_L[1]:g} L"
                raise FieldError("table", self.table, f"of {wanted}")
        if sounding_fault(self.table) is not None:
            raise ValueError("depth and litres must both rise from row to row")

    @property
    def top_m(self) -> float:
        """Depth on the stick with the tank full. [m]"""
        if self.table:
            return self.table[-1][0]
        return max(part.above_m + part.height_m for part in self.parts)

    @property
    def shape_L(self) -> float:
        """What its shape or its table holds. [L]"""
        return self.table[-1][1] if self.table else sum(part.full_L for part in self.parts)

    @property
    def full_L(self) -> float:
        """What it holds. [L]"""
        return self.shape_L if self.capacity_L is None else self.capacity_L


def sounding_fault(table: Sequence[tuple[float, float]]) -> int | None:
    """The first row of a sounding table that does not rise above the one before.

    Parameters
    ----------
    table : sequence of (float, float)
        Depth and litres. [m], [L]

    Returns
    -------
    int or None
        Its place from 0; None if all rise.

    Examples
    --------
    >>> sounding_fault([(0.0, 0.0), (0.1, 9.0), (0.2, 8.0)])
    2
    """
    for place, ((depth_m, volume_L), (deeper_m, more_L)) in enumerate(pairwise(table), 1):
        if not (deeper_m > depth_m and more_L > volume_L):
            return place
    return None
