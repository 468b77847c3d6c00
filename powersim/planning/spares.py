"""What a spare gains: days from the worst moment with a failure mended at once, and without."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from powersim.planning.cases import ALL_LOADS
from powersim.planning.failures import FAILURES, NO_CHARGING, WORKING
from powersim.records.brief import brief
from powersim.simulation.bands import quantiles

if TYPE_CHECKING:
    from powersim.planning.endurance_table import DaysFrom
    from powersim.records import Battery
    from powersim.records.arrays import Array, Floats

#: What mends each failure, by its key (common practice, no source).
SPARES = {
    "alternator": "belt, brushes and regulator, or a whole alternator",
    "engine": "belts, impeller, filters, and what starts it",
    "tank fuel": "filters, a clean can, a hose straight to the pump",
    "panel": "a panel that can be laid out, and its plugs",
    "solar": "a controller, fuses, plugs",
    "other chargers": "fuses, brushes, a blade or a line",
    "half battery": "links, to take the bad half off and the good one on",
    "protection": "how to close it by hand, written down",
    "double pilot": "a second pilot, or a vane",
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spare:
    """What mending one failure at once gains.

    Attributes
    ----------
    loss : str
        The failure's line in the table.
    carry : str
        What mends it.
    to_flat_days, to_floor_days : float or ndarray, shape (members,)
        By how much longer all stays on, and the bank above its floor; to landfall at most. [days]
    """

    loss: str
    carry: str
    to_flat_days: Floats
    to_floor_days: Floats

    __repr__ = brief


def spares_of(moment: DaysFrom, battery: Battery) -> tuple[Spare, ...]:
    """What a spare for each failure gains, the most first.

    Parameters
    ----------
    moment : DaysFrom
        With every loss, all loads on, such as from the worst moment.
    battery : Battery
        For the word of its kind.

    Returns
    -------
    tuple of Spare
        By what 1 in 10 of the passages gains at most without darkness, then by their median, then
        by the floor. Losing all charging is no single failure, and has no spare.
    """
    all_on = {line.loss: line for line in moment.lines if line.loads == ALL_LOADS}
    if WORKING not in all_on:
        return ()
    whole = all_on[WORKING]
    of_line = {one.name.format(bank=battery.traits.word): one.key for one in FAILURES}
    found = [
        Spare(
            loss=line.loss,
            carry=SPARES[of_line[line.loss]],
            to_flat_days=_gained(whole.days_to_flat, line.days_to_flat, moment.days_to_landfall),
            to_floor_days=_gained(whole.days_to_floor, line.days_to_floor, moment.days_to_landfall),
        )
        for line in all_on.values()
        if line.loss in of_line and line.loss != NO_CHARGING
    ]
    return tuple(sorted(found, key=_rank, reverse=True))


def _gained(whole: Floats, lost: Floats, most: float) -> Floats:
    gained = np.minimum(whole, most) - np.minimum(lost, most)
    return float(gained) if np.ndim(gained) == 0 else gained


def _rank(spare: Spare) -> tuple[float, ...]:
    return tuple(
        float(quantiles(np.atleast_1d(days), (share,))[0])
        for share in (0.9, 0.5)
        for days in (spare.to_flat_days, spare.to_floor_days)
    )


def tenth_and_half(days: Floats) -> tuple[float, float]:
    """What 1 in 10 of the passages gains more than, and half of them do.

    Parameters
    ----------
    days : float or ndarray, shape (members,)
        What it gains. [days]
    """
    values: Array = np.atleast_1d(days)
    half, most = quantiles(values, (0.5, 0.9))
    return float(most), float(half)
