"""What the alternator can give at these revs, and the voltage its regulator holds at the bank."""

from __future__ import annotations

from typing import TYPE_CHECKING

from powersim.records import Alternator, Battery

if TYPE_CHECKING:
    from powersim.records.arrays import FloatsT

SETPOINT_C = 25.0  # [degC] at which setpoints are stated; common practice, no source


def offered_A(alternator: Alternator, *, motoring: FloatsT, charging: FloatsT) -> FloatsT:
    """Hot output at the revs the engine turns, before regulator and bank have their say.

    Parameters
    ----------
    alternator : Alternator
        Its output at either revs.
    motoring : float or ndarray
        Share of the time that it turns in which the engine is in gear. [-]
    charging : float or ndarray
        1 where the engine runs to charge, else 0; without effect while it is in gear, since it
        turns already. [-]

    Returns
    -------
    float or ndarray
        0 with the engine stopped. [A]

    Notes
    -----
    One current for all voltages: a real machine gives somewhat less near its setpoint. A cold one
    gives more in its first minutes, which is left out.
    """
    return alternator.motoring_A * motoring + alternator.charging_A * charging * (1 - motoring)


def bank_setpoint_V(
    alternator: Alternator, battery: Battery, *, bank_C: FloatsT
) -> tuple[FloatsT, FloatsT]:
    """Voltages at the bank that the regulator holds, and what it falls back to.

    Parameters
    ----------
    alternator : Alternator
        Its regulator, its cable and its temperature compensation.
    battery : Battery
        Its own setpoints stand in where a multi-stage regulator has none.
    bank_C : float or ndarray, shape (n,)
        Temperature of the bank. [degC]

    Returns
    -------
    tuple of (float or ndarray, float or ndarray)
        Absorption and float; the same twice for a constant regulator, which has one voltage. [V]

    Notes
    -----
    A regulator that senses at its own terminals leaves the bank short of its setpoint by the cable
    and the diode splitter. The drop is taken as constant: right for diodes, while that of a cable
    fades as the current tapers, so the last of a charge comes somewhat late here.
    """
    warmer_V = alternator.temp_comp_V_per_C * (bank_C - SETPOINT_C)
    absorption_V, float_V = alternator.setpoints_V(battery)
    return absorption_V + warmer_V, float_V + warmer_V
