"""The switchboard in a step: what the loads draw after shedding, and whether all goes dark."""

from __future__ import annotations

from typing import NamedTuple

from powersim.simulation.bus import Draw, meeting_V
from powersim.simulation.rules import shed

#: Charge above flat at which loads come back after a blackout (common practice, no source). [-]
RECOVERY_FRAC = 0.05
#: Rounding slack, so that a bank drained to flat in equal steps is flat at the last of them. [-]
_SLACK_FRAC = 1e-9


class Wanted(NamedTuple):
    """What the loads draw after shedding, their largest peak and fuel, and what is shed."""

    loads: Draw
    peak_A: float
    heater_L: float
    comfort_shed: bool
    useful_shed: bool


def loads_in(state, row, *, soc, plant, switches, ops) -> Wanted:
    """What the loads draw, those that the sailor has switched off left out.

    Parameters
    ----------
    state : State
        As the step begins.
    row : Row
        Signals of the step.
    soc : float or ndarray, shape (members,)
        State of charge. [-]
    plant : Plant
        For the shedding levels.
    switches : Switches
        Which groups are wanted.
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    Wanted
    """
    rule = plant.rule
    comfort_shed = useful_shed = False
    if rule.comfort_below_soc >= 0.0:
        comfort_shed = shed(
            was_shed=state.comfort_shed,
            soc=soc,
            below_soc=rule.comfort_below_soc,
            restore_frac=rule.restore_frac,
        )
    if rule.useful_below_soc >= 0.0:
        useful_shed = shed(
            was_shed=state.useful_shed,
            soc=soc,
            below_soc=rule.useful_below_soc,
            restore_frac=rule.restore_frac,
        )
    protected, essential, useful, comfort = switches.groups
    shares = (protected, essential, useful * (1.0 - useful_shed), comfort * (1.0 - comfort_shed))
    peak_A = 0.0
    for share, amps in zip(shares, row.peak_A, strict=True):
        if ops.any(amps > 0.0):
            peak_A = ops.maximum(peak_A, share * amps)
    return Wanted(
        loads=Draw(_over_groups(shares, row.load_A), _over_groups(shares, row.load_W)),
        peak_A=peak_A,
        heater_L=_over_groups(shares, row.heater_L),
        comfort_shed=comfort_shed,
        useful_shed=useful_shed,
    )


def _over_groups(shares, values):
    # A group that is on for everybody is not multiplied by one, member by member.
    return sum(
        [
            value if type(share) is float and share == 1.0 else share * value
            for share, value in zip(shares, values, strict=True)
        ]
    )


def goes_dark(state, row, *, bank, ohm_in, plant, wanted, chargers, ops):
    """Whether electronics are dark, and the voltage while the heaviest load is on.

    Parameters
    ----------
    state : State
        As the step begins.
    row : Row
        Signals of the step.
    bank : Bank
        As the step begins.
    ohm_in : float or ndarray, shape (members,)
        From `bus.charging_ohm`.
    plant : Plant
        For flat and cut-out.
    wanted : Wanted
        What loads draw on average and at their peak.
    chargers : list of Charger
        Those that offer something: each holds its own voltage and no more.
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    tuple of (bool or ndarray of bool, float or ndarray), shape (members,)
        Dark, and volts: what the bus would stand at with all of it on.
    """
    sag_V = meeting_V(
        chargers=chargers,
        loads=Draw(wanted.loads.amps + (plant.idle_A + wanted.peak_A), wanted.loads.watts),
        emf_V=bank.emf_V,
        ohm_in=ohm_in,
        ohm_out=bank.ohm_out,
        ops=ops,
    )
    flat_soc = ops.maximum(plant.flat_soc, row.unreachable_Ah / plant.bank.capacity_Ah)
    dark = (bank.soc <= flat_soc + _SLACK_FRAC) | (sag_V < plant.cutout_V)
    return dark | (state.dark & (bank.soc < flat_soc + RECOVERY_FRAC)), sag_V


def lowest_V(state, *, dark, sag_V, bank_V, plant, ops):
    """The lowest voltage that the bus has in a step.

    Parameters
    ----------
    state : State
        As the step begins.
    dark : bool or ndarray of bool, shape (members,)
        Whether electronics are dark.
    sag_V : float or ndarray, shape (members,)
        With the heaviest load on, were it on. [V]
    bank_V : float or ndarray, shape (members,)
        With what is on. [V]
    plant : Plant
        For the cut-out.
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    float or ndarray, shape (members,)
        Where all goes dark by the sag, the cut-out: the loads drop out there. Where all is dark
        already, or dark by its charge, what the bus stands at without them. [V]
    """
    if not ops.any(dark):
        return sag_V
    off = dark & (state.dark | (sag_V >= plant.cutout_V))
    return ops.where(off, bank_V, ops.maximum(sag_V, plant.cutout_V))
