"""When a leg is under power: hours at its ends, and a share of its calms spread along it."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools

SPELL_H = 3.0  # how long a calm is motored at a time; common practice, no source [h]


def at_ends(since_h: Array, *, leg_h: float, start_h: float, end_h: float) -> Bools:
    """Which steps fall in the hours under power at a leg's ends.

    Parameters
    ----------
    since_h : ndarray, shape (steps,)
        Time since the leg began, at the steps' middles. [h]
    leg_h : float
        How long the leg takes. [h]
    start_h, end_h : float
        Hours under power after its start and before its end; together they may fill it. [h]

    Returns
    -------
    ndarray of bool, shape (steps,)
        True under power.

    Examples
    --------
    >>> at_ends(np.array([0.5, 1.5, 2.5, 3.5]), leg_h=4.0, start_h=1.0, end_h=2.0).tolist()
    [True, False, True, True]
    """
    return (since_h < start_h) | (since_h >= leg_h - end_h)


def calm_spells(share_frac: Array, *, step_h: float) -> Bools:
    """Spread motoring over steps in spells of about three hours.

    Parameters
    ----------
    share_frac : ndarray, shape (steps,)
        Share of each step that ought to be motored: the chance of a calm there times the share of
        calms that the sailor motors. [-]
    step_h : float
        Length of a step. [h]

    Returns
    -------
    ndarray of bool, shape (steps,)
        True under power. As many steps in all as the shares add up to, to the nearest step.

    Notes
    -----
    The leg is cut where the sum of the shares reaches each next spell's worth, and the spell is
    put in the middle of its stretch: closely in the doldrums, seldom in the trades. The same leg
    always gets the same spells; when the calms really come nobody knows.

    Examples
    --------
    >>> calm_spells(np.full(12, 0.5), step_h=1.0).astype(int).tolist()
    [0, 1, 1, 1, 0, 0, 0, 1, 1, 1, 0, 0]
    """
    motored = np.zeros(share_frac.size, dtype=bool)
    due = np.cumsum(share_frac)  # in steps
    total = due[-1] if due.size else 0.0
    spells = max(1, round(total * step_h / SPELL_H))
    marks = np.round(total * np.arange(spells + 1) / spells).astype(int)
    # No share is above 1, so a stretch is never shorter than its spell; a whisker for rounding.
    inner = np.searchsorted(due, marks[1:-1] + 1e-9, side="right")
    cuts = [0, *inner.tolist(), share_frac.size]
    for (begin, end), length in zip(pairwise(cuts), np.diff(marks).tolist(), strict=True):
        first = (begin + end - length) // 2
        motored[first : first + length] = True
    return motored
