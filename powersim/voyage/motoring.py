"""When a leg is under power: hours at its ends, and a share of its calms.

In average weather that share is spread along the leg; in a member it is taken of the calms that
come.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools, Floats

#: How far a sailor who motors some of the calms chooses by the wind: 1 would motor the flattest
#: alone, 0 any of them for a part of the day; nobody has measured it, judgement. [-]
BY_WIND = 0.5
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


def motored_calms(quantile: Array, turn: Array, *, calm_frac: Floats, share: Floats) -> Bools:
    """Which hours of members are motored for want of wind.

    Parameters
    ----------
    quantile : ndarray, shape (hours, members)
        Where the wind is in its distribution, as `sky.wind.wind_quantiles` has it. [-]
    turn : ndarray, shape (hours, members)
        What time of the day is the engine's, as `sky.wind.calm_turns` has it. [-]
    calm_frac : float or ndarray
        Chance of a calm. [-]
    share : float or ndarray
        Share of the calms that the sailor motors. [-]

    Returns
    -------
    ndarray of bool, shape (hours, members)
        True under power.

    Notes
    -----
    The flattest calms are motored, share ** BY_WIND of all, for share ** (1 - BY_WIND) of the day;
    with 25 % of calms, the flatter half for half of the day. The rest is left to the sails or
    waited out. So flatter and longer calms are motored more, but not for days on end unless all
    are, and in the mean it is exactly the share, for quantile and turn are independent.

    Examples
    --------
    >>> quantile, turn = np.array([[0.01, 0.01, 0.15]]), np.array([[0.3, 0.7, 0.3]])
    >>> motored_calms(quantile, turn, calm_frac=0.2, share=0.25).tolist()
    [[True, False, False]]
    """
    return (quantile < calm_frac * share**BY_WIND) & (turn < share ** (1.0 - BY_WIND))
