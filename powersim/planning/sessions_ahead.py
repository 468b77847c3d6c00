"""What a message costs under way, and how many the bank still has in it by what the log shows."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from powersim.planning.depletion_batch import before
from powersim.planning.failures import NOTHING_CHARGES
from powersim.planning.hour_in_gear import engine_hours
from powersim.planning.scenario import FEW
from powersim.planning.session_costs import litres_per_Ah, session_costs
from powersim.planning.sessions_left import STAYS_ON, SessionTable, sessions_bought
from powersim.simulation.carry import Batch
from powersim.simulation.ensemble import blocks
from powersim.simulation.ensemble_forcing import with_loads

if TYPE_CHECKING:
    from powersim.records import Passage
    from powersim.records.arrays import Array
    from powersim.simulation.aboard import ForcingAboard


def sessions_ahead(forcing: ForcingAboard) -> SessionTable:
    """What each kind of session costs, and how many today's bank has in it.

    Parameters
    ----------
    forcing : ForcingAboard
        The rest of the passage, with the banks and loads that the log shows.

    Returns
    -------
    SessionTable
        Costs are those of the files.
    """
    prepared = forcing.prepared
    hours = engine_hours(prepared.passage, prepared)
    few = forcing.between(0, min(forcing.members, FEW))
    track = prepared.track
    return sessions_bought(
        prepared,
        costs=session_costs(prepared, fuel_L_per_Ah=litres_per_Ah(hours)),
        lasts_h=lambda passages: [
            before(track.arrival_h, _lasts_h(few, passage)) for passage in passages
        ],
        step=0,
        limit_h=track.arrival_h,
        soc=np.array(np.broadcast_to(few.aboard.soc, few.members), dtype=float),
        told=lambda values: np.array(np.broadcast_to(values, few.members), dtype=float),
    )


def _lasts_h(forcing: ForcingAboard, passage: Passage) -> tuple[Array, Array]:
    """Hours to the floor and to flat with other loads on, and nothing that charges."""
    other = with_loads(forcing.forcing, passage)
    # As everywhere here: how far the load list is off, the log has shown.
    other = replace(other, factors=np.ones_like(other.factors))
    aboard, track = forcing.aboard, forcing.prepared.track
    plant, drawn = aboard.plant(other.plant), aboard.switches()
    batch = Batch(
        plant=plant,
        state=aboard.state(plant, members=other.members),
        step_h=track.step_h,
        switches=NOTHING_CHARGES._replace(
            groups=tuple(on * draws for on, draws in zip(STAYS_ON, drawn.groups, strict=True))
        ),
        floor_soc=passage.boat.battery.floor_soc,
        until_dark=True,
    )
    for steps in blocks(track.n_steps, step_h=track.step_h):
        batch.through(other.signals(steps))
    flat_h = batch.told["flat_h"]
    return np.minimum(batch.told["floor_h"], flat_h), flat_h
