"""The boat as the kernel sees it: constants only, worked out once."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from powersim.physics.bank import Bank, bank_of
from powersim.physics.engine import charging_slope_L_per_kWh
from powersim.records import Alternator
from powersim.records.brief import brief

_NEVER = -math.inf  # a level below any charge
HOURS_PER_MONTH = 720.0  # [h] of 30 days, to which self-discharge is stated


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """The charging rule as the kernel uses it; never is an interval of inf or a level of -inf.

    Attributes
    ----------
    start_soc, stop_soc : float
        [-]
    shortest_h, longest_h : float
        Bounds of one run. [h]
    full_every_h : float
        [h]
    comfort_below_soc, useful_below_soc, restore_frac : float
        Shedding levels. [-]
    """

    start_soc: float
    stop_soc: float
    shortest_h: float
    longest_h: float
    full_every_h: float
    comfort_below_soc: float
    useful_below_soc: float
    restore_frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Plant:
    """Constants of the boat that the step needs.

    Attributes
    ----------
    bank : Bank
        The battery with its constants for this step length.
    flat_soc, cutout_V : float
        When electronics go dark. [-], [V]
    least_V : float
        The bus is never below it: the cut-out, or the voltage of an empty bank at rest where that
        is lower. [V]
    self_discharge_per_h : float
        Share of the charge held that is lost in an hour.
    standby_A : float
        What the bank's own protection takes. [A]
    tail_A : float
        Current into the bank below which it counts as full. [A]
    idle_A : float
        What solar controllers take. [A]
    alternator : Alternator
        With no more output than the engine can turn; one of no output for a boat without.
    burn_L_per_h, motoring_L_per_h, slope_L_per_kWh, charging_slope_L_per_kWh : float
        Fuel at charging revs, in gear, and for the alternator's shaft energy when motoring and
        when charging. [L/h], [L/h], [L/kWh], [L/kWh]
    usable_L : float
        Fuel that can be burnt; inf where it is not to run out. [L]
    start_above_soc : float
        Charge needed to start the engine; -inf for one with a battery of its own, which needs none
        of this bank. [-]
    charges_flat_bank : bool
        Whether the alternator works on a dark bank.
    runs_in_the_cold : bool
        Whether the engine runs for a bank that is too cold to be charged: only in the past, where
        the log has it so.
    rule : Rule
        When the engine charges and what is shed.
    """

    bank: Bank
    flat_soc: float
    cutout_V: float
    least_V: float
    self_discharge_per_h: float
    standby_A: float
    tail_A: float
    idle_A: float
    alternator: Alternator
    burn_L_per_h: float
    motoring_L_per_h: float
    slope_L_per_kWh: float
    charging_slope_L_per_kWh: float
    usable_L: float
    start_above_soc: float
    charges_flat_bank: bool
    rule: Rule
    runs_in_the_cold: bool = False

    __repr__ = brief


def plant_of(boat, *, step_h) -> Plant:
    """The constants of a boat for a step length.

    Parameters
    ----------
    boat : Boat
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
    )


def rule_of(boat) -> Rule:
    """The boat's charging and shedding habits, with never written as a level of -inf.

    Parameters
    ----------
    boat : Boat

    Returns
    -------
    Rule
    """
    charging, shedding = boat.charging, boat.shedding
    by_engine = charging.by_engine and has_charging_alternator(boat)
    return Rule(
        start_soc=charging.start_soc if by_engine else _NEVER,
        stop_soc=charging.stop_soc,
        shortest_h=charging.shortest_h,
        longest_h=charging.longest_h,
        full_every_h=(
            24.0 * charging.full_every_days
            if by_engine and charging.full_every_days is not None
            else math.inf
        ),
        comfort_below_soc=_level(shedding.comfort_below_soc),
        useful_below_soc=_level(shedding.useful_below_soc),
        restore_frac=shedding.restore_above_frac,
    )


def has_charging_alternator(boat) -> bool:
    """Whether running the engine at rest charges anything, and does not burn fuel for nothing.

    Parameters
    ----------
    boat : Boat

    Returns
    -------
    bool
    """
    return boat.alternator is not None and boat.alternator.charging_A > 0


def without_engine_rule(rule) -> Rule:
    """A rule that never starts the engine of itself.

    Parameters
    ----------
    rule : Rule

    Returns
    -------
    Rule
        Which sheds as before.
    """
    return replace(rule, start_soc=_NEVER, full_every_h=math.inf)


def _level(soc):
    return _NEVER if soc is None else soc
