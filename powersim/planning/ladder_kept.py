"""A ladder as it is kept day by day: read in the evening, with the errors of whoever reads."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from powersim.planning.failures import NOTHING_CHARGES
from powersim.planning.ladder_rungs import Reader, Rungs, grid
from powersim.planning.ladder_table import LadderTable
from powersim.records.brief import brief
from powersim.simulation.carry import Batch
from powersim.simulation.differing import of_members
from powersim.simulation.flat import Laid, Room
from powersim.simulation.ledgers import LEDGERS

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools, Ints

_DAY_h = 24.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Kept:
    """How it goes by one ladder, or on one rung all the way; every array has members last.

    Attributes
    ----------
    floor_days, flat_days : ndarray, shape (members,)
        Until the bank is below its floor, and until all is dark; infinite for never. [days]
    rung : ndarray of int, shape (readings, members)
        How many steps are given up from each reading on.
    lowest_soc : ndarray, shape (members,)
        Lowest state of charge. [-]
    begins_days : ndarray, shape (readings,)
        When each reading is, from the first on. [days]
    """

    floor_days: Array
    flat_days: Array
    rung: Ints
    lowest_soc: Array
    begins_days: Array

    __repr__ = brief

    @property
    def dark(self) -> Bools:
        """Where everything goes dark before landfall."""
        return np.isfinite(self.flat_days)

    @property
    def below_floor(self) -> Bools:
        """Where the bank falls below its floor, or all goes dark."""
        return np.isfinite(self.floor_days) | self.dark

    def evenings(self, step: int) -> Array:
        """On how many evenings a step was given up, before all was dark. (members,)"""
        alight = self.begins_days[:, None] < self.flat_days
        return ((self.rung > step) & alight).sum(axis=0).astype(float)


def kept(
    rungs: Rungs,
    ladders: Sequence[LadderTable | int],
    *,
    progress: Callable[[float], object] | None = None,
) -> list[Kept]:
    """Simulate the rest of the passage by some ladders, side by side in the same members.

    Parameters
    ----------
    rungs : Rungs
        The boat.
    ladders : sequence of LadderTable or int
        A number stays on that rung all the way.
    progress : callable, optional
        Called with the share that is done.

    Raises
    ------
    BalanceError
        If the books of any bank do not close.
    """
    members, track, floor_soc = rungs.members, rungs.track, rungs.battery.floor_soc
    ladder, member = grid(len(ladders), members)
    reader, room, days = Reader(rungs), Room(), rungs.days
    rung = np.array([0 if isinstance(one, LadderTable) else one for one in ladders])[ladder]
    batch = Batch(
        plant=rungs.plant,
        state=of_members(rungs.each_state(), member),
        step_h=track.step_h,
        switches=rungs.switches,
        floor_soc=floor_soc,
        until_dark=True,
        sums=LEDGERS,
        boat_of=member,
        source_of=rung * members + member,
    )
    of_all = np.empty((len(days), len(rung)), dtype=int)
    for reading, (steps, to_go_days) in enumerate(zip(days, rungs.to_go_days, strict=True)):
        reads_soc = reader.now(reading, batch.state, member)
        for place, one in enumerate(ladders):
            if isinstance(one, LadderTable):
                own = slice(place * members, (place + 1) * members)
                rung[own] = one.rung(reads_soc[own], to_go_days=to_go_days, before=rung[own])
        of_all[reading] = rung
        batch = batch.taken(np.arange(len(rung)), source_of=rung * members + member)
        batch.through(Laid(*(forcing.signals(steps) for forcing in rungs.forcings), room=room))
        batch.check()
        if progress is not None:
            progress((reading + 1) / len(days))
    told = batch.told
    begins_days = (np.array(rungs.read_at) - rungs.read_at[0]) * track.step_h / _DAY_h
    return [
        Kept(
            floor_days=np.minimum(told["floor_h"], told["flat_h"])[own] / _DAY_h,
            flat_days=told["flat_h"][own] / _DAY_h,
            rung=of_all[:, own],
            lowest_soc=told["lowest_soc"][own].copy(),
            begins_days=begins_days,
        )
        for own in (slice(at * members, (at + 1) * members) for at in range(len(ladders)))
    ]


def bank_alone_days(rungs: Rungs) -> tuple[Array, ...]:
    """How long the bank alone lasts on each rung until all is dark, if nothing charges any more.

    Parameters
    ----------
    rungs : Rungs
        The boat.

    Returns
    -------
    tuple of ndarray, shape (members,)
        Rung by rung; infinite past landfall. [days]
    """
    members, track = rungs.members, rungs.track
    rung, member = grid(len(rungs.forcings), members)
    works = rungs.switches
    batch = Batch(
        plant=rungs.plant,
        state=of_members(rungs.each_state(), member),
        step_h=track.step_h,
        switches=NOTHING_CHARGES._replace(groups=works.groups, engine=works.engine),
        until_dark=True,
        boat_of=member,
        source_of=rung * members + member,
    )
    room = Room()
    for steps in rungs.days:
        batch.through(Laid(*(forcing.signals(steps) for forcing in rungs.forcings), room=room))
        if np.isfinite(batch.told["flat_h"]).all():
            break
    flat_days = batch.told["flat_h"].reshape(len(rungs.forcings), members) / _DAY_h
    return tuple(np.where(flat_days > rungs.to_go_days[0], np.inf, flat_days))
