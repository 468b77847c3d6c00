"""Load shedding in a step: what the loads draw after it, and whether all goes dark."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from powersim.kernel.bus import Bus, Draw, meeting_V
from powersim.kernel.pack import pack_draw_W
from powersim.kernel.rules import shed

if TYPE_CHECKING:
    from powersim.kernel.bank_now import BankNow
    from powersim.kernel.plant import Plant
    from powersim.kernel.state import MemberState, Switches
    from powersim.kernel.step_signals import StepSignals
    from powersim.records.arrays import Readable

#: Charge above flat at which loads come back after a blackout (common practice, no source). [-]
RECOVERY_FRAC = 0.05
#: Rounding slack, so that a bank drained to flat in equal steps is flat at the last of them. [-]
_SLACK_FRAC = 1e-9


class Wanted(NamedTuple):
    """What the loads draw after shedding, their largest peak and fuel, and what is shed.

    What devices take that are charged before the bank is full (`pack_W`) is in `loads`.
    """

    loads: Draw
    peak_A: float
    pack_W: float
    heater_L: float
    comfort_shed: bool
    useful_shed: bool


def loads_in(
    *,
    state: MemberState,
    row: StepSignals,
    soc: float,
    plant: Plant,
    switches: Switches,
    step_h: float,
) -> Wanted:
    """What the loads draw, those that the sailor has switched off left out.

    Parameters
    ----------
    state : State
        As the step begins.
    row : StepSignals
        Signals of the step.
    soc : float
        State of charge. [-]
    plant : Plant
        For the shedding levels.
    switches : Switches
        Which groups are wanted.
    step_h : float
        Length of the step. [h]

    Returns
    -------
    Wanted
        What is wanted, and what is shed.
    """
    rule = plant.rule
    # A level below zero stands for never.
    comfort_shed = rule.comfort_below_soc >= 0.0 and shed(
        was_shed=state.comfort_shed,
        soc=soc,
        below_soc=rule.comfort_below_soc,
        restore_frac=rule.restore_frac,
    )
    useful_shed = rule.useful_below_soc >= 0.0 and shed(
        was_shed=state.useful_shed,
        soc=soc,
        below_soc=rule.useful_below_soc,
        restore_frac=rule.restore_frac,
    )
    groups = switches.groups
    shares = (
        groups[0],
        groups[1],
        0.0 if useful_shed else groups[2],
        0.0 if comfort_shed else groups[3],
    )
    pack_W = pack_draw_W(plant.pack, pack_Wh=state.pack_Wh, soc=soc, step_h=step_h)
    peak_A = 0.0
    for group in range(4):
        amps = shares[group] * row.peak_A[group]
        if amps > peak_A:
            peak_A = amps
    return Wanted(
        loads=Draw(over_groups(shares, row.load_A), over_groups(shares, row.load_W) + pack_W),
        peak_A=peak_A,
        pack_W=pack_W,
        heater_L=over_groups(shares, row.heater_L),
        comfort_shed=comfort_shed,
        useful_shed=useful_shed,
    )


def over_groups(shares: Readable[float], values: Readable[float]) -> float:
    """Sum over the four groups of loads.

    Parameters
    ----------
    shares : sequence of float
        How much of each is on. [-]
    values : sequence of float
        What each wants.

    Returns
    -------
    float
        Of share times value.
    """
    return (
        shares[0] * values[0]
        + shares[1] * values[1]
        + shares[2] * values[2]
        + shares[3] * values[3]
    )


def goes_dark(
    bus: Bus,
    count: int,
    *,
    state: MemberState,
    row: StepSignals,
    bank: BankNow,
    ohm_in: float,
    plant: Plant,
    wanted: Wanted,
) -> tuple[bool, float]:
    """Whether electronics are dark, and the voltage while the heaviest load is on.

    Parameters
    ----------
    bus : Bus
        The chargers: each holds its own voltage and no more.
    count : int
        How many of its places count.
    state : State
        As the step begins.
    row : StepSignals
        Signals of the step.
    bank : BankNow
        As the step begins.
    ohm_in : float
        From `bus.charging_ohm`.
    plant : Plant
        For flat and cut-out.
    wanted : Wanted
        What loads draw on average and at their peak.

    Returns
    -------
    tuple of (bool, float)
        Dark, and volts: what the bus would stand at with all of it on.
    """
    loads = Draw(wanted.loads.amps + (plant.idle_A + wanted.peak_A), wanted.loads.watts)
    sag_V = meeting_V(
        bus, count, loads=loads, emf_V=bank.emf_V, ohm_in=ohm_in, ohm_out=bank.ohm_out
    )
    flat_soc = row.unreachable_frac
    if plant.flat_soc > flat_soc:
        flat_soc = plant.flat_soc
    dark = bank.soc <= flat_soc + _SLACK_FRAC or sag_V < plant.cutout_V
    return dark or (state.dark and bank.soc < flat_soc + RECOVERY_FRAC), sag_V


def lowest_V(*, state: MemberState, dark: bool, sag_V: float, bank_V: float, plant: Plant) -> float:
    """The lowest voltage that the bus has in a step.

    Parameters
    ----------
    state : State
        As the step begins.
    dark : bool
        Whether electronics are dark.
    sag_V : float
        With the heaviest load on, were it on. [V]
    bank_V : float
        With what is on. [V]
    plant : Plant
        For the cut-out.

    Returns
    -------
    float
        Where all goes dark by the sag, the cut-out: the loads drop out there. Where all is dark
        already, or dark by its charge, what the bus stands at without them. [V]
    """
    if not dark:
        return sag_V
    if state.dark or sag_V >= plant.cutout_V:
        return bank_V
    return plant.cutout_V


def unserved_A(
    *,
    row: StepSignals,
    groups: Readable[float],
    served: float,
    useful_on: float,
    comfort_on: float,
    bank_V: float,
) -> float:
    """What loads that are wanted went without.

    Parameters
    ----------
    row : StepSignals
        What each group wants.
    groups : sequence of float
        How much of each is wanted. [-]
    served : float
        Share that was on of all that is not shed. [-]
    useful_on, comfort_on : float
        0 for a group that is shed, else 1.
    bank_V : float
        At which a power is turned into a current. [V]

    Returns
    -------
    float
        Never negative. [A]
    """
    if served == 1.0 and useful_on == 1.0 and comfort_on == 1.0:
        return 0.0
    amps = 0.0
    for group in range(4):
        share = served
        if group == 2:
            share = served * useful_on
        elif group == 3:
            share = served * comfort_on
        missed = groups[group] - groups[group] * share
        amps = amps + missed * (row.load_A[group] + row.load_W[group] / bank_V)
    return amps
