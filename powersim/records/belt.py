"""What the alternator wants of the engine's shaft, and what the shaft has for it."""

from __future__ import annotations

import math
from dataclasses import replace

from powersim.records.alternator import Alternator
from powersim.records.battery import Battery
from powersim.records.engine import Engine
from powersim.records.fuel_kinds import FUEL_KINDS


def wanted_W(alternator: Alternator, battery: Battery, current_A: float) -> float:
    """What the alternator takes from the shaft, at the voltage that its regulator holds.

    Parameters
    ----------
    alternator : Alternator
        Its regulator, wire and efficiency.
    battery : Battery
        Its absorption voltage stands in where a multi-stage regulator has none.
    current_A : float
        What it gives. [A]

    Returns
    -------
    float
        Shaft power, with the loss of the wire and of the alternator itself. [W]

    Examples
    --------
    90 A at 14.2 V and 50 % of efficiency: 90 * 14.2 / 0.5.

    >>> from powersim.records import battery_of
    >>> bank = battery_of(chemistry="flooded", capacity_Ah=220.0)
    >>> wanted_W(Alternator(charging_A=90.0, motoring_A=90.0), bank, 90.0)
    2556.0
    """
    return current_A * _at_alternator_V(alternator, battery) / alternator.efficiency_frac


def charging_W(engine: Engine) -> float:
    """What the engine has for the belt at charging revs, out of gear.

    Parameters
    ----------
    engine : Engine
        Its rated power, revs and burn.

    Returns
    -------
    float
        Rated power at the share of the revs, and of that what the belt may take. [W]

    Notes
    -----
    Torque is about constant with revs, so power falls as they do; friction and pumps are off rated
    power already (common practice, no source).
    """
    return 1000.0 * engine.rated_kW * engine.rev_share_frac * engine.belt_share_frac


def propeller_W(engine: Engine) -> float:
    """What the propeller takes at cruising revs.

    Parameters
    ----------
    engine : Engine
        Its burn in gear says how hard it works.

    Returns
    -------
    float
        Shaft power, by the cube of the revs. [W]
    """
    return 1000.0 * engine.rated_kW * cruising_revs(engine) ** 3


def cruising_revs(engine: Engine) -> float:
    """Cruising revs over rated revs, from what the engine burns in gear.

    Parameters
    ----------
    engine : Engine
        Its burn in gear and its rated power.

    Returns
    -------
    float
        At most 1. [-]
    """
    burn = engine.motoring_L_per_h / engine.rated_kW
    no_load = FUEL_KINDS[engine.kind].no_load_L_per_h_per_kW
    return min(_root_of_cubic(engine.slope_L_per_kWh, no_load, burn), 1.0)


def motoring_W(engine: Engine) -> float:
    """What the engine has for the belt in gear, beside a propeller that keeps its revs.

    Parameters
    ----------
    engine : Engine
        As for `propeller_W`.

    Returns
    -------
    float
        Full torque at cruising revs less the propeller's power; 0 at full throttle. [W]

    Notes
    -----
    A propeller takes the cube of its revs, and takes rated power at rated revs (common practice,
    no source). Cruising revs n, over rated ones, are those at which that burns what the engine is
    said to burn in gear: slope n^3 + no-load n = burn over rated power. What is left is n - n^3.

    Examples
    --------
    6 kW and 0.9 L/h: 0.246 n^3 + 0.08145 n = 0.15 at n = 0.7190; 6000 (0.7190 - 0.3717) W.

    >>> round(motoring_W(Engine(rated_kW=6.0, charging_L_per_h=0.3, motoring_L_per_h=0.9)), -1)
    2080.0
    """
    return 1000.0 * engine.rated_kW * cruising_revs(engine) - propeller_W(engine)


def most_A(alternator: Alternator, battery: Battery, shaft_W: float) -> float:
    """The current for which a power on the shaft is enough: undoes `wanted_W`.

    Parameters
    ----------
    alternator : Alternator
        As for `wanted_W`.
    battery : Battery
        Whose charging voltages the regulator follows.
    shaft_W : float
        What the shaft has for the alternator. [W]

    Returns
    -------
    float
        What the alternator gives for that. [A]
    """
    return shaft_W * alternator.efficiency_frac / _at_alternator_V(alternator, battery)


def driven(alternator: Alternator, engine: Engine, battery: Battery) -> Alternator:
    """The alternator with no more output than the engine can turn.

    Parameters
    ----------
    alternator : Alternator
        As it is said to be.
    engine : Engine
        That turns it.
    battery : Battery
        That it charges.

    Returns
    -------
    Alternator
        The same one where the engine has enough for it.
    """
    charging_A = most_A(alternator, battery, charging_W(engine))
    motoring_A = most_A(alternator, battery, motoring_W(engine))
    if alternator.charging_A <= charging_A and alternator.motoring_A <= motoring_A:
        return alternator
    return replace(
        alternator,
        charging_A=min(alternator.charging_A, charging_A),
        motoring_A=min(alternator.motoring_A, motoring_A),
    )


def _at_alternator_V(alternator: Alternator, battery: Battery) -> float:
    if alternator.regulator == "constant":
        volts = alternator.constant_V
    else:
        own_V = alternator.absorption_V
        volts = battery.absorption_V if own_V is None else own_V
    return volts + (alternator.cable_drop_V if alternator.battery_sensing else 0.0)


def _root_of_cubic(cubic: float, linear: float, value: float) -> float:
    """The real x of cubic x^3 + linear x = value, all three above zero."""
    scale = math.sqrt(linear / (3.0 * cubic))
    return 2.0 * scale * math.sinh(math.asinh(1.5 * value / (linear * scale)) / 3.0)
