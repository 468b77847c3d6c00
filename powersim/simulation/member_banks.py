"""Each member's own bank: how far it lies from the middle one of its kind.

No two banks of a kind and a label are alike. Rested voltage, resistance, the loss at high rates
and the capacity that is left are drawn once for each member and stay with it all the way. Average
weather has the middle bank.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from powersim.physics.ratings import RATED_H, wells_with_exponents
from powersim.physics.wells import delivered_frac, well_step
from powersim.records import Battery
from powersim.simulation.calibration import PIVOT_SOC
from powersim.sky import streams

if TYPE_CHECKING:
    from powersim.kernel.plant import Plant
    from powersim.physics.bank_constants import Bank
    from powersim.records.arrays import Array

#: Draws of a member, in the order of BankDraws; the layout never changes.
_PER_MEMBER = 5
_OHMS = ("discharge_ohm", "discharge_rise_ohm", "charge_ohm", "charge_rise_ohm")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BankDraws:
    """How each member's bank differs from the middle one; every array is shaped (members,).

    Attributes
    ----------
    offset_V : ndarray
        Rested voltage of a 12 V block at half charge, above the middle bank's. [V]
    slope : ndarray
        How much the rested voltage rises, as a multiple. [-]
    resistance : ndarray
        All resistances of a bank of the same capacity, as a multiple. [-]
    exponent : ndarray
        Peukert exponent, 1 or more. [-]
    capacity : ndarray
        Capacity that is left, as a multiple of the one that the files make. [-]
    """

    offset_V: Array
    slope: Array
    resistance: Array
    exponent: Array
    capacity: Array


def draw_banks(battery: Battery, *, seed: int, members: int) -> BankDraws:
    """Draw a bank for each member.

    Parameters
    ----------
    battery : Battery
        The middle bank, and how far its kind spreads.
    seed : int
        As `sky.streams` keeps it.
    members : int
        How many; the first of them are the same for any number.

    Returns
    -------
    BankDraws
        Medians are those of the middle bank, but for the exponent's where it is near 1.
    """
    spread = battery.traits.spread
    drawn = streams.normal(
        streams.BANK, seed=seed, index=0, members=members, per_member=_PER_MEMBER
    )
    offset, slope, resistance, exponent, capacity = drawn
    return BankDraws(
        offset_V=spread.offset_V * offset,
        slope=np.exp(spread.slope_log * slope),
        resistance=np.exp(spread.resistance_log * resistance),
        # No bank gives more at a higher rate.
        exponent=np.maximum(1.0, battery.peukert_exponent + spread.exponent * exponent),
        capacity=np.exp(battery.capacity_sd * capacity),
    )


def with_banks(plant: Plant, battery: Battery, draws: BankDraws) -> Plant:
    """A plant with a bank of its own for each member.

    Parameters
    ----------
    plant : Plant
        With the middle bank.
    battery : Battery
        Its record: where it has a second rated capacity, no exponent is drawn.
    draws : BankDraws
        From `draw_banks`.

    Returns
    -------
    Plant
        Whose bank has arrays shaped (members,) for constants. A current that counts as full goes
        with the capacity, as the middle bank's does.
    """
    bank = with_draws(plant.bank, battery, draws)
    made: dict[str, Any] = {
        "least_V": np.minimum(plant.cutout_V, bank.emf_knots_V[0]),
        "tail_A": plant.tail_A * draws.capacity,
    }
    return replace(plant, bank=bank, **made)


def with_draws(bank: Bank, battery: Battery, draws: BankDraws) -> Bank:
    """The banks of all members.

    Parameters
    ----------
    bank : Bank
        The middle one.
    battery : Battery
        Its record.
    draws : BankDraws
        From `draw_banks`.

    Returns
    -------
    Bank
        Of arrays shaped (members,) where they differ.
    """
    capacity_Ah = bank.capacity_Ah * draws.capacity
    wells, hidden_frac = bank.wells, bank.hidden_Ah / bank.capacity_Ah
    if not battery.second_ratings:
        of_members = wells_with_exponents(draws.exponent)
        wells = well_step(of_members, step_h=bank.wells.step_h)
        hidden_frac = 1.0 / delivered_frac(of_members, duration_h=RATED_H) - 1.0
    pivot_V = float(np.interp(PIVOT_SOC, bank.emf_soc, bank.emf_knots_V))
    middle_V = pivot_V + bank.blocks * draws.offset_V
    ohms = draws.resistance / draws.capacity
    made: dict[str, Any] = {
        "capacity_Ah": capacity_Ah,
        "hidden_Ah": hidden_frac * capacity_Ah,
        "wells": wells,
        "emf_knots_V": tuple(
            middle_V + draws.slope * (knot_V - pivot_V) for knot_V in bank.emf_knots_V
        ),
        "emf_slopes_V": tuple(draws.slope * slope_V for slope_V in bank.emf_slopes_V),
        "emf_hinges": tuple((soc, draws.slope * bend_V) for soc, bend_V in bank.emf_hinges),
    }
    made |= {name: getattr(bank, name) * ohms for name in _OHMS}
    return replace(bank, **made)
