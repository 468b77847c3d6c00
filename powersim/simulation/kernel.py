"""The step loop: one bank, its loads and its chargers, carried from step to step.

The same lines run on plain floats for one member and on arrays shaped (members,) for more. Each
decision sees the state as the step began.
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
from powersim.simulation.rules import TAIL_TIME_h, engine_runs, shed, tail_time_h

#: Charge above flat at which loads come back after a blackout (common practice, no source). [-]
RECOVERY_FRAC = 0.05
#: How close to its setpoint a regulator counts as holding it. [V]
_HOLDING_V = 0.02
#: Smallest current into a full bank for which a resistance is worked out. [A]
_LEAST_A = 1e-6


class State(NamedTuple):
    """What one step hands to the next; floats and bools, or arrays shaped (members,)."""

    total_Ah: float
    available_Ah: float
    bank_V: float
    dark: bool
    comfort_shed: bool
    useful_shed: bool
    running: bool
    for_full: bool
    run_h: float
    stopped_h: float
    alternator_absorbed_h: float
    floating: bool
    tail_h: float
    since_full_h: float
    burnt_L: float


class Switches(NamedTuple):
    """What works and what is wanted, as factors: floats, or arrays shaped (members,).

    `groups` multiplies the draw of protected, essential, useful and comfort loads.
    """

    solar: float = 1.0
    alternator: float = 1.0
    engine: bool = True
    groups: tuple = (1.0, 1.0, 1.0, 1.0)


class Flows(NamedTuple):
    """What happened in one step: means over the step in A, V and W, sums in Ah, Wh and L."""

    soc: float
    bank_V: float
    sag_V: float
    solar_A: float
    solar_offered_A: float
    alternator_A: float
    alternator_offered_A: float
    load_A: float
    in_A: float
    out_A: float
    gassing_A: float
    self_discharge_A: float
    ohm: float
    total_Ah: float
    available_Ah: float
    stored_Wh: float
    served: float
    useful_on: float
    comfort_on: float
    dark: float
    charging: float
    for_full: float
    motoring: float
    charging_L: float
    motoring_L: float
    alternator_motoring_L: float
    heater_L: float
    fuel_short_L: float
    since_full_h: float


def start_state(plant, *, soc) -> State:
    """The state at departure, rested at a state of charge.

    Parameters
    ----------
    plant : Plant
        For its bank.
    soc : float or ndarray, shape (members,)
        State of charge. [-]

    Returns
    -------
    State
    """
    total_Ah, available_Ah = physics.state_at(plant.bank, soc)
    zero = soc * 0.0
    no = zero > 0.0
    return State(
        total_Ah=total_Ah,
        available_Ah=available_Ah,
        bank_V=zero + 12.6 * plant.bank.blocks,
        dark=no,
        comfort_shed=no,
        useful_shed=no,
        running=no,
        for_full=no,
        run_h=zero,
        stopped_h=zero + 1000.0,
        alternator_absorbed_h=zero,
        floating=no,
        tail_h=zero,
        since_full_h=zero,
        burnt_L=zero,
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
    bank, rule, step_h = plant.bank, plant.rule, signals.step_h
    soc = physics.soc_of(bank, state.total_Ah)
    emf_V = physics.emf_V(bank, soc, ops=ops)
    # Half of the step's change of emf rides on the resistance, so that emf is taken mid-step.
    half_V_per_A = 0.5 * physics.emf_slope_V(bank, soc, ops=ops) * step_h / bank.capacity_Ah
    stays = physics.coulombic_frac(bank, soc, ops=ops)
    ohm_out = physics.discharge_resistance_ohm(bank, soc, row.bank_C, ops=ops)
    ohm_in = physics.charge_resistance_ohm(bank, soc, row.bank_C, ops=ops)
    ohm_in = ohm_in + half_V_per_A * stays
    ohm_out = ohm_out + half_V_per_A

    # What the bank loses by itself, and the most that it can give and take besides.
    most_out_A = physics.most_discharge_A(
        bank, state.total_Ah, state.available_Ah, row.unreachable_Ah, ops=ops
    )
    leak_A = ops.minimum(
        plant.self_discharge_per_h * soc * bank.capacity_Ah + plant.standby_A, most_out_A
    )
    most_out_A = most_out_A - leak_A
    most_in_A = ops.maximum(
        row.takes_charge
        * physics.most_charge_A(bank, state.total_Ah, state.available_Ah, ops=ops)
        / stays,
        _LEAST_A,
    )

    # Engine.
    fuel_left = state.burnt_L < plant.usable_L
    motoring = ops.where(fuel_left & switches.engine, row.motoring, 0.0)
    can_start = state.running | (soc >= plant.start_above_soc)
    able = fuel_left & switches.engine & (switches.alternator > 0.0) & can_start
    if not plant.charges_flat_bank:
        able = able & ops.logical_not(state.dark)
    runs, for_full = engine_runs(state=state, soc=soc, row=row, able=able, rule=rule, ops=ops)
    charging = ops.where(runs, 1.0 - motoring, 0.0)
    excites = 1.0 if plant.charges_flat_bank else ops.where(state.dark, 0.0, 1.0)
    alternator_offered_A = (
        switches.alternator
        * excites
        * offered_A(plant.alternator, motoring=motoring, charging=ops.where(runs, 1.0, 0.0))
    )
    turning = alternator_offered_A > 0.0

    # Loads: shed, then dark if the heaviest of them would pull the voltage below the cut-out.
    comfort_shed = shed(
        was_shed=state.comfort_shed,
        soc=soc,
        below_soc=rule.comfort_below_soc,
        restore_frac=rule.restore_frac,
    )
    useful_shed = shed(
        was_shed=state.useful_shed,
        soc=soc,
        below_soc=rule.useful_below_soc,
        restore_frac=rule.restore_frac,
    )
    comfort_on = ops.where(comfort_shed, 0.0, 1.0)
    useful_on = ops.where(useful_shed, 0.0, 1.0)
    shares = (
        switches.groups[0],
        switches.groups[1],
        switches.groups[2] * useful_on,
        switches.groups[3] * comfort_on,
    )
    load_A = sum(share * amps for share, amps in zip(shares, row.load_A, strict=True))
    load_W = sum(share * watts for share, watts in zip(shares, row.load_W, strict=True))

    solar = solar_chargers(
        controllers=signals.controllers,
        row=row,
        volts=state.bank_V,
        floating=state.floating,
        share=switches.solar,
        ops=ops,
    )
    regulator_V = ops.where(
        state.alternator_absorbed_h >= plant.alternator.absorption_h,
        row.alternator_float_V,
        row.alternator_absorption_V,
    )
    alternator = Charger(regulator_V, Draw(alternator_offered_A, 0.0))
    chargers = [
        charger
        for charger in (*solar, alternator)
        if ops.any(charger.offer.amps + charger.offer.watts > 0.0)
    ]
    offered = total_of([charger.offer for charger in chargers])

    sag_V = volts_with(
        emf_V=emf_V,
        ohm=ohm_out,
        amps=offered.amps - load_A - plant.idle_A - row.peak_A,
        watts=offered.watts - load_W - row.peak_W,
        ops=ops,
    )
    flat_soc = ops.maximum(plant.flat_soc, row.unreachable_Ah / bank.capacity_Ah)
    dark = (
        (soc <= flat_soc)
        | (sag_V < plant.cutout_V)
        | (state.dark & (soc < flat_soc + RECOVERY_FRAC))
    )
    served = ops.where(dark, 0.0, 1.0)
    loads = Draw(load_A * served + plant.idle_A, load_W * served)

    # The voltage at which all of it meets. What the wells cannot take stands as resistance
    # against the highest setpoint.
    highest_V = emf_V
    for charger in chargers:
        highest_V = ops.maximum(highest_V, charger.setpoint_V)
    ohm_in = ops.maximum(ohm_in, (highest_V - emf_V) / most_in_A)
    bank_V = meeting_V(
        chargers=chargers, loads=loads, emf_V=emf_V, ohm_in=ohm_in, ohm_out=ohm_out, ops=ops
    )
    ohm = ops.where(bank_V > emf_V, ohm_in, ohm_out)
    net_A = (bank_V - emf_V) / ohm
    beyond = -net_A > most_out_A
    if ops.any(beyond):  # the wells give out: what they give sets the voltage, loads get the rest
        bank_V = ops.where(beyond, emf_V - ohm_out * most_out_A, bank_V)
        part = ops.where(beyond, (offered.at(bank_V) + most_out_A) / loads.at(bank_V), 1.0)
        served = served * part
        loads = loads.times(part)
        net_A = ops.where(beyond, -most_out_A, net_A)

    # Who gives it: chargers below their setpoint all they have, those at it the rest.
    solar_full_A, solar_part_A = given_A(chargers=solar, volts=bank_V, ops=ops)
    alternator_full_A, alternator_part_A = given_A(chargers=[alternator], volts=bank_V, ops=ops)
    rest_A = net_A + loads.at(bank_V) - solar_full_A - alternator_full_A
    rest_A = ops.maximum(rest_A, 0.0)
    solar_share_A = ops.minimum(rest_A, solar_part_A)
    solar_A = solar_full_A + solar_share_A
    alternator_A = alternator_full_A + ops.minimum(rest_A - solar_share_A, alternator_part_A)
    solar_offered_A = total_of([charger.offer for charger in solar]).at(bank_V)

    in_A = ops.maximum(net_A, 0.0)
    out_A = ops.maximum(-net_A, 0.0)

    # The bank after it.
    stored_A = stays * in_A
    drawn_A = out_A + leak_A - stored_A
    total_Ah = state.total_Ah - drawn_A * step_h
    available_Ah = physics.available_after_Ah(bank, state.total_Ah, state.available_Ah, drawn_A)
    soc_after = physics.soc_of(bank, total_Ah)
    tail_h = tail_time_h(
        tail_h=state.tail_h,
        step_h=step_h,
        volts=bank_V,
        full_V=row.full_V,
        into_A=in_A,
        tail_A=plant.tail_A,
        soc=soc_after,
        ops=ops,
    )
    full = tail_h >= TAIL_TIME_h
    since_full_h = ops.where(full, 0.0, state.since_full_h + step_h)
    lit = solar_offered_A > 0.0

    # Fuel.
    shaft_Wh = step_h * shaft_W(
        current_A=alternator_A,
        bank_V=bank_V,
        drop_V=plant.alternator.cable_drop_V,
        efficiency_frac=plant.alternator.efficiency_frac,
    )
    in_gear = motoring * plant.alternator.motoring_A
    in_gear = in_gear / ops.maximum(in_gear + charging * plant.alternator.charging_A, _LEAST_A)
    charging_L = charging_fuel_L(
        run_h=charging * step_h,
        burn_L_per_h=plant.burn_L_per_h,
        shaft_Wh=shaft_Wh * (1.0 - in_gear),
        slope_L_per_kWh=plant.charging_slope_L_per_kWh,
    )
    motoring_L = motoring_fuel_L(run_h=motoring * step_h, burn_L_per_h=plant.motoring_L_per_h)
    alternator_motoring_L = belt_fuel_L(
        shaft_Wh=shaft_Wh * in_gear, slope_L_per_kWh=plant.slope_L_per_kWh
    )
    heater_L = row.heater_L
    wanted_L = charging_L + motoring_L + alternator_motoring_L + heater_L
    burnt_L = ops.minimum(state.burnt_L + wanted_L, plant.usable_L)

    flows = Flows(
        soc=soc_after,
        bank_V=bank_V,
        sag_V=sag_V,
        solar_A=solar_A,
        solar_offered_A=solar_offered_A,
        alternator_A=alternator_A,
        alternator_offered_A=alternator_offered_A,
        load_A=loads.at(bank_V),
        in_A=in_A,
        out_A=out_A,
        gassing_A=in_A - stored_A,
        self_discharge_A=leak_A,
        ohm=ohm - ops.where(bank_V > emf_V, half_V_per_A * stays, half_V_per_A),
        total_Ah=total_Ah,
        available_Ah=available_Ah,
        stored_Wh=physics.stored_Wh(bank, soc_after, ops=ops),
        served=served,
        useful_on=useful_on,
        comfort_on=comfort_on,
        dark=dark,
        charging=charging,
        for_full=for_full,
        motoring=motoring,
        charging_L=charging_L,
        motoring_L=motoring_L,
        alternator_motoring_L=alternator_motoring_L,
        heater_L=heater_L,
        fuel_short_L=state.burnt_L + wanted_L - burnt_L,
        since_full_h=since_full_h,
    )
    after = State(
        total_Ah=total_Ah,
        available_Ah=available_Ah,
        bank_V=bank_V,
        dark=dark,
        comfort_shed=comfort_shed,
        useful_shed=useful_shed,
        running=runs,
        for_full=for_full,
        run_h=ops.where(runs, state.run_h + step_h, 0.0),
        stopped_h=ops.where(runs, 0.0, state.stopped_h + step_h),
        alternator_absorbed_h=ops.where(
            turning,
            state.alternator_absorbed_h
            + ops.where(bank_V >= row.alternator_absorption_V - _HOLDING_V, step_h, 0.0),
            0.0,
        ),
        floating=(state.floating | full) & lit,
        tail_h=tail_h,
        since_full_h=since_full_h,
        burnt_L=burnt_L,
    )
    return flows, after


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
