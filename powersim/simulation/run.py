"""A run through all steps of a passage, with every flow kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from powersim.kernel.flows import Flows
from powersim.kernel.plant import Plant
from powersim.kernel.state import State, Switches
from powersim.simulation.carry import Batch

if TYPE_CHECKING:
    from powersim.kernel.state import BatchState
    from powersim.records.arrays import Array, Bools
    from powersim.simulation.signals import Signals


def run(
    signals: Signals,
    *,
    plant: Plant,
    state: BatchState,
    switches: Switches | None = None,
    first: int = 0,
    until_dark: bool = False,
) -> tuple[Flows[Array], State[Array, Bools]]:
    """Carry one member or many through a run, and keep every flow.

    Parameters
    ----------
    signals : Signals
        For all steps of the passage.
    plant : Plant
        The boat's constants.
    state : State
        As step `first` begins; floats for one member, arrays shaped (members,) for more.
    switches : Switches, optional
        What works and what is wanted; floats, or arrays shaped (members,).
    first : int
        Step to begin with.
    until_dark : bool
        For one member: whether the run ends after the step in which all first goes dark.

    Returns
    -------
    tuple of (Flows, State)
        Flows of arrays shaped (steps, members), and the state after the last of them, of arrays
        shaped (members,).
    """
    batch = Batch(
        plant=plant,
        state=state,
        step_h=signals.step_h,
        switches=switches,
        until_dark=until_dark,
    )
    flows = batch.through(signals.between(first, signals.n_steps), series=Flows._fields)
    flow = Flows(*flows.values())
    if until_dark and np.isfinite(batch.told["flat_h"][0]):
        steps = round(batch.told["flat_h"][0] / signals.step_h) + 1
        flow = Flows(*(values[:steps] for values in flow))
    return flow, batch.state
