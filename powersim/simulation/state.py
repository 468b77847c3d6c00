"""The state with which a run begins."""

from __future__ import annotations

from powersim.kernel.state import State
from powersim.physics.bank import state_at


def start_state(plant, *, soc) -> State:
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
    """
    total_Ah, available_Ah = state_at(plant.bank, soc)
    zero = soc * 0.0
    no = zero > 0.0
    return State(
        total_Ah=total_Ah,
        available_Ah=available_Ah,
        bank_V=zero + 12.6 * plant.bank.blocks,
        alternator_A=zero,
        dark=no,
        comfort_shed=no,
        useful_shed=no,
        turning=no,
        running=no,
        for_full=no,
        run_h=zero,
        stopped_h=zero + 1000.0,
        alternator_absorbed_h=zero,
        floating=no,
        tail_h=zero,
        since_full_h=zero,
        burnt_L=zero,
    )
