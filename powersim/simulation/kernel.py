"""The step loop: one bank, its loads and its chargers, carried from step to step.

The same lines run on plain floats for one member and on arrays shaped (members,) for more. Each
decision sees the state as the step began. What holds for all members alike stays a plain float
or bool, and what does not occur in a step is not worked out.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from powersim.physics import bank as physics
from powersim.physics.alternator import offered_A
from powersim.physics.engine import belt_fuel_L, charging_fuel_L, motoring_fuel_L, shaft_W
from powersim.physics.ops import ARRAY, FLOAT
from powersim.simulation.bus import (
    Charger,
    Draw,
    given_A,
    meeting_V,
    solar_chargers,
    total_of,
    volts_with,
)
from powersim.simulation.rules import engine_runs, full_after, shed, tail_time_h
from powersim.simulation.state import Flows, State, Switches

#: Charge above flat at which loads come back after a blackout (common practice, no source). [-]
RECOVERY_FRAC = 0.05
#: How close to its setpoint a regulator counts as holding it. [V]
_HOLDING_V = 0.02
#: Smallest current into a full bank, or of loads on an empty one, that is told from none. [A]
_LEAST_A = 1e-6


class Bank(NamedTuple):
    """The bank as a step begins: its voltage, its resistances, the most it can give and take."""

    soc: float
    emf_V: float
    half_V_per_A: float
    stays: float
    ohm_in: float
    ohm_out: float
    most_in_A: float
    most_out_A: float
    leak_A: float


class Engine(NamedTuple):
    """The engine in a step: whether it charges at rest, in gear for how long, what it offers."""

    runs: bool
    for_full: bool
    charging: float
    motoring: float
    offered_A: float


class Wanted(NamedTuple):
    """What the loads draw after shedding, their largest peak and fuel, and what is shed."""

    loads: Draw
    peak_A: float
    heater_L: float
    comfort_shed: bool
    useful_shed: bool


class Met(NamedTuple):
    """Where the bus has settled."""

    bank_V: float
    ohm: float
    net_A: float
    loads: Draw
    served: float


class Fuel(NamedTuple):
    """Litres burnt in a step, by ledger."""

    charging_L: float
    motoring_L: float
    alternator_motoring_L: float


IDLE = Engine(False, False, 0.0, 0.0, 0.0)
NO_FUEL = Fuel(0.0, 0.0, 0.0)


def bank_as(state, row, *, plant, step_h, ops) -> Bank:
    """The bank as a step begins, with half of the step's change of emf in its resistances.

    Parameters
    ----------
    state : State
        As the step begins.
    row : Row
        Signals of the step.
    plant : Plant
        The boat's constants.
    step_h : float
        Length of the step. [h]
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    Bank
    """
    bank = plant.bank
    soc = physics.soc_of(bank, state.total_Ah)
    stays = physics.coulombic_frac(bank, soc, ops=ops)
    # Emf is taken in the middle of the step: it moves with the current, as over a resistance.
    half_V_per_A = physics.emf_slope_V(bank, soc, ops=ops) * (0.5 * step_h / bank.capacity_Ah)
    can_give_A = physics.most_discharge_A(
        bank, state.total_Ah, state.available_Ah, row.unreachable_Ah, ops=ops
    )
    can_take_A = physics.most_charge_A(bank, state.total_Ah, ops=ops)
    leak_A = (plant.self_discharge_per_h * bank.capacity_Ah) * soc + plant.standby_A
    leak_A = ops.minimum(leak_A, can_give_A)
    return Bank(
        soc=soc,
        emf_V=physics.emf_V(bank, soc, ops=ops),
        half_V_per_A=half_V_per_A,
        stays=stays,
        ohm_in=physics.charge_resistance_ohm(bank, soc, row.bank_C, ops=ops) + half_V_per_A * stays,
        ohm_out=physics.discharge_resistance_ohm(bank, soc, row.bank_C, ops=ops) + half_V_per_A,
        most_in_A=ops.maximum(row.takes_charge * can_take_A / stays, _LEAST_A),
        most_out_A=can_give_A - leak_A,
        leak_A=leak_A,
    )


def engine_in(state, row, *, soc, plant, switches, ops) -> Engine:
    """What the engine does: in gear as the passage says, else as the charging rule says.

    Parameters
    ----------
    state : State
        As the step begins.
    row : Row
        Signals of the step.
    soc : float or ndarray, shape (members,)
        State of charge. [-]
    plant : Plant
        The boat's constants.
    switches : Switches
        What works.
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    Engine
    """
    in_gear = ops.any(row.motoring > 0.0)
    if not in_gear and not ops.any(row.may_run):
        return IDLE
    turns = (state.burnt_L < plant.usable_L) & switches.engine
    turns = turns & (state.turning | (soc >= plant.start_above_soc))
    motoring = row.motoring * turns if in_gear else 0.0
    able = turns & (switches.alternator > 0.0)
    excites = plant.charges_flat_bank | ops.logical_not(state.dark)
    runs, for_full = engine_runs(
        state=state,
        soc=soc,
        row=row,
        able=able & excites,
        rule=plant.rule,
        tail_A=plant.tail_A,
        ops=ops,
    )
    if not in_gear and not ops.any(runs):
        return IDLE
    offer_A = offered_A(plant.alternator, motoring=motoring, charging=runs)
    return Engine(
        runs=runs,
        for_full=for_full,
        charging=runs * (1.0 - motoring),
        motoring=motoring,
        offered_A=offer_A * excites * switches.alternator,
    )


def loads_in(state, row, *, soc, plant, switches, ops) -> Wanted:
    """What the loads draw, those that the sailor has switched off left out.

    Parameters
    ----------
    state : State
        As the step begins.
    row : Row
        Signals of the step.
    soc : float or ndarray, shape (members,)
        State of charge. [-]
    plant : Plant
        For the shedding levels.
    switches : Switches
        Which groups are wanted.
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    Wanted
    """
    rule = plant.rule
    comfort_shed = useful_shed = False
    if rule.comfort_below_soc >= 0.0:
        comfort_shed = shed(
            was_shed=state.comfort_shed,
            soc=soc,
            below_soc=rule.comfort_below_soc,
            restore_frac=rule.restore_frac,
        )
    if rule.useful_below_soc >= 0.0:
        useful_shed = shed(
            was_shed=state.useful_shed,
            soc=soc,
            below_soc=rule.useful_below_soc,
            restore_frac=rule.restore_frac,
        )
    protected, essential, useful, comfort = switches.groups
    shares = (protected, essential, useful * (1.0 - useful_shed), comfort * (1.0 - comfort_shed))
    peak_A = 0.0
    for share, amps in zip(shares, row.peak_A, strict=True):
        if ops.any(amps > 0.0):
            peak_A = ops.maximum(peak_A, share * amps)
    return Wanted(
        loads=Draw(_over_groups(shares, row.load_A), _over_groups(shares, row.load_W)),
        peak_A=peak_A,
        heater_L=_over_groups(shares, row.heater_L),
        comfort_shed=comfort_shed,
        useful_shed=useful_shed,
    )


def _over_groups(shares, values):
    return sum([share * value for share, value in zip(shares, values, strict=True)])


def goes_dark(state, row, *, bank, plant, wanted, offered, ops):
    """Whether electronics are dark, and the voltage while the heaviest load is on.

    Parameters
    ----------
    state : State
        As the step begins.
    row : Row
        Signals of the step.
    bank : Bank
        As the step begins.
    plant : Plant
        For flat and cut-out.
    wanted : Wanted
        What loads draw on average and at their peak.
    offered : Draw
        All that chargers could give.
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    tuple of (bool or ndarray of bool, float or ndarray), shape (members,)
        Dark, and volts.
    """
    sag_V = volts_with(
        emf_V=bank.emf_V,
        ohm=bank.ohm_out,
        amps=offered.amps - wanted.loads.amps - (plant.idle_A + wanted.peak_A),
        watts=offered.watts - wanted.loads.watts,
        ops=ops,
    )
    flat_soc = ops.maximum(plant.flat_soc, row.unreachable_Ah / plant.bank.capacity_Ah)
    dark = (bank.soc <= flat_soc) | (sag_V < plant.cutout_V)
    return dark | (state.dark & (bank.soc < flat_soc + RECOVERY_FRAC)), sag_V


def meet(*, bank, chargers, loads, served, ops) -> Met:
    """The bus with everything on it.

    What the wells cannot take stands as resistance against the highest setpoint; when they can
    give no more, what they give sets the voltage and the loads get what is left.

    Parameters
    ----------
    bank : Bank
        As the step begins.
    chargers : list of Charger
        Those that offer something.
    loads : Draw
        What is on.
    served : float or ndarray, shape (members,)
        Share of the wanted load that is on. [-]
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    Met
    """
    ohm_in = bank.ohm_in
    if chargers:
        highest_V = chargers[0].setpoint_V
        for charger in chargers[1:]:
            highest_V = ops.maximum(highest_V, charger.setpoint_V)
        ohm_in = ops.maximum(ohm_in, (highest_V - bank.emf_V) / bank.most_in_A)
    bank_V = meeting_V(
        chargers=chargers,
        loads=loads,
        emf_V=bank.emf_V,
        ohm_in=ohm_in,
        ohm_out=bank.ohm_out,
        ops=ops,
    )
    ohm = ops.where(bank_V > bank.emf_V, ohm_in, bank.ohm_out) if chargers else bank.ohm_out
    net_A = (bank_V - bank.emf_V) / ohm
    beyond = -net_A > bank.most_out_A
    if ops.any(beyond):
        bank_V = ops.where(beyond, bank.emf_V - bank.ohm_out * bank.most_out_A, bank_V)
        wanted_A = ops.maximum(loads.at(bank_V), _LEAST_A)
        given = sum(given_A(chargers=chargers, volts=bank_V, ops=ops))
        part = ops.where(beyond, (given + bank.most_out_A) / wanted_A, 1.0)
        served, loads = served * part, loads.times(part)
        net_A = ops.where(beyond, -bank.most_out_A, net_A)
    return Met(bank_V, ohm, net_A, loads, served)


def fuel_in(engine, *, alternator_A, bank_V, plant, step_h, ops) -> Fuel:
    """What the engine burns in a step, the alternator's share by what it is burnt for.

    Parameters
    ----------
    engine : Engine
        What it does.
    alternator_A : float or ndarray, shape (members,)
        What the alternator delivers. [A]
    bank_V : float or ndarray, shape (members,)
        At this voltage. [V]
    plant : Plant
        The boat's constants.
    step_h : float
        Length of the step. [h]
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    Fuel
    """
    if engine is IDLE:
        return NO_FUEL
    alternator = plant.alternator
    shaft_Wh = step_h * shaft_W(
        current_A=alternator_A,
        bank_V=bank_V,
        drop_V=alternator.cable_drop_V,
        efficiency_frac=alternator.efficiency_frac,
    )
    in_gear_A = engine.motoring * alternator.motoring_A
    at_rest_A = engine.charging * alternator.charging_A
    in_gear_frac = in_gear_A / ops.maximum(in_gear_A + at_rest_A, _LEAST_A)
    return Fuel(
        charging_L=charging_fuel_L(
            run_h=engine.charging * step_h,
            burn_L_per_h=plant.burn_L_per_h,
            shaft_Wh=shaft_Wh * (1.0 - in_gear_frac),
            slope_L_per_kWh=plant.charging_slope_L_per_kWh,
        ),
        motoring_L=motoring_fuel_L(
            run_h=engine.motoring * step_h, burn_L_per_h=plant.motoring_L_per_h
        ),
        alternator_motoring_L=belt_fuel_L(
            shaft_Wh=shaft_Wh * in_gear_frac, slope_L_per_kWh=plant.slope_L_per_kWh
        ),
    )


def step_of(state, row, *, plant, signals, switches, ops):
    """One step: the flows in it and the state after it.

    Parameters
    ----------
    state : State
        As the step begins.
    row : Row
        Signals of the step.
    plant : Plant
        The boat's constants.
    signals : Signals
        For the step's length and the controllers' constants.
    switches : Switches
        What works and what is wanted.
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    tuple of (Flows, State)
    """
    step_h = signals.step_h
    bank = bank_as(state, row, plant=plant, step_h=step_h, ops=ops)
    engine = engine_in(state, row, soc=bank.soc, plant=plant, switches=switches, ops=ops)
    wanted = loads_in(state, row, soc=bank.soc, plant=plant, switches=switches, ops=ops)

    solar = solar_chargers(
        controllers=signals.controllers,
        row=row,
        volts=state.bank_V,
        floating=state.floating,
        share=switches.solar,
        ops=ops,
    )
    alternator = _alternator(state, row, engine=engine, plant=plant, ops=ops)
    chargers = [*solar, *alternator]
    offered = total_of([charger.offer for charger in chargers])

    dark, sag_V = goes_dark(
        state, row, bank=bank, plant=plant, wanted=wanted, offered=offered, ops=ops
    )
    served = 1.0 - dark if ops.any(dark) else 1.0
    loads = Draw(wanted.loads.amps * served + plant.idle_A, wanted.loads.watts * served)
    met = meet(bank=bank, chargers=chargers, loads=loads, served=served, ops=ops)
    bank_V, load_A = met.bank_V, met.loads.at(met.bank_V)
    solar_A, alternator_A = _shared(
        solar, alternator, volts=bank_V, needed_A=met.net_A + load_A, ops=ops
    )
    in_A = ops.maximum(met.net_A, 0.0)
    out_A = in_A - met.net_A

    # The bank after it.
    stored_A = bank.stays * in_A
    drawn_A = out_A + bank.leak_A - stored_A
    total_Ah = state.total_Ah - drawn_A * step_h
    available_Ah = physics.available_after_Ah(
        plant.bank, state.total_Ah, state.available_Ah, drawn_A
    )
    soc = physics.soc_of(plant.bank, total_Ah)
    tail_h = tail_time_h(
        tail_h=state.tail_h,
        step_h=step_h,
        volts=bank_V,
        full_V=row.full_V,
        into_A=in_A,
        tail_A=plant.tail_A,
        soc=soc,
        ops=ops,
    )
    full = full_after(tail_h)
    since_full_h = (state.since_full_h + step_h) * (1.0 - full)

    fuel = fuel_in(
        engine, alternator_A=alternator_A, bank_V=bank_V, plant=plant, step_h=step_h, ops=ops
    )
    heater_L = wanted.heater_L * met.served
    wanted_L = sum(fuel) + heater_L
    burnt_L = ops.minimum(state.burnt_L + wanted_L, plant.usable_L)

    flows = Flows(
        soc=soc,
        bank_V=bank_V,
        sag_V=sag_V,
        solar_A=solar_A,
        solar_offered_A=total_of([charger.offer for charger in solar]).at(bank_V),
        alternator_A=alternator_A,
        alternator_offered_A=engine.offered_A,
        load_A=load_A,
        in_A=in_A,
        out_A=out_A,
        gassing_A=in_A - stored_A,
        self_discharge_A=bank.leak_A,
        ohm=met.ohm - bank.half_V_per_A * (1.0 - (1.0 - bank.stays) * (met.net_A > 0.0)),
        total_Ah=total_Ah,
        available_Ah=available_Ah,
        served=met.served,
        useful_on=1.0 - wanted.useful_shed,
        comfort_on=1.0 - wanted.comfort_shed,
        dark=dark,
        charging=engine.charging,
        for_full=engine.for_full,
        motoring=engine.motoring,
        charging_L=fuel.charging_L,
        motoring_L=fuel.motoring_L,
        alternator_motoring_L=fuel.alternator_motoring_L,
        heater_L=heater_L,
        fuel_short_L=state.burnt_L + wanted_L - burnt_L,
        since_full_h=since_full_h,
    )
    runs = engine.runs
    after = State(
        total_Ah=total_Ah,
        available_Ah=available_Ah,
        bank_V=bank_V,
        alternator_A=alternator_A,
        dark=dark,
        comfort_shed=wanted.comfort_shed,
        useful_shed=wanted.useful_shed,
        turning=runs | (engine.motoring > 0.0),
        running=runs,
        for_full=engine.for_full,
        run_h=(state.run_h + step_h) * runs,
        stopped_h=(state.stopped_h + step_h) * (1.0 - runs),
        alternator_absorbed_h=_absorbed_h(state, row, engine=engine, volts=bank_V, step_h=step_h),
        floating=(state.floating | full) & bool(solar),
        tail_h=tail_h,
        since_full_h=since_full_h,
        burnt_L=burnt_L,
    )
    return flows, after


def _alternator(state, row, *, engine, plant, ops):
    """The alternator as a list of one charger, or of none when it gives nothing."""
    if engine is IDLE:
        return []
    setpoint_V = ops.where(
        state.alternator_absorbed_h >= plant.alternator.absorption_h,
        row.alternator_float_V,
        row.alternator_absorption_V,
    )
    return [Charger(setpoint_V, Draw(engine.offered_A, 0.0))]


def _absorbed_h(state, row, *, engine, volts, step_h):
    """How long the regulator has held absorption in this run. [h]"""
    if engine is IDLE:
        return 0.0
    holds = volts >= row.alternator_absorption_V - _HOLDING_V
    return (state.alternator_absorbed_h + step_h * holds) * (engine.offered_A > 0.0)


def _shared(solar, alternator, *, volts, needed_A, ops):
    """Who gives it: chargers below their setpoint all they have, those at it the rest, solar first.

    Returns the current of all solar controllers and of the alternator. [A]
    """
    if not solar and not alternator:
        return 0.0, 0.0
    solar_full_A, solar_part_A = given_A(chargers=solar, volts=volts, ops=ops)
    alternator_full_A, alternator_part_A = given_A(chargers=alternator, volts=volts, ops=ops)
    rest_A = ops.maximum(needed_A - solar_full_A - alternator_full_A, 0.0)
    solar_rest_A = ops.minimum(rest_A, solar_part_A)
    alternator_rest_A = ops.minimum(rest_A - solar_rest_A, alternator_part_A)
    return solar_full_A + solar_rest_A, alternator_full_A + alternator_rest_A


def steps(signals, *, plant, state, switches=None, first=0):
    """Carry a state through the steps, one at a time.

    Parameters
    ----------
    signals : Signals
        For all steps of the passage.
    plant : Plant
        The boat's constants.
    state : State
        As step `first` begins; floats for one member, arrays shaped (members,) for more.
    switches : Switches, optional
        What works and what is wanted; everything if left out.
    first : int
        Step to begin with.

    Yields
    ------
    tuple of (Flows, State)
        Of the step, and after it.
    """
    single = np.ndim(state.total_Ah) == 0
    ops = FLOAT if single else ARRAY
    switches = switches or Switches()
    for row in signals.rows(first=first, single=single):
        flows, state = step_of(state, row, plant=plant, signals=signals, switches=switches, ops=ops)
        yield flows, state


def run(signals, *, plant, state, switches=None, first=0, until=None):
    """Carry a state through the steps and keep every flow.

    Parameters
    ----------
    signals, plant, state, switches, first
        As for `steps`.
    until : callable, optional
        Called with each step's Flows; the run ends after the step for which it is true.

    Returns
    -------
    tuple of (Flows, list of State)
        Flows of arrays shaped (steps, members), and the state after each step.
    """
    done, states = [], []
    for flows, after in steps(signals, plant=plant, state=state, switches=switches, first=first):
        done.append(flows)
        states.append(after)
        if until is not None and until(flows):
            break
    members = np.shape(state.total_Ah) or (1,)
    table = [
        np.array([np.broadcast_to(value, members) for value in column], dtype=float)
        if members != (1,)
        else np.array(column, dtype=float).reshape(len(done), -1)
        for column in zip(*done, strict=True)
    ]
    return Flows(*table), states
