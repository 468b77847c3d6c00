"""The bank as a step begins: to whoever draws from it, and to whoever charges it."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from powersim.physics.bank import most_charge_A, most_discharge_A, soc_of
from powersim.physics.voltage import (
    charge_resistance_ohm,
    coulombic_frac,
    discharge_resistance_ohm,
    emf_and_slope_V,
)

if TYPE_CHECKING:
    from powersim.kernel.plant import Plant
    from powersim.kernel.state import MemberState
    from powersim.kernel.step_signals import StepSignals

#: Smallest current that anything is divided by, far below what a meter shows. [A]
LEAST_A = 1e-6


class BankNow(NamedTuple):
    """The bank as a step begins: its voltage, its resistance on discharge, the most it can give."""

    soc: float
    emf_V: float
    half_V_per_A: float
    ohm_out: float
    most_out_A: float
    leak_A: float


class Taking(NamedTuple):
    """The same bank to whoever charges it: share that stays, resistance, the most it can take."""

    stays: float
    ohm: float
    most_A: float
    room_A: float


def bank_as(*, state: MemberState, row: StepSignals, plant: Plant, step_h: float) -> BankNow:
    """The bank as a step begins, with half of the step's change of emf in its resistance.

    Parameters
    ----------
    state : State
        As the step begins.
    row : StepSignals
        Signals of the step.
    plant : Plant
        The boat's constants.
    step_h : float
        Length of the step. [h]

    Returns
    -------
    BankNow
        What holds for the whole step.
    """
    bank = plant.bank
    soc = soc_of(bank, state.total_Ah)
    rest_V, slope_V = emf_and_slope_V(bank, soc)
    # Emf is taken in the middle of the step: it moves with the current, as over a resistance, and
    # with what leaks.
    half_V_per_A = slope_V * (0.5 * step_h / bank.capacity_Ah)
    unreachable_Ah = row.unreachable_frac * bank.capacity_Ah
    can_give_A = most_discharge_A(bank, state.total_Ah, state.available_Ah, unreachable_Ah)
    leak_A = (plant.self_discharge_per_h * bank.capacity_Ah) * soc + plant.standby_A
    if can_give_A < leak_A:
        leak_A = can_give_A
    return BankNow(
        soc=soc,
        emf_V=rest_V - half_V_per_A * leak_A,
        half_V_per_A=half_V_per_A,
        ohm_out=discharge_resistance_ohm(bank, soc, row.bank_C) + half_V_per_A,
        most_out_A=can_give_A - leak_A,
        leak_A=leak_A,
    )


def taking_as(
    now: BankNow, *, state: MemberState, row: StepSignals, plant: Plant, step_h: float
) -> Taking:
    """What a bank puts against being charged in a step.

    Parameters
    ----------
    now : BankNow
        As the step begins.
    state : State
        As the step begins.
    row : StepSignals
        Signals of the step.
    plant : Plant
        The boat's constants.
    step_h : float
        Length of the step. [h]

    Returns
    -------
    Taking
        What the bank can take in it.
    """
    bank = plant.bank
    # Resistance and gassing on charge rise steeply towards full: they are those of the middle of
    # the step, should the current go on as it was, or a long step would take too much.
    later_soc = now.soc + state.into_A * (0.5 * step_h / bank.capacity_Ah)
    if later_soc > 1.0:
        later_soc = 1.0
    stays = coulombic_frac(bank, later_soc)
    room_A = most_charge_A(bank, state.total_Ah)
    most_A = row.takes_charge * room_A / stays
    if not most_A > LEAST_A:
        most_A = LEAST_A
    return Taking(
        stays=stays,
        ohm=charge_resistance_ohm(bank, later_soc, row.bank_C) + now.half_V_per_A * stays,
        most_A=most_A,
        room_A=room_A,
    )
