"""A bank's voltage: at rest, and what charging and discharging add to it or take from it.

Called in every step, on floats or on arrays shaped (members,): only + - * / and a square root.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from powersim.physics.ops import FLOAT

if TYPE_CHECKING:
    from powersim.physics.bank import Bank

# Resistance is measured at 25 degC; its linear law is held outside the other two. [degC]
_RATED_C, _COLDEST_C, _WARMEST_C = 25.0, -10.0, 45.0

# Below this the discharge resistance's soc^-1.5 is held: it has no end at 0. [-]
_LOWEST_SOC = 0.02


def emf_V(bank: Bank, soc, *, ops=FLOAT):
    """Rested open-circuit voltage.

    Parameters
    ----------
    bank : Bank
        Its constants.
    soc : float or ndarray, shape (members,)
        State of charge; below 0 and above 1, which only rounding gives, the voltage holds. [-]
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    float or ndarray, shape (members,)
        Straight lines between the chemistry's knots. [V]
    """
    return ops.interp(soc, bank.emf_soc, bank.emf_knots_V)


def emf_slope_V(bank: Bank, soc, *, ops=FLOAT):
    """How steeply the open-circuit voltage rises with the state of charge.

    Parameters
    ----------
    bank : Bank
        Its constants.
    soc : float or ndarray, shape (members,)
        State of charge; at a knot the line above it counts. [-]
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    float or ndarray, shape (members,)
        For a whole capacity. [V]
    """
    (_, slope_V), *bends = bank.emf_hinges
    for bend_soc, bend_V in bends:
        slope_V = slope_V + ops.where(soc >= bend_soc, bend_V, 0.0)
    return slope_V


def stored_Wh(bank: Bank, soc, *, ops=FLOAT):
    """Energy stored above soc 0.

    Parameters
    ----------
    bank : Bank
        Its constants.
    soc : float or ndarray, shape (members,)
        State of charge. [-]
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    float or ndarray, shape (members,)
        The exact integral of open-circuit voltage over charge. [Wh]
    """
    (_, slope_V), *bends = bank.emf_hinges
    volts = (bank.emf_knots_V[0] + 0.5 * slope_V * soc) * soc
    for bend_soc, bend_V in bends:
        above = ops.maximum(0.0, soc - bend_soc)
        volts = volts + 0.5 * bend_V * above * above
    return bank.capacity_Ah * volts


def discharge_resistance_ohm(bank: Bank, soc, bank_C, *, ops=FLOAT):
    """Resistance on discharge; rises towards empty.

    Parameters
    ----------
    bank : Bank
        Its constants.
    soc : float or ndarray, shape (members,)
        State of charge; below 0.02 the resistance holds. [-]
    bank_C : float or ndarray, shape (members,)
        Temperature, clipped to -10 to 45 degC. [degC]
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    float or ndarray, shape (members,)
        (d0 + d1 / soc^1.5) / capacity, more in the cold. [ohm]

    References
    ----------
    .. [1] J. B. Copetti, E. Lorenzo and F. Chenlo, "A general battery model for PV system
       simulation", Progress in Photovoltaics 1 (1993) 283-292: this form, with a term in the
       current that is left out here; from memory.
    """
    held = ops.maximum(_LOWEST_SOC, soc)
    ohm = bank.discharge_ohm + bank.discharge_rise_ohm / (held * ops.sqrt(held))
    return ohm * _cold_factor(bank.discharge_per_C, bank_C, ops)


def charge_resistance_ohm(bank: Bank, soc, bank_C, *, ops=FLOAT):
    """Resistance on charge; rises towards full, and with it makes the taper.

    Parameters
    ----------
    bank : Bank
        Its constants.
    soc : float or ndarray, shape (members,)
        State of charge, below the chemistry's charge_end_soc. [-]
    bank_C : float or ndarray, shape (members,)
        Temperature, clipped to -10 to 45 degC. [degC]
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    float or ndarray, shape (members,)
        (c0 + c1 / (end - soc)^1.5) / capacity, more in the cold. [ohm]

    References
    ----------
    .. [1] Copetti, Lorenzo and Chenlo (1993), as above: the form, with 1 - soc to the power of
       1.2. Here it is end - soc, since a full bank still takes 1 to 2 %, and 1.5, which needs a
       square root only.
    """
    left = bank.charge_end_soc - soc
    ohm = bank.charge_ohm + bank.charge_rise_ohm / (left * ops.sqrt(left))
    return ohm * _cold_factor(bank.charge_per_C, bank_C, ops)


def charge_current_A(bank: Bank, soc, bank_C, *, volts, ops=FLOAT):
    """The current that a bank takes while a voltage is held.

    Parameters
    ----------
    bank : Bank
        Its constants.
    soc : float or ndarray, shape (members,)
        State of charge, below the chemistry's charge_end_soc. [-]
    bank_C : float or ndarray, shape (members,)
        Temperature. [degC]
    volts : float or ndarray, shape (members,)
        At the bank. [V]
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    float or ndarray, shape (members,)
        By the resistance alone, which makes the taper; not negative. [A]
    """
    over_V = volts - emf_V(bank, soc, ops=ops)
    return ops.maximum(0.0, over_V / charge_resistance_ohm(bank, soc, bank_C, ops=ops))


def _cold_factor(per_C, bank_C, ops):
    return 1.0 + per_C * (_RATED_C - ops.minimum(_WARMEST_C, ops.maximum(_COLDEST_C, bank_C)))


def coulombic_frac(bank: Bank, soc, *, ops=FLOAT):
    """Share of a charging current that is stored; the rest is gas.

    Parameters
    ----------
    bank : Bank
        Its constants.
    soc : float or ndarray, shape (members,)
        State of charge; above 1 the share holds. [-]
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    float or ndarray, shape (members,)
        Above 0 everywhere. [-]
    """
    held = ops.minimum(1.0, soc)
    square = held * held
    fourth = square * square
    return bank.kept_empty_frac - bank.gassing_frac * (fourth * fourth)
