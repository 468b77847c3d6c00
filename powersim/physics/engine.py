"""What the diesel burns: charging at rest, motoring, what the belt adds; and if nobody measured it.

Called in every step of the kernel: no argument may be negative, which is not checked here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from powersim.records import Engine
from powersim.records.fuel_kinds import FUEL_KINDS

if TYPE_CHECKING:
    from powersim.records.arrays import FloatsT


def charging_fuel_L(
    *, run_h: FloatsT, burn_L_per_h: float, shaft_Wh: FloatsT, slope_L_per_kWh: float
) -> FloatsT:
    """Fuel for one charging run at rest.

    Parameters
    ----------
    run_h : float or ndarray, shape (members,)
        Time the engine runs. [h]
    burn_L_per_h : float
        Fuel at charging revs with nothing on the belt. [L/h]
    shaft_Wh : float or ndarray, shape (members,)
        Energy the alternator takes from the shaft. [Wh]
    slope_L_per_kWh : float
        Extra fuel for each unit of shaft energy; 0 when the burn was measured with the alternator
        at work, see `charging_slope_L_per_kWh`. [L/kWh]

    Returns
    -------
    float or ndarray, shape (members,)
        Fuel burnt. [L]

    Notes
    -----
    Linear in load: burn * time + slope * shaft energy. Holds for a warm engine between the loads
    the slope was measured at; a cold start burns more, which is left out.

    References
    ----------
    .. [1] Skarstein and Uhlen, Design considerations with respect to long-term diesel saving in
       wind/diesel plants, Wind Engineering 13 (1989) 72-87: the linear fuel curve.

    Examples
    --------
    >>> charging_fuel_L(run_h=2.0, burn_L_per_h=0.75, shaft_Wh=1000.0, slope_L_per_kWh=0.25)
    1.75
    """
    return run_h * burn_L_per_h + belt_fuel_L(shaft_Wh=shaft_Wh, slope_L_per_kWh=slope_L_per_kWh)


def motoring_fuel_L(*, run_h: FloatsT, burn_L_per_h: float) -> FloatsT:
    """Fuel for time in gear, without what the alternator adds.

    Parameters
    ----------
    run_h : float or ndarray
        Time in gear. [h]
    burn_L_per_h : float
        Fuel at cruising revs. [L/h]

    Returns
    -------
    float or ndarray
        Fuel burnt. [L]

    Notes
    -----
    One figure for one speed: head sea, foul bottom and tow are in it or left out.

    Examples
    --------
    >>> motoring_fuel_L(run_h=6.0, burn_L_per_h=2.0)
    12.0
    """
    return run_h * burn_L_per_h


def belt_fuel_L(*, shaft_Wh: FloatsT, slope_L_per_kWh: float) -> FloatsT:
    """Fuel that the alternator adds to an engine which runs in any case.

    Parameters
    ----------
    shaft_Wh : float or ndarray
        Energy the alternator takes from the shaft. [Wh]
    slope_L_per_kWh : float
        Extra fuel for each unit of shaft energy. [L/kWh]

    Returns
    -------
    float or ndarray
        Fuel burnt. [L]

    Examples
    --------
    >>> belt_fuel_L(shaft_Wh=2000.0, slope_L_per_kWh=0.25)
    0.5
    """
    return shaft_Wh / 1000.0 * slope_L_per_kWh


def charging_slope_L_per_kWh(engine: Engine) -> float:
    """Slope to add to the burn at charging revs.

    Parameters
    ----------
    engine : Engine
        How its burn was measured, and its slope.

    Returns
    -------
    float
        0 when that burn was measured with the alternator at work, else the engine's own. [L/kWh]

    Notes
    -----
    A burn measured with the alternator at work holds for the average of such a run: its beginning
    burns more than is counted, and its taper less.
    """
    return 0.0 if engine.charging_burn_loaded else engine.slope_L_per_kWh


def shaft_W(
    *, current_A: FloatsT, bank_V: FloatsT, drop_V: float, efficiency_frac: float
) -> FloatsT:
    """Power that the alternator takes from the shaft.

    Parameters
    ----------
    current_A : float or ndarray, shape (members,)
        What it delivers. [A]
    bank_V : float or ndarray, shape (members,)
        Voltage at the bank. [V]
    drop_V : float
        Lost between alternator and bank; the alternator works at the sum. [V]
    efficiency_frac : float
        Electrical power out over shaft power in. [-]

    Returns
    -------
    float or ndarray, shape (members,)
        Shaft power; times hours, the shaft energy. [W]

    Notes
    -----
    The efficiency is one figure for all outputs and speeds. A machine near idle does worse than
    it; the fuel at stake there is small, as little power is asked for.

    Examples
    --------
    >>> shaft_W(current_A=45.0, bank_V=13.8, drop_V=0.2, efficiency_frac=0.5)
    1260.0
    """
    return current_A * (bank_V + drop_V) / efficiency_frac


def default_charging_burn_L_per_h(
    *, rated_kW: float, rev_share_frac: float, kind: str = "diesel"
) -> float:
    """Fuel at charging revs with nothing on the belt, of an engine nobody has measured.

    Parameters
    ----------
    rated_kW : float
        Rated shaft power. [kW]
    rev_share_frac : float
        Charging revs over rated revs. [-]
    kind : str
        Of FUEL_KINDS.

    Returns
    -------
    float
        Burn. [L/h]

    Notes
    -----
    A diesel's published intercept is that of generator sets at rated revs. Friction and pumping are
    taken to fall with the revs themselves, which is a rule of thumb (no source).

    References
    ----------
    .. [1] Skarstein and Uhlen, Wind Engineering 13 (1989) 72-87: 0.08145 L/h for each rated kW.

    Examples
    --------
    >>> default_charging_burn_L_per_h(rated_kW=14.0, rev_share_frac=0.45)
    0.5131
    """
    return FUEL_KINDS[kind].no_load_L_per_h_per_kW * rated_kW * rev_share_frac


def default_motoring_burn_L_per_h(*, rated_kW: float, kind: str = "diesel") -> float:
    """Fuel at cruising revs in gear, of an engine nobody has measured.

    Parameters
    ----------
    rated_kW : float
        Rated shaft power. [kW]
    kind : str
        Of FUEL_KINDS.

    Returns
    -------
    float
        Burn. [L/h]

    Notes
    -----
    A diesel's 0.15 L/h for each rated kW are about half load (common practice, no source).

    Examples
    --------
    >>> default_motoring_burn_L_per_h(rated_kW=14.0)
    2.1
    """
    return FUEL_KINDS[kind].motoring_L_per_h_per_kW * rated_kW
