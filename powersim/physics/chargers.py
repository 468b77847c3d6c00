"""Every other charger by its kind: what it offers along a track, and the voltages it holds."""

from __future__ import annotations

from powersim.physics.alternator import SETPOINT_C
from powersim.physics.shore_power import shore_offer_A
from powersim.physics.water_generator import water_offer_W
from powersim.physics.wind_generator import wind_offer_W

#: What works out the offer of each kind, [A] or [W]; a new source is one file and one line here.
OFFERS = {
    "wind": wind_offer_W,
    "towed": water_offer_W,
    "shaft": water_offer_W,
    "transom": water_offer_W,
    "shore": shore_offer_A,
}
#: Voltage per 12 V of bank at which even an unregulated generator is stopped by hand (common
#: practice, no source). [V]
UNREGULATED_V = 15.5


def charger_setpoints_V(charger, battery, *, bank_C):
    """Voltages at the bank that a charger holds, and what it falls back to when the bank is full.

    Parameters
    ----------
    charger : WindGenerator, WaterGenerator or ShorePower
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
