"""The needle of the tank's gauge: litres at its marks, and what of them cannot be."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

#: (place on the dial, from 0 at E to 1 at F; litres in the tank).
NeedleMarks = Sequence[tuple[float, float]]
#: More marks than this no dial has; judgement.
MOST_MARKS = 17
#: At sea a needle is off by so many times what it is at rest: it swings, and the fuel runs to one
#: end of the tank; common practice, no source. [-]
AT_SEA = 2.0
#: A tank filled to the brim holds a little more than is said of it; common practice, no source. [-]
_BRIM_FRAC = 0.02


def needle_fault(marks: NeedleMarks, *, tank_L: float) -> str | None:
    """What is wrong with the litres at a needle's marks, in words; None for sound ones.

    Parameters
    ----------
    marks : sequence of (float, float)
        Place on the dial and litres, the lowest first. [-], [L]
    tank_L : float
        What the tank holds. [L]

    Examples
    --------
    >>> needle_fault([(0.0, 4.0), (0.5, 41.0), (1.0, 85.0)], tank_L=85.0)
    >>> needle_fault([(0.0, 4.0), (0.5, 4.0)], tank_L=85.0)
    'no more at 1/2 than at E'
    """
    if not 2 <= len(marks) <= MOST_MARKS:
        return f"{len(marks)} mark{'s' if len(marks) != 1 else ''}, not 2 to {MOST_MARKS}"
    for place, litres in marks:
        if not (0.0 <= place <= 1.0 and litres >= 0.0):
            return "a mark off the dial, or less than nothing in the tank"
    for (low, low_L), (high, high_L) in pairwise(marks):
        if not high > low:
            return f"two figures for {mark_told(high)}"
        if not high_L > low_L:
            return f"no more at {mark_told(high)} than at {mark_told(low)}"
    if marks[-1][1] > tank_L * (1.0 + _BRIM_FRAC):
        return f"more at {mark_told(marks[-1][0])} than the tank holds"
    return None


def mark_told(place: float) -> str:
    """A place on the dial as it is written beside it.

    Parameters
    ----------
    place : float
        From 0 at E to 1 at F. [-]

    Examples
    --------
    >>> mark_told(0.0), mark_told(0.75), mark_told(0.375), mark_told(1.0), mark_told(0.3)
    ('E', '3/4', '3/8', 'F', '30 %')
    """
    if place in (0.0, 1.0):
        return "F" if place else "E"
    for parts in (2, 4, 8, 16):
        if (parts * place).is_integer():
            return f"{round(parts * place)}/{parts}"
    return f"{100.0 * place:.3g} %"
