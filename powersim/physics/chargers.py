"""Every other charger by its record: what it offers, and the voltages it holds."""

from __future__ import annotations

from typing import TYPE_CHECKING

from powersim.physics import shore_power, water_generator, wind_generator
from powersim.physics.alternator import SETPOINT_C
from powersim.physics.offering import Offering
from powersim.records import Battery, Charger, ShorePower, WaterGenerator, WindGenerator

if TYPE_CHECKING:
    from powersim.records.arrays import FloatsT

#: What works out the offer of each record; a new source is one file and one line here.
OFFERINGS: dict[type[Charger], Offering] = {
    WindGenerator: wind_generator.OFFERING,
    WaterGenerator: water_generator.OFFERING,
    ShorePower: shore_power.OFFERING,
}
#: Voltage per 12 V of bank at which even an unregulated generator is stopped by hand (common
#: practice, no source). [V]
UNREGULATED_V = 15.5


def offering_of(charger: Charger) -> Offering:
    """How to work out what a charger offers.

    Parameters
    ----------
    charger : Charger
        Its class is looked at.

    Returns
    -------
    Offering
        One for all chargers of that class.
    """
    return OFFERINGS[type(charger)]


def charger_setpoints_V(
    charger: Charger, battery: Battery, *, bank_C: FloatsT
) -> tuple[FloatsT, FloatsT]:
    """Voltages at the bank that a charger holds, and what it falls back to when the bank is full.

    Parameters
    ----------
    charger : Charger
        Whether it is regulated, and by what.
    battery : Battery
        Its own setpoints stand in where the charger has none.
    bank_C : float or ndarray, shape (n,)
        Temperature of the bank. [degC]

    Returns
    -------
    tuple of (float or ndarray, float or ndarray)
        Absorption and float; one high voltage twice where nothing regulates. [V]
    """
    if not charger.regulated:
        far_V = UNREGULATED_V * battery.blocks + 0.0 * bank_C
        return far_V, far_V
    warmer_V = charger.temp_comp_V_per_C * (bank_C - SETPOINT_C)
    absorption_V, float_V = charger.absorption_V, charger.float_V
    return (
        (battery.absorption_V if absorption_V is None else absorption_V) + warmer_V,
        (battery.float_V if float_V is None else float_V) + warmer_V,
    )
