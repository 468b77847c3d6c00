"""The step loop: one bank, its loads and its chargers, carried from step to step.

The same lines run on plain floats for one member and on arrays shaped (members,) for more. Each
decision sees the state as the step began. What holds for all members alike stays a plain float
or bool, and what does not occur in a step is not worked out.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from powersim.physics import bank as physics
from powersim.physics.ops import ARRAY, FLOAT
from powersim.simulation.bus import (
    LEAST_A,
    Draw,
    charging_ohm,
    meet,
    other_chargers,
    shared_A,
    solar_chargers,
    total_of,
)
from powersim.simulation.engine_room import (
    IDLE,
    absorbed_h,
    after_run,
    alternator_charger,
    engine_in,
    fuel_in,
    stopping,
    turning_partly,
)
from powersim.simulation.rules import full_after, held_full, stays_floating, tail_time_h
from powersim.simulation.state import Flows, State, Switches
from powersim.simulation.switchboard import goes_dark, loads_in, lowest_V


class Bank(NamedTuple):
    """The bank as a step begins: its voltage, its resistances, the most it can give and take."""

    soc: float
    emf_V: float
    half_V_per_A: float
    stays: float
    ohm_in: float
    ohm_out: float
    most_in_A: float
    room_A: float
    most_out_A: float
    leak_A: float


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
    # Resistance and gassing on charge rise steeply towards full: they are those of the middle of
    # the step, should the current go on as it was, or a long step would take too much.
    later_soc = ops.minimum(soc + state.into_A * (0.5 * step_h / bank.capacity_Ah), 1.0)
    stays = physics.coulombic_frac(bank, later_soc, ops=ops)
    # Emf is taken in the middle of the step: it moves with the current, as over a resistance, and
    # with what leaks.
    half_V_per_A = physics.emf_slope_V(bank, soc, ops=ops) * (0.5 * step_h / bank.capacity_Ah)
    can_give_A = physics.most_discharge_A(
        bank, state.total_Ah, state.available_Ah, row.unreachable_Ah, ops=ops
    )
    can_take_A = physics.most_charge_A(bank, state.total_Ah, ops=ops)
    leak_A = (plant.self_discharge_per_h * bank.capacity_Ah) * soc + plant.standby_A
    leak_A = ops.minimum(leak_A, can_give_A)
    emf_V = physics.emf_V(bank, soc, ops=ops) - half_V_per_A * leak_A
    ohm_out = physics.discharge_resistance_ohm(bank, soc, row.bank_C, ops=ops) + half_V_per_A
    # Whatever is left on in the dark cannot draw the bus below its least voltage.
    by_volts_A = ops.maximum((emf_V - plant.least_V) / ohm_out, 0.0)
    return Bank(
        soc=soc,
        emf_V=emf_V,
        half_V_per_A=half_V_per_A,
        stays=stays,
        ohm_in=physics.charge_resistance_ohm(bank, later_soc, row.bank_C, ops=ops)
        + half_V_per_A * stays,
        ohm_out=ohm_out,
        most_in_A=ops.maximum(row.takes_charge * can_take_A / stays, LEAST_A),
        room_A=can_take_A,
        most_out_A=ops.minimum(can_give_A - leak_A, by_volts_A),
        leak_A=leak_A,
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
    wanted = loads_in(state, row, soc=bank.soc, plant=plant, switches=switches, ops=ops)

    solar = solar_chargers(
        controllers=signals.controllers,
        row=row,
        volts=state.bank_V,
        floating=state.floating,
        share=switches.solar,
        ops=ops,
    )
    wind = water = shore = ()
    if row.others:
        wind, water, shore = other_chargers(
            chargers=signals.others,
            row=row,
            volts=state.bank_V,
            floating=state.others_floating,
            share=switches.others,
            ops=ops,
        )
    free = [*solar, *wind, *water, *shore]
    offered = total_of([charger.offer for charger in free])

    def falls_soc():
        short_A = wanted.loads.at(state.bank_V) + plant.idle_A - offered.at(state.bank_V)
        return ops.maximum(short_A + bank.leak_A, 0.0) * (step_h / plant.bank.capacity_Ah)

    engine = engine_in(
        state,
        row,
        soc=bank.soc,
        falls_soc=falls_soc,
        plant=plant,
        switches=switches,
        step_h=step_h,
        ops=ops,
    )
    alternator = alternator_charger(state, row, engine=engine, plant=plant, ops=ops)
    ohm_in = charging_ohm(bank=bank, chargers=[*free, *alternator], ops=ops)
    dark, sag_V = goes_dark(
        state,
        row,
        bank=bank,
        ohm_in=ohm_in,
        plant=plant,
        wanted=wanted,
        chargers=[*free, *turning_partly(alternator, engine.turning, ops=ops)],
        ops=ops,
    )
    served = 1.0 - dark if ops.any(dark) else 1.0
    loads = Draw(wanted.loads.amps * served + plant.idle_A, wanted.loads.watts * served)

    def settled(alternator):
        """The bus with this alternator, what each source gives, and what it does to the bank."""
        chargers = [*free, *alternator]
        met = meet(bank=bank, ohm_in=ohm_in, chargers=chargers, loads=loads, served=served, ops=ops)
        load_A = met.loads.at(met.bank_V)
        given_A = shared_A(
            (solar, wind, water, shore, alternator),
            volts=met.bank_V,
            needed_A=met.net_A + load_A,
            ops=ops,
        )
        in_A = ops.maximum(met.net_A, 0.0)
        # A full bank has no room even for the least current that is divided by.
        stored_A = ops.minimum(bank.stays * in_A, bank.room_A)
        return met, load_A, given_A, in_A, in_A - met.net_A, stored_A

    met, load_A, given_A, in_A, out_A, stored_A = settled(alternator)
    turning_V, turning_A, turning_into_A = met.bank_V, given_A[-1], stored_A
    if engine is not IDLE:
        engine = stopping(
            engine,
            row,
            soc=bank.soc,
            falls_soc=falls_soc,
            rises_soc=(stored_A - out_A - bank.leak_A) * (step_h / plant.bank.capacity_Ah),
            rule=plant.rule,
            ops=ops,
        )
        partly = (engine.turning < 1.0) & (engine.offered_A > 0.0)
        if ops.any(partly):
            # It turns for part of the step and gives that part of what it would give in all.
            partly_A = ops.where(partly, engine.turning * turning_A, engine.offered_A)
            alternator = [alternator[0]._replace(offer=Draw(partly_A, 0.0))]
            met, load_A, given_A, in_A, out_A, stored_A = settled(alternator)
    solar_A, wind_A, water_A, shore_A, alternator_A = given_A
    bank_V = met.bank_V

    # The bank after it.
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
        held=bool(row.others) and held_full(state, soc=soc),
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
        sag_V=lowest_V(state, dark=dark, sag_V=sag_V, bank_V=bank_V, plant=plant, ops=ops),
        solar_A=solar_A,
        solar_offered_A=total_of([charger.offer for charger in solar]).at(bank_V),
        alternator_A=alternator_A,
        alternator_offered_A=engine.offered_A * engine.turning,
        load_A=load_A,
        in_A=in_A,
        out_A=out_A,
        gassing_A=in_A - stored_A,
        self_discharge_A=bank.leak_A,
        ohm=met.ohm,
        total_Ah=total_Ah,
        available_Ah=available_Ah,
        served=met.served,
        useful_on=1.0 - wanted.useful_shed,
        comfort_on=1.0 - wanted.comfort_shed,
        dark=dark,
        charging=engine.charging,
        for_full=engine.run.for_full,
        motoring=engine.motoring,
        charging_L=fuel.charging_L,
        motoring_L=fuel.motoring_L,
        alternator_motoring_L=fuel.alternator_motoring_L,
        heater_L=heater_L,
        fuel_short_L=state.burnt_L + wanted_L - burnt_L,
        since_full_h=since_full_h,
        wind_A=wind_A,
        water_A=water_A,
        shore_A=shore_A,
        wind_water_offered_A=(
            total_of([charger.offer for charger in (*wind, *water)]).at(bank_V)
            if wind or water
            else 0.0
        ),
    )
    running, run_h, stopped_h = after_run(state, engine, row=row, step_h=step_h, ops=ops)
    after = State(
        total_Ah=total_Ah,
        available_Ah=available_Ah,
        bank_V=bank_V,
        alternator_A=turning_A,
        dark=dark,
        comfort_shed=wanted.comfort_shed,
        useful_shed=wanted.useful_shed,
        turning=running | (engine.motoring > 0.0),
        running=running,
        for_full=engine.run.for_full,
        run_h=run_h,
        stopped_h=stopped_h,
        alternator_absorbed_h=absorbed_h(state, row, engine=engine, volts=turning_V, step_h=step_h),
        floating=(state.floating | full) & bool(solar),
        tail_h=tail_h,
        since_full_h=since_full_h,
        burnt_L=burnt_L,
        by_order=running & (row.ordered > 0.0) if ops.any(row.ordered > 0.0) else False,
        into_A=turning_into_A,
        others_floating=bool(row.others) and stays_floating(state, full=full, soc=soc),
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

    def stacked(column):
        if members == (1,):
            return np.array(column, dtype=float).reshape(len(done), -1)
        table = np.empty((len(done), *members))
        for row, value in zip(table, column, strict=True):
            row[...] = value
        return table

    return Flows(*map(stacked, zip(*done, strict=True))), states
