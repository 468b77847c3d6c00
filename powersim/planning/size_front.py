"""Which choices of sizes are adequate, and which of them no other beats: the Pareto front."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from powersim.planning.size_point import Point

if TYPE_CHECKING:
    from powersim.planning.size_replan import Replanned
from powersim.records.brief import brief
from powersim.simulation.verdict import too_often

#: Digits to which weights and hours are compared: sums in another order differ by rounding.
_DIGITS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class FrontPoint:
    """An adequate choice that no other one beats.

    Attributes
    ----------
    point : Point
        The choice and what it comes to.
    added_kg : float
        Weight that it adds to the boat as she is; negative for less. [kg]
    saved_h : float
        Mean engine hours of charging that it saves over the lightest adequate choice. [h]
    saved_h_per_kg : float or None
        Those hours for each kilogram that it is heavier than that choice; None for that choice
        itself. [h/kg]
    """

    point: Point
    added_kg: float
    saved_h: float
    saved_h_per_kg: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sized:
    """All choices, compared.

    Attributes
    ----------
    points : tuple of Point
        All choices, the boat as she is first.
    risk_frac : float
        Share of the members in which a choice may fail. [-]
    front : tuple of FrontPoint
        The Pareto front, lightest first; empty if no choice is adequate.
    nearest : tuple of Point
        The rest, the best first: adequate ones by the engine hours that they take beyond a choice
        on the front that is no heavier; the others by the share of the members in which all goes
        dark, then by that in which they fail.
    rules : tuple of Replanned
        A charging rule for each choice on the front, where that was asked for.
    """

    points: tuple[Point, ...]
    risk_frac: float
    front: tuple[FrontPoint, ...]
    nearest: tuple[Point, ...]
    rules: tuple[Replanned, ...] = ()

    __repr__ = brief

    @property
    def own(self) -> Point:
        """The boat as she is."""
        return self.points[0]

    @property
    def adequate(self) -> tuple[Point, ...]:
        """The choices that fail in no more members than they may."""
        return tuple(point for point in self.points if is_adequate(point, self.risk_frac))


def is_adequate(point: Point, risk_frac: float) -> bool:
    """Whether a choice fails in no more members than it may.

    Parameters
    ----------
    point : Point
        The choice and what it comes to.
    risk_frac : float
        Share of the members in which it may fail. [-]
    """
    return not too_often(point.fails_frac, risk_frac)


def compare_choices(points: Sequence[Point], *, risk_frac: float) -> Sized:
    """Find the adequate choices that no other one beats, and put the rest in order.

    Parameters
    ----------
    points : sequence of Point
        All choices, the boat as she is first.
    risk_frac : float
        Share of the members in which a choice may fail. [-]

    Notes
    -----
    The Pareto front of weight and engine hours: a choice is on it if every other adequate one is
    heavier or charges longer. Of choices with the same weight and hours the first counts.
    """
    best = front_of([point for point in points if is_adequate(point, risk_frac)])
    taken = {id(point) for point in best}
    rest = [point for point in points if id(point) not in taken]

    def order(point: Point) -> tuple[bool, float, float, float, float, float]:
        adequate = is_adequate(point, risk_frac)
        beyond_h = _beyond_h(point, best) if adequate else 0.0
        dark_frac = 0.0 if adequate else point.flat_frac
        return (
            not adequate,
            beyond_h,
            dark_frac,
            point.fails_frac,
            point.charging_h,
            point.weight_kg,
        )

    return Sized(
        points=tuple(points),
        risk_frac=risk_frac,
        front=tuple(_front_point(point, best[0], points[0]) for point in best),
        nearest=tuple(sorted(rest, key=order)),
    )


def front_of(points: Sequence[Point]) -> list[Point]:
    """Points that no other beats in weight and in charging hours, lightest first."""
    front: list[Point] = []
    least_h = float("inf")
    for point in sorted(points, key=_place):
        if _place(point)[1] < least_h:
            front.append(point)
            least_h = _place(point)[1]
    return front


def _place(point: Point) -> tuple[float, float]:
    return round(point.weight_kg, _DIGITS), round(point.charging_h, _DIGITS)


def _beyond_h(point: Point, front: Sequence[Point]) -> float:
    """Engine hours beyond the best choice on the front that is no heavier. [h]"""
    lighter = [one.charging_h for one in front if _place(one)[0] <= _place(point)[0]]
    return point.charging_h - min(lighter)


def _front_point(point: Point, lightest: Point, own: Point) -> FrontPoint:
    saved_h = lightest.charging_h - point.charging_h
    heavier_kg = point.weight_kg - lightest.weight_kg
    return FrontPoint(
        point=point,
        added_kg=point.weight_kg - own.weight_kg,
        saved_h=saved_h,
        saved_h_per_kg=None if point is lightest else saved_h / heavier_kg,
    )
