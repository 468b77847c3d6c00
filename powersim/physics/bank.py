"""The battery bank as the kernel steps it: charge in two wells, voltage, resistance, gassing.

`bank_of` works out every constant once. The functions after it are called in every step, on
floats or on arrays shaped (members,), and so keep to + - * / and a square root. Their argument
`ops` is `physics.ops.FLOAT` or `physics.ops.ARRAY`.

State of charge is (total - hidden) / capacity: 1 is full, 0 is where the 20-hour rate stops.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from powersim.physics import wells as two_wells
from powersim.physics.chemistry import CURVES
from powersim.physics.ops import FLOAT
from powersim.physics.wells import WellStep
from powersim.records import Battery

# Rates between which Peukert's law is followed exactly; between and around them it is missed by
# a few per cent (docs/model/battery.md).
_LONG_H, _SHORT_H = 10.0, 1.0

# Resistance is measured at 25 degC; its linear law is held outside these. [degC]
_RATED_C, _COLDEST_C, _WARMEST_C = 25.0, -10.0, 45.0

# Below this the discharge resistance's soc^-1.5 is held: it has no end at 0. [-]
_LOWEST_SOC = 0.02

# Most gassing at full that is laid to gassing alone; a worse bank loses everywhere alike. [-]
_MOST_GASSING_FRAC = 0.9
_HALVINGS = 50  # of the bracket for gassing: to the last digit of a float
_CYCLE_POINTS = 2000  # at which a cycle's gassing is summed: 1e-6 of the efficiency


@dataclass(frozen=True, slots=True, kw_only=True)
class Bank:
    """Constants of one bank for steps of one length; everything already scaled to the bank.

    Attributes
    ----------
    chemistry : str
        One of records.CHEMISTRIES.
    capacity_Ah : float
        Charge between soc 0 and 1: the 20-hour capacity at 25 degC, health included. [Ah]
    hidden_Ah : float
        Charge in the wells below soc 0, out of reach at the 20-hour rate and never credited. [Ah]
    blocks : float
        12 V blocks in series. [-]
    wells : WellStep
        Constants of the two wells for one step.
    emf_hinges : tuple of (float, float)
        State of charge from which the open-circuit voltage rises more steeply (or less), and by
        how much: emf = emf_empty_V + sum of rise * max(0, soc - hinge). [-, V]
    emf_empty_V : float
        Open-circuit voltage at soc 0. [V]
    discharge_ohm, discharge_rise_ohm, charge_ohm, charge_rise_ohm : float
        Terms of the two resistances (curves.VoltageCurves) at 25 degC. [ohm]
    charge_end_soc : float
        Where the charge resistance would rise without end. [-]
    discharge_per_C, charge_per_C : float
        Relative rise of the resistances for each degree below 25 degC.
    kept_at_rest_frac, gassing_frac : float
        Share of a charging current that is stored when empty, and how much less when full. [-]
    least_charge_C : float or None
        Below it the bank must not be charged; None for no such limit. [degC]
    """

    chemistry: str
    capacity_Ah: float
    hidden_Ah: float
    blocks: float
    wells: WellStep
    emf_hinges: tuple[tuple[float, float], ...]
    emf_empty_V: float
    discharge_ohm: float
    discharge_rise_ohm: float
    charge_ohm: float
    charge_rise_ohm: float
    charge_end_soc: float
    discharge_per_C: float
    charge_per_C: float
    kept_at_rest_frac: float
    gassing_frac: float
    least_charge_C: float | None

    @property
    def full_Ah(self) -> float:
        """Charge in both wells of a full bank. [Ah]"""
        return self.capacity_Ah + self.hidden_Ah


def bank_of(battery: Battery, *, step_h: float) -> Bank:
    """The bank's constants for steps of this length.

    Parameters
    ----------
    battery : Battery
        The record.
    step_h : float
        Length of every step. [h]

    Returns
    -------
    Bank

    Raises
    ------
    ValueError
        If the rated capacities rise with the rate, or the step has no length.

    Examples
    --------
    >>> from powersim.records import battery_of
    >>> bank_of(battery_of("flooded", capacity_Ah=220.0), step_h=0.25).capacity_Ah
    187.0
    """
    curves = CURVES[battery.chemistry]
    capacity_Ah = battery.real_capacity_Ah
    wells = wells_of(battery)
    delivered = two_wells.delivered_frac(wells, duration_h=two_wells.RATED_H)
    kept_at_rest, gassing = _gassing_of(battery.charge_efficiency_frac, battery.floor_soc)
    ohm = battery.blocks / capacity_Ah
    return Bank(
        chemistry=battery.chemistry,
        capacity_Ah=capacity_Ah,
        hidden_Ah=capacity_Ah * (1.0 / delivered - 1.0),
        blocks=battery.blocks,
        wells=two_wells.well_step(wells, step_h=step_h),
        emf_hinges=_hinges(curves.emf_knots, battery.blocks),
        emf_empty_V=battery.blocks * curves.emf_knots[0][1],
        discharge_ohm=ohm * curves.discharge_ohm_Ah,
        discharge_rise_ohm=ohm * curves.discharge_rise_ohm_Ah,
        charge_ohm=ohm * curves.charge_ohm_Ah,
        charge_rise_ohm=ohm * curves.charge_rise_ohm_Ah,
        charge_end_soc=curves.charge_end_soc,
        discharge_per_C=curves.discharge_per_C,
        charge_per_C=curves.charge_per_C,
        kept_at_rest_frac=kept_at_rest,
        gassing_frac=gassing,
        least_charge_C=curves.least_charge_C,
    )


def wells_of(battery: Battery) -> two_wells.Wells:
    """Wells that follow the bank's rated capacities, or else its Peukert exponent.

    Two further ratings are met exactly where two wells can do it. One of them stands for the
    exponent that it implies (the shorter, if two wells cannot meet both).
    """
    ten_frac = _rated_frac(battery, battery.capacity_10h_Ah)
    five_frac = _rated_frac(battery, battery.capacity_5h_Ah)
    if ten_frac is not None and five_frac is not None:
        both = two_wells.fit_wells(
            long_frac=ten_frac, long_h=10.0, short_frac=five_frac, short_h=5.0
        )
        if both is not None:
            return both
    exponent = battery.peukert_exponent
    if five_frac is not None:
        exponent = two_wells.exponent_of(five_frac, duration_h=5.0)
    elif ten_frac is not None:
        exponent = two_wells.exponent_of(ten_frac, duration_h=10.0)
    return two_wells.fit_wells(
        long_frac=two_wells.peukert_frac(exponent, duration_h=_LONG_H),
        long_h=_LONG_H,
        short_frac=two_wells.peukert_frac(exponent, duration_h=_SHORT_H),
        short_h=_SHORT_H,
    )


def _rated_frac(battery, rated_Ah):
    return None if rated_Ah is None else rated_Ah / battery.capacity_Ah


def _hinges(knots, blocks):
    """Knots of a piecewise linear curve as hinges: where it bends, and by how much."""
    hinges, slope = [], 0.0
    for (soc, volt), (next_soc, next_volt) in pairwise(knots):
        next_slope = blocks * (next_volt - volt) / (next_soc - soc)
        hinges.append((soc, next_slope - slope))
        slope = next_slope
    return tuple(hinges)


def _gassing_of(efficiency_frac, floor_soc):
    """(share stored when empty, how much less when full), so that a cycle has this efficiency.

    The cycle goes from the floor to full; Ah in for each Ah stored is the mean of
    1 / coulombic_frac over it, taken at the middles of equal steps.
    """
    soc = floor_soc + (1.0 - floor_soc) * (np.arange(_CYCLE_POINTS) + 0.5) / _CYCLE_POINTS
    eighth = soc**8

    def efficiency(gassing):
        return 1.0 / float(np.mean(1.0 / (1.0 - gassing * eighth)))

    low, high = 0.0, _MOST_GASSING_FRAC
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if efficiency(middle) > efficiency_frac:
            low = middle
        else:
            high = middle
    kept = min(1.0, efficiency_frac / efficiency(high))
    return kept, kept * high


def full_state(bank: Bank) -> tuple[float, float]:
    """(total_Ah, available_Ah) of a full bank at rest."""
    return state_at(bank, 1.0)


def state_at(bank: Bank, soc):
    """(total_Ah, available_Ah) of a bank at rest with this state of charge."""
    total_Ah = bank.hidden_Ah + soc * bank.capacity_Ah
    return total_Ah, bank.wells.available_frac * total_Ah


def soc_of(bank: Bank, total_Ah):
    """State of charge that belongs to this total. [-]"""
    return (total_Ah - bank.hidden_Ah) / bank.capacity_Ah


def emf_V(bank: Bank, soc, *, ops=FLOAT):
    """Rested open-circuit voltage, piecewise linear in soc. [V]"""
    volts = bank.emf_empty_V
    for hinge_soc, rise_V in bank.emf_hinges:
        volts = volts + rise_V * ops.maximum(0.0, soc - hinge_soc)
    return volts


def emf_slope_V(bank: Bank, soc, *, ops=FLOAT):
    """How steeply the open-circuit voltage rises with soc, to the right of a bend. [V]"""
    slope_V = 0.0
    for hinge_soc, rise_V in bank.emf_hinges:
        slope_V = slope_V + ops.where(soc >= hinge_soc, rise_V, 0.0)
    return slope_V


def stored_Wh(bank: Bank, soc, *, ops=FLOAT):
    """Energy stored above soc 0: the exact integral of open-circuit voltage over charge. [Wh]"""
    volts = bank.emf_empty_V * soc
    for hinge_soc, rise_V in bank.emf_hinges:
        above = ops.maximum(0.0, soc - hinge_soc)
        volts = volts + 0.5 * rise_V * above * above
    return bank.capacity_Ah * volts


def discharge_resistance_ohm(bank: Bank, soc, bank_C, *, ops=FLOAT):
    """Resistance on discharge; rises towards empty, held below soc 0.02. [ohm]

    Temperature is clipped to -10..45 degC, where the linear law holds.
    """
    held = ops.maximum(_LOWEST_SOC, soc)
    ohm = bank.discharge_ohm + bank.discharge_rise_ohm / (held * ops.sqrt(held))
    return ohm * _cold_factor(bank.discharge_per_C, bank_C, ops)


def charge_resistance_ohm(bank: Bank, soc, bank_C, *, ops=FLOAT):
    """Resistance on charge; rises towards full and with it makes the taper. [ohm]

    Temperature is clipped to -10..45 degC, where the linear law holds.
    """
    left = bank.charge_end_soc - soc
    ohm = bank.charge_ohm + bank.charge_rise_ohm / (left * ops.sqrt(left))
    return ohm * _cold_factor(bank.charge_per_C, bank_C, ops)


def _cold_factor(per_C, bank_C, ops):
    return 1.0 + per_C * (_RATED_C - ops.minimum(_WARMEST_C, ops.maximum(_COLDEST_C, bank_C)))


def coulombic_frac(bank: Bank, soc, *, ops=FLOAT):
    """Share of a charging current that is stored; the rest is gas. [-]

    Falls with the eighth power of soc: little is lost below 70 %, most near full. Above soc 1
    it holds.
    """
    held = ops.minimum(1.0, soc)
    fourth = held * held * held * held
    return bank.kept_at_rest_frac - bank.gassing_frac * fourth * fourth


def available_after_Ah(bank: Bank, total_Ah, available_Ah, current_A):
    """Charge in the available well after a step at this current, above 0 on discharge. [Ah]"""
    return two_wells.available_after_Ah(
        bank.wells, total_Ah=total_Ah, available_Ah=available_Ah, current_A=current_A
    )


def most_discharge_A(bank: Bank, total_Ah, available_Ah, unreachable_Ah, *, ops=FLOAT):
    """The current that at the step's end has just emptied what can be had; 0 if nothing can. [A]

    Either the available well is empty, or what is left above soc 0 is unreachable in this cold.
    """
    wells = bank.wells
    by_well_A = (wells.kept_frac * available_Ah + wells.levelled_frac * total_Ah) / wells.drained_h
    by_total_A = (total_Ah - bank.hidden_Ah - unreachable_Ah) / wells.step_h
    return ops.maximum(0.0, ops.minimum(by_well_A, by_total_A))


def most_charge_A(bank: Bank, total_Ah, available_Ah, *, ops=FLOAT):
    """The current, net of gassing, that at the step's end has just filled the bank. [A]

    The available well may stand above its level at rest meanwhile, so available_Ah sets no
    limit: the taper is the resistance's. With the brim of the available well as a limit, a
    bank of Peukert 1.2 at 80 % would take 3.5 % of its capacity where 7 to 10 % is common
    practice.
    """
    return ops.maximum(0.0, (bank.full_Ah - total_Ah) / bank.wells.step_h)
