"""The ladder as a tired person keeps it: by today's row, one charge for every step."""

from __future__ import annotations

import math
from bisect import bisect
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from powersim.planning.ladder_needs import needs_of
from powersim.planning.ladder_rungs import Reader, Rungs
from powersim.records.brief import brief

if TYPE_CHECKING:
    from powersim.planning.ladder_needs import Day
    from powersim.planning.ladder_steps import LadderStep
    from powersim.records.arrays import Array, Ints

#: A step is taken back only with so much more in the bank than its row asks for (our judgement):
#: what one grey day takes, so that nobody goes up and down every evening. [-]
ROOM_SOC = 0.05
#: With a bank that reads as full as this, a step may be taken back whatever room is asked for. [-]
_FULL_SOC = 0.99
#: So that 80 % and 5 % are no more than 85 %. [-]
_ROUNDING = 1e-9
#: Most rows of the table.
MOST_ROWS = 8


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LadderTable:
    """The charges below which steps are given up, by the days that are left.

    Attributes
    ----------
    row_days : int
        How many days a row holds for. [days]
    least_soc : ndarray, shape (rows, steps)
        What the bank must read for a step not to be given up; minus infinite where it never is,
        infinite where it always is. The first row is that of the days before landfall. [-]
    cautious_frac : float
        In how many of the members that it was found in the charge of a day is enough. [-]
    ahead_days : float
        For so many days. [days]
    """

    row_days: int
    least_soc: Array
    cautious_frac: float
    ahead_days: float

    __repr__ = brief

    def row_at(self, to_go_days: float) -> int:
        """Which row holds so long before landfall. [days]"""
        row = math.ceil(to_go_days / self.row_days - 1e-9) - 1
        return min(max(row, 0), len(self.least_soc) - 1)

    def rung(self, reads_soc: Array, *, to_go_days: float, before: Ints) -> Ints:
        """How many steps are given up after a reading.

        Parameters
        ----------
        reads_soc : ndarray
            What the bank seems to hold. [-]
        to_go_days : float
            To landfall. [days]
        before : ndarray of int
            How many were given up before.
        """
        least_soc = self.least_soc[self.row_at(to_go_days)]
        again_soc = np.minimum(least_soc + ROOM_SOC, np.maximum(least_soc, _FULL_SOC))
        # As many as there are from the first to the last whose charge is not reached.
        down, up = (_last_short(reads_soc, limit) for limit in (least_soc, again_soc))
        return np.clip(before, down, up)


def _last_short(reads_soc: Array, least_soc: Array) -> Ints:
    """How many steps there are up to the last in an unbroken run that asks for more than is read.

    A charge is enough on a rung if it reaches the limit of the next step.
    """
    short = np.asarray(reads_soc)[..., None] < least_soc - _ROUNDING
    return np.cumprod(short, axis=-1).sum(axis=-1)


def row_days_of(days: float) -> int:
    """How many days a row holds for, so that there are no more than MOST_ROWS.

    Examples
    --------
    >>> row_days_of(21.0), row_days_of(60.0), row_days_of(3.0)
    (3, 8, 1)
    """
    return max(1, math.ceil(days / MOST_ROWS - 1e-9))


def seeming_needs(
    rungs: Rungs, days: Sequence[Day], steps: Sequence[LadderStep], *, ahead_days: float
) -> Array:
    """What each member's bank reads where it holds just what it needs on the rung before each step.

    Comfort and useful loads are given up so that the bank stays above its floor with what is
    essential; that is given up only so that not everything goes dark.

    Parameters
    ----------
    rungs : Rungs
        The boat.
    days : sequence of Day
        From `ladder_needs.days_of`.
    steps : sequence of LadderStep
        In order.
    ahead_days : float
        For how many days a rung must do, before all that may be given up is. [days]

    Returns
    -------
    ndarray, shape (readings, steps, members)
        As it is read; infinite as ladder_needs.needs_of has it. [-]
    """
    reader, member = Reader(rungs), np.arange(rungs.members)
    begun_h = np.broadcast_to(rungs.state.since_full_h, rungs.members)
    elapsed_h = (np.array(rungs.read_at) - rungs.read_at[0]) * rungs.track.step_h
    found = np.empty((len(rungs.read_at), len(steps), rungs.members))
    spare = sum(not step.essential for step in steps)
    by_floor = needs_of(days, limit_soc=rungs.battery.floor_soc, rest=spare, ahead_days=ahead_days)
    by_dark = needs_of(days, limit_soc=-np.inf, rest=len(steps), ahead_days=ahead_days)
    for place, step in enumerate(steps):
        need = (by_dark if step.essential else by_floor)[:, place]
        for reading in range(len(rungs.read_at)):
            soc = need[reading]
            reads = reader.reads_soc(
                reading,
                np.where(np.isfinite(soc), soc, 1.0),
                begun_h + elapsed_h[reading],
                member,
            )
            found[reading, place] = np.where(np.isfinite(soc), reads, soc)
    return found


def table_of(
    rungs: Rungs, seeming: Array, *, cautious_frac: float, ahead_days: float
) -> LadderTable:
    """The table whose charges are enough in a share of the members.

    Parameters
    ----------
    rungs : Rungs
        For the days that are left at each reading.
    seeming : ndarray, shape (readings, steps, members)
        From `seeming_needs`. [-]
    cautious_frac, ahead_days : float
        That share, and for how many days. [-], [days]

    Notes
    -----
    A row has the highest charge of its days, in whole per cent. A later step is never asked for
    by a charge at which an earlier one is not.
    Where ship's time is set back, two readings are 25 h apart, and a row of one day may have none:
    it has the higher charge of the rows beside it, for who reads by its date.
    """
    days = rungs.to_go_days
    row_days = row_days_of(days[0])
    rows = math.ceil(days[0] / row_days - 1e-9)
    place = min(math.ceil(cautious_frac * rungs.members) - 1, rungs.members - 1)
    by_reading = np.sort(seeming, axis=-1)[..., max(place, 0)]
    least_soc = np.full((rows, seeming.shape[1]), -np.inf)
    table = LadderTable(
        row_days=row_days,
        least_soc=least_soc,
        cautious_frac=cautious_frac,
        ahead_days=ahead_days,
    )
    for reading, to_go_days in enumerate(days):
        row = table.row_at(to_go_days)
        least_soc[row] = np.maximum(least_soc[row], by_reading[reading])
    _fill_between(least_soc, sorted({table.row_at(to_go_days) for to_go_days in days}))
    least_soc[:] = np.minimum.accumulate(least_soc, axis=1)
    finite = np.isfinite(least_soc)
    least_soc[finite] = np.ceil(least_soc[finite] * 100.0 - 1e-9) / 100.0
    # A bank never reads more than full, nor so little that it is flat.
    least_soc[least_soc > 1.0] = np.inf
    least_soc[least_soc <= rungs.battery.flat_soc] = -np.inf
    return table


def _fill_between(least_soc: Array, read: Sequence[int]) -> None:
    """Give each row without a reading the higher charges of the nearest that have one."""
    for row in set(range(len(least_soc))).difference(read):
        place = bisect(read, row)
        least_soc[row] = least_soc[list(read[max(place - 1, 0) : place + 1])].max(axis=0)
