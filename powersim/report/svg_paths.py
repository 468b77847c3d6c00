"""Outlines of a plain SVG picture: short strings of whole numbers, quick to make and to read.

A picture is drawn in the units of its data, hours across and whole small steps upward; a transform
puts it into its frame. So one outline serves a wide picture and a narrow one.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise


def line(ys: Sequence[int], *, start: int = 0) -> str:
    """A line through a value at every hour.

    Parameters
    ----------
    ys : sequence of int
        Values, in small steps.
    start : int
        The hour of the first.

    Examples
    --------
    >>> line([100, 98, 98, 101], start=5)
    'M5 100l1-2 1 0 1 3'
    """
    return f"M{start} {ys[0]}" + _steps(ys)


def between(lows: Sequence[int], highs: Sequence[int], *, start: int = 0) -> str:
    """An area between two lines, closed.

    Parameters
    ----------
    lows, highs : sequence of int
        Values at every hour, equally many.
    start : int
        The hour of the first.

    Examples
    --------
    >>> between([1, 2, 2], [5, 7, 6])
    'M0 5l1 2 1-1V2l-1 0-1-1z'
    """
    back = _steps(lows[::-1], across=-1)
    return f"{line(highs, start=start)}V{lows[-1]}{back}z"


def stairs(ys: Sequence[int], *, start: int = 0) -> str:
    """A line that keeps each value until the next hour that has another.

    Parameters
    ----------
    ys : sequence of int
        Values at every hour.
    start : int
        The hour of the first.

    Examples
    --------
    >>> stairs([0, 0, 5, 5, 9, 9, 9])
    'M0 0H2V5H4V9H6'
    """
    parts, before = [f"M{start} {ys[0]}"], ys[0]
    for hour, y in enumerate(ys, start):
        if y != before:
            parts.append(f"H{hour}V{y}")
            before = y
    parts.append(f"H{start + len(ys) - 1}")
    return "".join(parts)


def bars(spans: Sequence[tuple[float, float, int, int]]) -> str:
    """Upright bars as one outline.

    Parameters
    ----------
    spans : sequence of (float, float, int, int)
        From and to, across and then upward; those without height are left out.

    Examples
    --------
    >>> bars([(0, 10, 0, 4), (10, 34, 0, 0), (34, 58, 2, 5)])
    'M0 0H10V4H0zM34 2H58V5H34z'
    """
    return "".join(
        f"M{left} {low}H{right}V{high}H{left}z" for left, right, low, high in spans if high > low
    )


def _steps(ys: Sequence[int], *, across: int = 1) -> str:
    """From one value to the next; a minus parts numbers by itself."""
    if len(ys) < 2:
        return ""
    apart = [after - before for before, after in pairwise(ys)]
    return "l" + " ".join(map(f"{across} %d".__mod__, apart)).replace(" -", "-")
