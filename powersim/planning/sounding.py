"""What the diesel in the tank is good for, by the stick or by the needle of its gauge."""

from __future__ import annotations

from dataclasses import dataclass

from powersim.physics.alternator import bank_setpoint_V
from powersim.physics.engine import charging_fuel_L, charging_slope_L_per_kWh, shaft_W
from powersim.physics.needle import needle_sounding
from powersim.physics.tank import Sounding, above_tank, sounding
from powersim.records import Boat

#: The bank's temperature at which the alternator's voltage is taken. [degC]
_BANK_C = 25.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """How far some litres go.

    Attributes
    ----------
    litres : float
        Fuel beyond the unusable and the reserve, 0 or more. [L]
    charging_h : float or None
        Time of charging at the alternator's whole output; None without an alternator. [h]
    motoring_h, motoring_nm : float
        Time and distance in gear at cruising revs. [h], [nm]
    """

    litres: float
    charging_h: float | None
    motoring_h: float
    motoring_nm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sounded:
    """What a dip says, or the needle.

    Attributes
    ----------
    depth_m : float or None
        Depth as read off the stick; None for the needle. [m]
    needle_frac : float or None
        The needle's place on the dial, 0 at E and 1 at F; None for the stick. [-]
    tank_L, sd_L, least_L, most_L : float
        Fuel in the tank: most likely, its standard deviation, and the extremes. [L]
    usable_L : float
        The most likely fuel above the pick-up. [L]
    cans_L, reserve_L : float
        Fuel in cans, and fuel that must be left at landfall. [L]
    worth, worth_least, worth_most : Worth
        How far tank and cans go beyond unusable and reserve: most likely, and at the extremes.
    above_full : bool
        Whether the stick was wet above the brim.
    """

    depth_m: float | None
    needle_frac: float | None
    tank_L: float
    sd_L: float
    least_L: float
    most_L: float
    usable_L: float
    cans_L: float
    reserve_L: float
    worth: Worth
    worth_least: Worth
    worth_most: Worth
    above_full: bool


def charging_burn_L_per_h(boat: Boat) -> float | None:
    """Diesel for an hour at the alternator's whole output; None if nothing charges. [L/h]"""
    alternator, engine = boat.driven_alternator, boat.engine
    if alternator is None or engine is None or not alternator.charging_A > 0.0:
        return None
    volts = float(bank_setpoint_V(alternator, boat.battery, bank_C=_BANK_C)[0])
    an_hour_Wh = shaft_W(
        current_A=alternator.charging_A,
        bank_V=volts,
        drop_V=alternator.cable_drop_V,
        efficiency_frac=alternator.efficiency_frac,
    )
    return charging_fuel_L(
        run_h=1.0,
        burn_L_per_h=engine.charging_L_per_h,
        shaft_Wh=an_hour_Wh,
        slope_L_per_kWh=charging_slope_L_per_kWh(engine),
    )


def worth_of(boat: Boat, litres: float) -> Worth:
    """How far some litres go."""
    litres = max(litres, 0.0)
    engine, burn_L_per_h = boat.engine, charging_burn_L_per_h(boat)
    assert engine is not None  # a boat with fuel has one
    motoring_h = litres / engine.motoring_L_per_h
    return Worth(
        litres=litres,
        charging_h=None if burn_L_per_h is None else litres / burn_L_per_h,
        motoring_h=motoring_h,
        motoring_nm=motoring_h * engine.motoring_kn,
    )


def sounded(boat: Boat, depth_m: float, *, cans_L: float | None = None) -> Sounded:
    """What a dip says.

    Parameters
    ----------
    boat : Boat
        A boat with a tank whose shape is known.
    depth_m : float
        Depth as read off the stick. [m]
    cans_L : float, optional
        Fuel left in cans; as in boat.toml if left out. [L]

    Raises
    ------
    ValueError
        If the tank's shape is not known, or the depth is negative or far above the tank.
    """
    fuel = boat.fuel
    if fuel is None or fuel.shape is None:
        raise ValueError("the shape of the tank is not known")
    if above_tank(fuel.shape, depth_m):
        raise ValueError(f"depth_m is above the tank, got {depth_m!r}")
    return _worth_of_reading(
        boat,
        sounding(fuel.shape, depth_m),
        cans_L=cans_L,
        depth_m=depth_m,
        above_full=depth_m > fuel.shape.top_m,
    )


def needle_read(boat: Boat, place: float, *, cans_L: float | None = None) -> Sounded:
    """What the needle of the gauge says at sea.

    Parameters
    ----------
    boat : Boat
        A boat with litres at the needle's marks.
    place : float
        On the dial, from 0 at E to 1 at F. [-]
    cans_L : float, optional
        Fuel left in cans; as in boat.toml if left out. [L]

    Raises
    ------
    ValueError
        If there are no marks, or the place is off the dial.
    """
    if boat.fuel is None:
        raise ValueError("there is no tank")
    read = needle_sounding(boat.fuel, place)
    return _worth_of_reading(boat, read, cans_L=cans_L, needle_frac=place)


def _worth_of_reading(
    boat: Boat,
    read: Sounding,
    *,
    cans_L: float | None,
    depth_m: float | None = None,
    needle_frac: float | None = None,
    above_full: bool = False,
) -> Sounded:
    fuel = boat.fuel
    assert fuel is not None, "whoever asks has looked"
    out_of_reach_L = fuel.tank_L * fuel.unusable_frac
    cans_L = fuel.jerrycans_L if cans_L is None else cans_L

    def worth(tank_L: float) -> Worth:
        above_L = max(tank_L - out_of_reach_L, 0.0)
        return worth_of(boat, above_L + cans_L - fuel.reserve_L)

    return Sounded(
        depth_m=depth_m,
        needle_frac=needle_frac,
        tank_L=read.litres,
        sd_L=read.sd_L,
        least_L=read.least_L,
        most_L=read.most_L,
        usable_L=max(read.litres - out_of_reach_L, 0.0),
        cans_L=cans_L,
        reserve_L=fuel.reserve_L,
        worth=worth(read.litres),
        worth_least=worth(read.least_L),
        worth_most=worth(read.most_L),
        above_full=above_full,
    )
