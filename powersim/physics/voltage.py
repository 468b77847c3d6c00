"""A bank's voltage: at rest, and what charging and discharging add to it or take from it.

Called in every step of the kernel, on plain floats: only + - * / and a square root.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from powersim.physics.bank_constants import Bank
    from powersim.records.arrays import Floats, FloatsT

# Resistance is measured at 25 degC; its linear law is held outside the other two. [degC]
_RATED_C, _COLDEST_C, _WARMEST_C = 25.0, -10.0, 45.0

# Below this the discharge resistance's soc^-1.5 is held: it has no end at 0. [-]
_LOWEST_SOC = 0.02


def emf_V(bank: Bank, soc: float) -> float:
    """Rested open-circuit voltage.

    Parameters
    ----------
    bank : Bank
        Its constants.
    soc : float
        State of charge; below 0 and above 1, which only rounding gives, the voltage holds. [-]

    Returns
    -------
    float
        Straight lines between the chemistry's knots. [V]
    """
    return emf_and_slope_V(bank, soc)[0]


def emf_slope_V(bank: Bank, soc: float) -> float:
    """How steeply the open-circuit voltage rises with the state of charge.

    Parameters
    ----------
    bank : Bank
        Its constants.
    soc : float
        State of charge; at a knot the line above it counts, and above 1 the last one. [-]

    Returns
    -------
    float
        For a whole capacity. [V]
    """
    return emf_and_slope_V(bank, soc)[1]


def emf_and_slope_V(bank: Bank, soc: float) -> tuple[float, float]:
    """Rested open-circuit voltage and its slope, for one search of the line that the charge is on.

    Parameters
    ----------
    bank : Bank
        Its constants.
    soc : float
        State of charge. [-]

    Returns
    -------
    tuple of float
        As `emf_V` and `emf_slope_V` have them. [V], [V]
    """
    line = 0
    while soc >= bank.emf_ends_soc[line]:  # the last line ends at infinity
        line += 1
    slope_V = bank.emf_slopes_V[line]
    held = soc
    if held < 0.0:
        held = 0.0
    elif held > 1.0:
        held = 1.0
    return bank.emf_knots_V[line] + slope_V * (held - bank.emf_soc[line]), slope_V


def rested_V(bank: Bank, soc: Floats) -> Floats:
    """Rested open-circuit voltage of many charges, or of many members' banks, at once.

    Parameters
    ----------
    bank : Bank
        Constants of one bank, or arrays shaped (members,).
    soc : float or ndarray, shape (..., members)
        State of charge; below 0 and above 1 the voltage holds. [-]

    Returns
    -------
    float or ndarray
        As `emf_V` has it for one. [V]
    """
    held = np.clip(soc, 0.0, 1.0)
    volts: Floats = bank.emf_knots_V[0]
    for bend_soc, bend_V in bank.emf_hinges:
        volts = volts + bend_V * np.maximum(0.0, held - bend_soc)
    return volts if np.ndim(volts) else float(volts)


def stored_Wh(bank: Bank, soc: FloatsT) -> FloatsT:
    """Energy stored above soc 0.

    Parameters
    ----------
    bank : Bank
        Its constants.
    soc : float or ndarray
        State of charge. [-]

    Returns
    -------
    float or ndarray
        The exact integral of open-circuit voltage over charge. [Wh]
    """
    (_, slope_V), *bends = bank.emf_hinges
    volts = (bank.emf_knots_V[0] + 0.5 * slope_V * soc) * soc
    for bend_soc, bend_V in bends:
        above = np.maximum(0.0, soc - bend_soc)
        volts = volts + 0.5 * bend_V * above * above
    return bank.capacity_Ah * volts


def discharge_resistance_ohm(bank: Bank, soc: float, bank_C: float) -> float:
    """Resistance on discharge; rises towards empty.

    Parameters
    ----------
    bank : Bank
        Its constants.
    soc : float
        State of charge; below 0.02 the resistance holds. [-]
    bank_C : float
        Temperature, clipped to -10 to 45 degC. [degC]

    Returns
    -------
    float
        (d0 + d1 / soc^1.5) / capacity, more in the cold. [ohm]

    References
    ----------
    .. [1] J. B. Copetti, E. Lorenzo and F. Chenlo, "A general battery model for PV system
       simulation", Progress in Photovoltaics 1 (1993) 283-292: this form, with a term in the
       current that is left out here; from memory.
    """
    held = soc if soc > _LOWEST_SOC else _LOWEST_SOC
    ohm = bank.discharge_ohm + bank.discharge_rise_ohm / (held * math.sqrt(held))
    return ohm * cold_factor(bank.discharge_per_C, bank_C)


def charge_resistance_ohm(bank: Bank, soc: float, bank_C: float) -> float:
    """Resistance on charge; rises towards full, and with it makes the taper.

    Parameters
    ----------
    bank : Bank
        Its constants.
    soc : float
        State of charge, below the chemistry's charge_end_soc. [-]
    bank_C : float
        Temperature, clipped to -10 to 45 degC. [degC]

    Returns
    -------
    float
        (c0 + c1 / (end - soc)^1.5) / capacity, more in the cold. [ohm]

    References
    ----------
    .. [1] Copetti, Lorenzo and Chenlo (1993), as above: the form, with 1 - soc to the power of
       1.2. Here it is end - soc, since a full bank still takes 1 to 2 %, and 1.5, which needs a
       square root only.
    """
    left = bank.charge_end_soc - soc
    ohm = bank.charge_ohm + bank.charge_rise_ohm / (left * math.sqrt(left))
    return ohm * cold_factor(bank.charge_per_C, bank_C)


def charge_current_A(bank: Bank, soc: float, bank_C: float, *, volts: float) -> float:
    """The current that a bank takes while a voltage is held.

    Parameters
    ----------
    bank : Bank
        Its constants.
    soc : float
        State of charge, below the chemistry's charge_end_soc. [-]
    bank_C : float
        Temperature. [degC]
    volts : float
        At the bank. [V]

    Returns
    -------
    float
        By the resistance alone, which makes the taper; not negative. [A]
    """
    amps = (volts - emf_V(bank, soc)) / charge_resistance_ohm(bank, soc, bank_C)
    return amps if amps > 0.0 else 0.0


def cold_factor(rise_per_C: float, bank_C: float) -> float:
    """How much more a resistance is in the cold than at 25 degC.

    Parameters
    ----------
    rise_per_C : float
        Relative rise for each degree below.
    bank_C : float
        Temperature, clipped to -10 to 45 degC. [degC]

    Returns
    -------
    float
        1 at 25 degC, more below it. [-]
    """
    if bank_C < _COLDEST_C:
        bank_C = _COLDEST_C
    elif bank_C > _WARMEST_C:
        bank_C = _WARMEST_C
    return 1.0 + rise_per_C * (_RATED_C - bank_C)


def coulombic_frac(bank: Bank, soc: float) -> float:
    """Share of a charging current that is stored; the rest is gas.

    Parameters
    ----------
    bank : Bank
        Its constants.
    soc : float
        State of charge; above 1 the share holds. [-]

    Returns
    -------
    float
        Above 0 everywhere. [-]
    """
    held = soc if soc < 1.0 else 1.0
    square = held * held
    fourth = square * square
    return bank.kept_empty_frac - bank.gassing_frac * (fourth * fourth)
