"""What is really aboard as multiples of what the files say: loads, sun, bank, alternator, burn.

Factors are floats, or arrays shaped (members,) that make one kernel run of many such boats.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from powersim.kernel.state import Switches

if TYPE_CHECKING:
    from powersim.kernel.plant import Plant


class Factors(NamedTuple):
    """Multiples of what the files say: floats, or arrays shaped (members,).

    `demand` multiplies every load and what heaters burn, `solar` what panels give, `capacity` the
    bank's real capacity, `burn` the litres of an hour of charging, `alternator` its amperes.
    """

    demand: float = 1.0
    solar: float = 1.0
    capacity: float = 1.0
    burn: float = 1.0
    alternator: float = 1.0

    def middle(self) -> Factors:
        """The median of each over its members, as floats."""
        return Factors(*(float(np.median(one)) for one in self))


def with_factors(plant: Plant, factors: Factors) -> Plant:
    """A plant with another capacity and another burn.

    Parameters
    ----------
    plant : Plant
        As the files have it.
    factors : Factors
        Multiples of what the files say.

    Returns
    -------
    Plant
        Whose bank has arrays for constants where the factors are arrays.

    Notes
    -----
    Capacity and hidden charge go with the factor, resistances against it, as in `bank_of`; the two
    wells keep their shares and their rate, which are ratios.
    """
    more, bank = factors.capacity, plant.bank
    bank = replace(
        bank,
        capacity_Ah=bank.capacity_Ah * more,
        hidden_Ah=bank.hidden_Ah * more,
        discharge_ohm=bank.discharge_ohm / more,
        discharge_rise_ohm=bank.discharge_rise_ohm / more,
        charge_ohm=bank.charge_ohm / more,
        charge_rise_ohm=bank.charge_rise_ohm / more,
    )
    return replace(
        plant,
        bank=bank,
        tail_A=plant.tail_A * more,
        burn_L_per_h=plant.burn_L_per_h * factors.burn,
        charging_slope_L_per_kWh=plant.charging_slope_L_per_kWh * factors.burn,
    )


def switches_of(factors: Factors, *, engine: bool = True) -> Switches:
    """The kernel's switches for other loads, another sun and another alternator.

    Parameters
    ----------
    factors : Factors
        Multiples of what the files say.
    engine : bool
        Whether the engine can be run.

    Returns
    -------
    Switches
        For the loads, the panels and the alternator.
    """
    return Switches(
        solar=factors.solar,
        alternator=factors.alternator,
        engine=engine,
        groups=(factors.demand,) * 4,
    )
