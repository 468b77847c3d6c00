"""The state with which a run begins."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from powersim.kernel.state import State
from powersim.physics.bank import state_at
from powersim.physics.voltage import rested_V

if TYPE_CHECKING:
    from powersim.kernel.plant import Plant
    from powersim.kernel.state import BatchState
    from powersim.records.arrays import Floats


def start_state(plant: Plant, *, soc: Floats) -> BatchState:
    """The state at departure, rested at a state of charge.

    Parameters
    ----------
    plant : Plant
        For its bank.
    soc : float or ndarray, shape (members,)
        State of charge. [-]

    Returns
    -------
    State
        With the bank's own open-circuit voltage, an engine that has not run yet (for inf hours),
        and a full charge at the quay.
    """
    total_Ah, available_Ah = state_at(plant.bank, soc)
    zero = soc * 0.0
    no = zero > 0.0
    return State(
        total_Ah=total_Ah,
        available_Ah=available_Ah,
        bank_V=rested_V(plant.bank, soc),
        alternator_A=zero,
        dark=no,
        comfort_shed=no,
        useful_shed=no,
        turning=no,
        running=no,
        for_full=no,
        run_h=zero,
        stopped_h=zero + math.inf,
        alternator_absorbed_h=zero,
        floating=no,
        tail_h=zero,
        since_full_h=zero,
        burnt_L=zero,
        pack_Wh=zero + plant.pack.full_Wh,
    )
