"""The battery bank as the kernel steps it: its constants, and the charge in its two wells.

`bank_of` works out every constant once. The functions after it, and those of voltage.py that are
offered here too, are called in every step of the kernel, on plain floats, and so keep to
+ - * / and a square root; those without an `if` take arrays too.

State of charge is (total - hidden) / capacity: 1 is full, 0 is where the 20-hour rate stops.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

from powersim.physics.bank_constants import Bank
from powersim.physics.gassing import gassing_of
from powersim.physics.ratings import RATED_H, wells_of
from powersim.physics.voltage import (
    charge_resistance_ohm,
    coulombic_frac,
    discharge_resistance_ohm,
    emf_slope_V,
    emf_V,
    stored_Wh,
)
from powersim.physics.wells import available_after_Ah as _available_after_Ah
from powersim.physics.wells import delivered_frac, well_step
from powersim.records import Battery

if TYPE_CHECKING:
    from powersim.records.arrays import FloatsT

__all__ = [
    "Bank",
    "available_after_Ah",
    "bank_of",
    "charge_resistance_ohm",
    "coulombic_frac",
    "discharge_resistance_ohm",
    "emf_V",
    "emf_slope_V",
    "full_state",
    "most_charge_A",
    "most_discharge_A",
    "soc_of",
    "state_at",
    "stored_Wh",
]


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
        Scaled to the bank, for steps of that length alone.

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
    curves = battery.traits.curves
    capacity_Ah = battery.real_capacity_Ah
    wells = wells_of(battery)
    delivered = delivered_frac(wells, duration_h=RATED_H)
    kept_empty, gassing = gassing_of(battery.charge_efficiency_frac, floor_soc=battery.floor_soc)
    emf_soc = tuple(soc for soc, _ in curves.emf_knots)
    emf_knots_V = tuple(battery.blocks * volts for _, volts in curves.emf_knots)
    slopes_V = tuple(
        (high_V - low_V) / (high - low)
        for (low, high), (low_V, high_V) in zip(
            pairwise(emf_soc), pairwise(emf_knots_V), strict=True
        )
    )
    ohm = battery.blocks / capacity_Ah
    return Bank(
        capacity_Ah=capacity_Ah,
        hidden_Ah=capacity_Ah * (1.0 / delivered - 1.0),
        blocks=battery.blocks,
        wells=well_step(wells, step_h=step_h),
        emf_soc=emf_soc,
        emf_knots_V=emf_knots_V,
        emf_slopes_V=slopes_V,
        emf_ends_soc=(*emf_soc[1:-1], math.inf),
        emf_hinges=_hinges(emf_soc, slopes_V),
        discharge_ohm=ohm * curves.discharge_ohm_Ah,
        discharge_rise_ohm=ohm * curves.discharge_rise_ohm_Ah,
        charge_ohm=ohm * curves.charge_ohm_Ah,
        charge_rise_ohm=ohm * curves.charge_rise_ohm_Ah,
        charge_end_soc=curves.charge_end_soc,
        discharge_per_C=curves.discharge_per_C,
        charge_per_C=curves.charge_per_C,
        kept_empty_frac=kept_empty,
        gassing_frac=gassing,
        least_charge_C=curves.least_charge_C,
    )


def _hinges(
    socs: tuple[float, ...], slopes_V: tuple[float, ...]
) -> tuple[tuple[float, float], ...]:
    """Where a piecewise linear curve changes its slope, and by how much."""
    rises_V = (after_V - before_V for before_V, after_V in pairwise((0.0, *slopes_V)))
    return tuple(zip(socs[:-1], rises_V, strict=True))


def state_at(bank: Bank, soc: FloatsT) -> tuple[FloatsT, FloatsT]:
    """Charge in the wells of a bank at rest.

    Parameters
    ----------
    bank : Bank
        Its constants.
    soc : float or ndarray, shape (members,)
        State of charge. [-]

    Returns
    -------
    tuple of float or ndarray
        In both wells, and in the available one. [Ah]
    """
    total_Ah = bank.hidden_Ah + soc * bank.capacity_Ah
    return total_Ah, bank.wells.available_frac * total_Ah


def full_state(bank: Bank) -> tuple[float, float]:
    """Charge in the wells of a full bank at rest.

    Parameters
    ----------
    bank : Bank
        Its constants.

    Returns
    -------
    tuple of float
        In both wells, and in the available one. [Ah]
    """
    return state_at(bank, 1.0)


def soc_of(bank: Bank, total_Ah: FloatsT) -> FloatsT:
    """State of charge.

    Parameters
    ----------
    bank : Bank
        Its constants.
    total_Ah : float or ndarray, shape (members,)
        Charge in both wells. [Ah]

    Returns
    -------
    float or ndarray, shape (members,)
        Share of the 20-hour capacity. [-]
    """
    return (total_Ah - bank.hidden_Ah) / bank.capacity_Ah


def available_after_Ah(
    bank: Bank, total_Ah: FloatsT, available_Ah: FloatsT, current_A: FloatsT
) -> FloatsT:
    """Charge in the available well after a step at constant current.

    Parameters
    ----------
    bank : Bank
        Its constants.
    total_Ah, available_Ah : float or ndarray, shape (members,)
        Charge in both wells, and in the available one, as the step begins. [Ah]
    current_A : float or ndarray, shape (members,)
        Above 0 on discharge, below 0 on charge, net of gassing. [A]

    Returns
    -------
    float or ndarray, shape (members,)
        Below 0 if the current could not be held. [Ah]
    """
    return _available_after_Ah(
        bank.wells, total_Ah=total_Ah, available_Ah=available_Ah, current_A=current_A
    )


def most_discharge_A(
    bank: Bank, total_Ah: float, available_Ah: float, unreachable_Ah: float
) -> float:
    """The current that has just taken all that can be had when the step ends.

    Parameters
    ----------
    bank : Bank
        Its constants.
    total_Ah, available_Ah : float
        Charge in both wells, and in the available one, as the step begins. [Ah]
    unreachable_Ah : float
        Charge above soc 0 that the cold keeps. [Ah]

    Returns
    -------
    float
        The lesser of what empties the available well and what leaves only the unreachable; 0 when
        less than that is left. [A]
    """
    wells = bank.wells
    by_well_A = (wells.kept_frac * available_Ah + wells.levelled_frac * total_Ah) / wells.drained_h
    by_total_A = (total_Ah - bank.hidden_Ah - unreachable_Ah) / wells.step_h
    least_A = by_well_A if by_well_A < by_total_A else by_total_A
    return least_A if least_A > 0.0 else 0.0


def most_charge_A(bank: Bank, total_Ah: float) -> float:
    """The current, net of gassing, that has just filled the bank when the step ends.

    Parameters
    ----------
    bank : Bank
        Its constants.
    total_Ah : float
        Charge in both wells as the step begins. [Ah]

    Returns
    -------
    float
        Not negative. [A]

    Notes
    -----
    While charging, the available well may stand above its level at rest. Were its brim a limit,
    wells slow enough for Peukert 1.2 would take k' c (full - total), at 80 % and 14.4 V 3.5 % of
    capacity where 7 to 10 % is common practice. The resistance alone makes the taper.
    """
    room_A = (bank.capacity_Ah + bank.hidden_Ah - total_Ah) / bank.wells.step_h
    return room_A if room_A > 0.0 else 0.0
