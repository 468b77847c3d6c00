"""How much a bank must hold at each reading to reach landfall on each rung of a ladder.

Day by day, a bank is started at every charge of a grid, on every rung, in every member; what it
holds a day later and how low it goes between is a table. Backwards from landfall these tables give
the least charge from which all days to come are survived.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from powersim.physics.bank import soc_of
from powersim.planning.ladder_rungs import Rungs, grid
from powersim.simulation.carry import Batch
from powersim.simulation.differing import of_members
from powersim.simulation.flat import Laid, Room
from powersim.simulation.state import start_state

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools

#: Charges that are tried from flat to full; straight lines between.
N_CHARGES = 21


class Day(NamedTuple):
    """What one day makes of every charge, of arrays shaped (rungs, members, charges).

    Attributes
    ----------
    charges : ndarray, shape (charges,)
        What a bank begins the day with. [-]
    after, lowest : ndarray
        What it holds a day later, and the least between. [-]
    dark : ndarray of bool
        Whether all goes dark.
    """

    charges: Array
    after: Array
    lowest: Array
    dark: Bools


def days_of(rungs: Rungs, *, progress: Callable[[float], object] | None = None) -> list[Day]:
    """Every day from one reading to the next, on every rung, from every charge.

    Parameters
    ----------
    rungs : Rungs
        The boat.
    progress : callable, optional
        Called with the share that is done.

    Notes
    -----
    A bank begins each day rested.
    """
    charges = np.linspace(rungs.battery.flat_soc, 1.0, N_CHARGES)
    days, room, found = rungs.days, Room(), []
    for place, steps in enumerate(days):
        found.append(_day(rungs, steps, charges, room))
        if progress is not None:
            progress((place + 1) / len(days))
    return found


def needs_of(
    days: Sequence[Day], *, limit_soc: float, rest: int, ahead_days: float = np.inf
) -> Array:
    """The least charge at each reading from which landfall is reached above a limit, and not dark.

    Parameters
    ----------
    days : sequence of Day
        From `days_of`.
    limit_soc : float
        That no bank may fall below; minus infinity for the dark alone. [-]
    rest : int
        The rung that is taken in the end.
    ahead_days : float
        For how many days each rung is kept before that. [days]

    Returns
    -------
    ndarray, shape (readings, rungs, members)
        Infinite where no charge is enough, minus infinite where any is. [-]

    Notes
    -----
    More charge never does worse without an engine. With one whose rule waits for a low bank it
    may; then the highest charge that fails counts.
    """
    shape = days[0].dark.shape[:2]
    landfall = np.full(shape, -np.inf)
    whole = [landfall]
    for day in reversed(days):
        whole.append(_least(day, limit_soc=limit_soc, after=whole[-1]))
    whole.reverse()
    if ahead_days >= len(days):
        return np.array(whole[:-1])
    found = []
    for place in range(len(days)):
        last = min(place + int(ahead_days), len(days))
        after = np.broadcast_to(whole[last][rest], shape)
        for day in reversed(days[place:last]):
            after = _least(day, limit_soc=limit_soc, after=after)
        found.append(after)
    return np.array(found)


def _day(rungs: Rungs, steps: slice, charges: Array, room: Room) -> Day:
    shape = len(rungs.forcings), rungs.members, len(charges)
    rung, member, charge = grid(*shape)
    batch = Batch(
        plant=rungs.plant,
        state=start_state(of_members(rungs.plant, member), soc=charges[charge]),
        step_h=rungs.track.step_h,
        switches=rungs.switches,
        floor_soc=rungs.battery.floor_soc,
        until_dark=True,
        source_of=rung * rungs.members + member,
        boat_of=member,
    )
    batch.through(Laid(*(forcing.signals(steps) for forcing in rungs.forcings), room=room))
    bank = of_members(rungs.plant.bank, member)
    return Day(
        charges=charges,
        after=np.asarray(soc_of(bank, batch.state.total_Ah)).reshape(shape),
        lowest=batch.told["lowest_soc"].reshape(shape),
        dark=np.isfinite(batch.told["flat_h"]).reshape(shape),
    )


def _least(day: Day, *, limit_soc: float, after: Array) -> Array:
    """The least charge from which up all are enough, on a straight line below the grid's."""
    charges = day.charges
    with np.errstate(invalid="ignore"):
        room = np.minimum(day.lowest - limit_soc, day.after - after[..., None])
    enough = ~day.dark & (room >= 0.0)
    first = len(charges) - np.cumprod(enough[..., ::-1], axis=-1).sum(axis=-1)
    here, lower = np.minimum(first, len(charges) - 1), np.maximum(first - 1, 0)
    above, below, dark = (
        np.take_along_axis(one, at[..., None], axis=-1)[..., 0]
        for one, at in ((room, here), (room, lower), (day.dark, lower))
    )
    # Where it is the dark that is in the way, nobody knows how far below the grid's charge.
    between = ~dark & np.isfinite(above) & np.isfinite(below) & (above > below)
    share = np.ones(first.shape)
    share[between] = -below[between] / (above[between] - below[between])
    least = charges[lower] + share * (charges[here] - charges[lower])
    least = np.where(first == 0, -np.inf, least)
    return np.where(first == len(charges), np.inf, least)
