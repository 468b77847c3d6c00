"""From a boat to the constants that the kernel takes of it, worked out once."""

from __future__ import annotations

import math
from dataclasses import replace

from powersim.kernel.pack import Pack
from powersim.kernel.plant import Plant, Rule
from powersim.physics.bank import bank_of
from powersim.physics.engine import charging_slope_L_per_kWh
from powersim.records import Alternator, Boat, ChargingRule

_NEVER = -math.inf  # a level below any charge
HOURS_PER_MONTH = 720.0  # [h] of 30 days, to which self-discharge is stated


def plant_of(boat: Boat, *, step_h: float) -> Plant:
    """The constants of a boat for a step length.

    Parameters
    ----------
    boat : Boat
        Her bank, her engine, her fuel and her habits.
    step_h : float
        Length of a step. [h]

    Returns
    -------
    Plant
        A boat without an engine gets one that never has fuel.
    """
    battery, engine = boat.battery, boat.engine
    bank = bank_of(battery, step_h=step_h)
    return Plant(
        bank=bank,
        flat_soc=battery.flat_soc,
        cutout_V=battery.cutout_V,
        least_V=min(battery.cutout_V, bank.emf_knots_V[0]),
        self_discharge_per_h=battery.self_discharge_frac_per_month / HOURS_PER_MONTH,
        standby_A=battery.standby_A,
        tail_A=battery.full_tail_frac * battery.real_capacity_Ah,
        idle_A=sum(controller.idle_A for controller in boat.controllers),
        alternator=boat.driven_alternator or Alternator(charging_A=0.0, motoring_A=0.0),
        burn_L_per_h=engine.charging_L_per_h if engine else 0.0,
        motoring_L_per_h=engine.motoring_L_per_h if engine else 0.0,
        slope_L_per_kWh=engine.slope_L_per_kWh if engine else 0.0,
        charging_slope_L_per_kWh=charging_slope_L_per_kWh(engine) if engine else 0.0,
        usable_L=boat.fuel.usable_L if boat.fuel else 0.0,
        start_above_soc=(
            engine.shared_start_soc if engine and engine.start_battery == "shared" else _NEVER
        ),
        charges_flat_bank=bool(engine and engine.charges_flat_bank),
        rule=rule_of(boat),
        pack=pack_of(boat),
    )


def pack_of(boat: Boat) -> Pack:
    """The devices that are charged before the bank is full, as one.

    Parameters
    ----------
    boat : Boat
        Her devices; those that take only what the bank has no room for are left out.

    Returns
    -------
    Pack
        One of nothing for a boat without any. Its efficiency is such that what they give in a day
        takes as much as it takes of each.
    """
    devices = [device for device in boat.devices if device.when_soc is not None]
    if not devices:
        return Pack()
    use_Wh = math.fsum(device.use_Wh_per_day for device in devices)
    takes_Wh = math.fsum(device.takes_Wh_per_day for device in devices)
    return Pack(
        charge_W=math.fsum(device.charge_W for device in devices),
        above_soc=max(device.when_soc or 0.0 for device in devices),
        full_Wh=math.fsum(device.battery_Wh for device in devices),
        use_W=use_Wh / 24.0,
        efficiency_frac=use_Wh / takes_Wh if takes_Wh else devices[0].efficiency_frac,
    )


def rule_of(boat: Boat) -> Rule:
    """The boat's charging and shedding habits, with never written as a level of -inf.

    Parameters
    ----------
    boat : Boat
        When she charges, and what she sheds.

    Returns
    -------
    Rule
        One that never starts the engine where nothing would be charged.
    """
    charging, shedding = boat.charging, boat.shedding
    by_engine = charging.by_engine and has_charging_alternator(boat)
    run_h = charging.run_h
    return Rule(
        start_soc=charging.start_soc if by_engine else _NEVER,
        stop_soc=math.inf if charging.stop_soc is None else charging.stop_soc,
        shortest_h=charging.shortest_h if run_h is None else run_h,
        longest_h=charging.longest_h if run_h is None else run_h,
        full_every_h=_full_every_h(charging) if by_engine else math.inf,
        at_readings=1.0 if charging.read_at_h else 0.0,
        ends_A=-math.inf if charging.stop_below_A is None else charging.stop_below_A,
        little_Ah=math.inf if charging.little_sun_Ah is None else charging.little_sun_Ah,
        full_shortest_h=charging.shortest_h,
        full_longest_h=charging.full_longest_h,
        comfort_below_soc=_level(shedding.comfort_below_soc),
        useful_below_soc=_level(shedding.useful_below_soc),
        restore_frac=shedding.restore_above_frac,
        wait_below_soc=_level(charging.wait_below_soc) if by_engine else _NEVER,
        wait_readings=float(charging.wait_readings),
    )


def _full_every_h(charging: ChargingRule) -> float:
    """How long the bank goes without a full charge before a run to full is due. [h]

    At readings it is a matter of the calendar: the tenth day after a full charge, whatever the
    hour of that was, is the one whose first reading comes more than nine days and the time from
    midnight to that reading later.
    """
    days, on_day = charging.full_every_days, charging.full_on_day
    if days is None or on_day is None:
        return math.inf
    if not charging.read_at_h:
        return 24.0 * days
    return 24.0 * (on_day - 1) + charging.read_at_h[0]


def has_charging_alternator(boat: Boat) -> bool:
    """Whether running the engine at rest charges anything, and does not burn fuel for nothing.

    Parameters
    ----------
    boat : Boat
        Her alternator is looked at.

    Returns
    -------
    bool
        False for a boat without one.
    """
    return boat.alternator is not None and boat.alternator.charging_A > 0


def without_engine_rule(rule: Rule) -> Rule:
    """A rule that never starts the engine of itself.

    Parameters
    ----------
    rule : Rule
        Any rule.

    Returns
    -------
    Rule
        Which sheds as before.
    """
    return replace(rule, start_soc=_NEVER, wait_below_soc=_NEVER, full_every_h=math.inf)


def _level(soc: float | None) -> float:
    return _NEVER if soc is None else soc
