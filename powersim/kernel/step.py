"""One step: one bank, its loads and its chargers, from one moment to the next.

Plain functions of floats with ordinary `if`s. For one member they run as they are; for many they
are compiled (compiling.py) and give the same numbers to the last bit. Each decision sees the state
as the step began.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from powersim.kernel.bank_now import Taking, bank_as, taking_as
from powersim.kernel.bus import (
    Bus,
    Draw,
    add_charger,
    at_volts,
    charging_ohm,
    meet,
    offered_A,
    share_out,
)
from powersim.kernel.chargers import (
    ALTERNATOR,
    FIRST_OTHER_A,
    LEAVES_SURPLUS,
    OTHERS,
    SOLAR,
    ChargerConstants,
    Offer,
    lay_chargers,
)
from powersim.kernel.engine_dispatch import (
    absorbed_h,
    engine_in,
    fuel_in,
    running_time_h,
    setpoint_V,
    stopped_time_h,
    stopping,
)
from powersim.kernel.flows import (
    ALTERNATOR_A,
    ALTERNATOR_MOTORING_L,
    ALTERNATOR_OFFERED_A,
    AVAILABLE_AH,
    BANK_V,
    BURNT_L,
    CHARGING,
    CHARGING_L,
    COMFORT_ON,
    DARK,
    FOR_FULL,
    FUEL_SHORT_L,
    GASSING_A,
    HEATER_L,
    IN_A,
    LOAD_A,
    MOTORING,
    MOTORING_L,
    OHM,
    OTHERS_OFFERED_A,
    OUT_A,
    PACK_W,
    PACK_WH,
    SAG_V,
    SELF_DISCHARGE_A,
    SERVED,
    SINCE_FULL_H,
    SOC,
    SOLAR_A,
    SOLAR_OFFERED_A,
    TOTAL_AH,
    UNSERVED_A,
    USEFUL_ON,
    WAITS,
)
from powersim.kernel.load_shedding import goes_dark, loads_in, lowest_V, unserved_A
from powersim.kernel.pack import pack_after_Wh
from powersim.kernel.readings import due_after, sun_since_reading_Ah
from powersim.kernel.rules import full_after, held_full, stays_floating, tail_time_h
from powersim.kernel.state import MemberState, State, Switches
from powersim.kernel.step_signals import StepSignals
from powersim.physics.bank import available_after_Ah, soc_of

if TYPE_CHECKING:
    from powersim.kernel.plant import Plant
    from powersim.records.arrays import Readable, Writable


def step_of(
    state: MemberState,
    row: StepSignals,
    offers: Readable[Offer],
    *,
    plant: Plant,
    switches: Switches,
    chargers: Readable[ChargerConstants],
    bus: Bus,
    flow: Writable[float],
    step_h: float,
) -> MemberState:
    """One step: the state after it, and what happened in it.

    Parameters
    ----------
    state : State
        As the step begins.
    row : StepSignals
        Signals of the step.
    offers : sequence of Offer
        What each charger has in it.
    plant : Plant
        The boat's constants.
    switches : Switches
        What works and what is wanted.
    chargers : sequence of ChargerConstants
        In the order in which they are used.
    bus : Bus
        With a place more than there are chargers; written over.
    flow : list of float or ndarray, shape (flows,)
        Written, in the order of flows.Flows.
    step_h : float
        Length of the step. [h]

    Returns
    -------
    State
        As the step ends.
    """
    bank = bank_as(state=state, row=row, plant=plant, step_h=step_h)
    wanted = loads_in(
        state=state, row=row, soc=bank.soc, plant=plant, switches=switches, step_h=step_h
    )
    # The sun comes first: where the last charger is another, there are others.
    others = len(chargers) > 0 and chargers[len(chargers) - 1].source != SOLAR
    free = lay_chargers(bus, chargers=chargers, offers=offers, state=state, switches=switches)
    soc_per_A = step_h / plant.bank.capacity_Ah
    falls_soc = 0.0
    if row.may_run > 0.0:
        idle_A = plant.idle_A - offered_A(bus, free, volts=state.bank_V)
        short_A = at_volts(wanted.loads, state.bank_V) + idle_A + bank.leak_A
        falls_soc = short_A * soc_per_A if short_A > 0.0 else 0.0
    engine = engine_in(
        state=state,
        row=row,
        soc=bank.soc,
        falls_soc=falls_soc,
        plant=plant,
        switches=switches,
        step_h=step_h,
    )
    count = free
    if engine.offered_A > 0.0:
        count = add_charger(
            bus,
            free,
            source=ALTERNATOR,
            setpoint_V=setpoint_V(state=state, row=row, plant=plant),
            amps=engine.offered_A,
            watts=0.0,
        )
    taking = Taking(1.0, 0.0, 0.0, 0.0)  # nobody charges
    ohm_in = 0.0
    if count > 0:
        taking = taking_as(bank, state=state, row=row, plant=plant, step_h=step_h)
        ohm_in = charging_ohm(bus, count, bank=bank, taking=taking)
    if engine.offered_A > 0.0 and engine.turning < 1.0:
        bus.amps[free] = engine.offered_A * engine.turning  # what it gives on average
    dark, sag_V = goes_dark(
        bus, count, state=state, row=row, bank=bank, ohm_in=ohm_in, plant=plant, wanted=wanted
    )
    on = 0.0 if dark else 1.0
    loads = Draw(wanted.loads.amps * on + plant.idle_A, wanted.loads.watts * on)
    if engine.offered_A > 0.0:
        bus.amps[free] = engine.offered_A

    turning_V = turning_A = turning_into_A = ammeter_A = 0.0
    again = False
    while True:
        # The bus, what each source gives, and what it does to the bank.
        met = meet(bus, count, bank=bank, ohm_in=ohm_in, loads=loads, least_V=plant.least_V)
        bank_V = met.bank_V
        load_A = met.share * at_volts(loads, bank_V)
        share_out(bus, count, volts=bank_V, needed_A=met.net_A + load_A)
        in_A = met.net_A if met.net_A > 0.0 else 0.0
        out_A = in_A - met.net_A
        stored_A = taking.stays * in_A
        if stored_A > taking.room_A:
            stored_A = taking.room_A  # a full bank has no room even for the least current
        if again:
            break
        turning_V, turning_into_A, ammeter_A = bank_V, stored_A, in_A
        if not engine.turning > 0.0:
            break
        turning_A = bus.taken_A[free] if engine.offered_A > 0.0 else 0.0
        engine = stopping(
            engine,
            state=state,
            row=row,
            soc=bank.soc,
            falls_soc=falls_soc,
            rises_soc=(stored_A - out_A - bank.leak_A) * soc_per_A,
            rule=plant.rule,
        )
        if not (engine.turning < 1.0 and engine.offered_A > 0.0):
            break
        # It turns for part of the step and gives that part of what it would give in all.
        bus.amps[free] = engine.turning * turning_A
        again = True

    # The bank after it.
    drawn_A = out_A + bank.leak_A - stored_A
    total_Ah = state.total_Ah - drawn_A * step_h
    available_Ah = available_after_Ah(plant.bank, state.total_Ah, state.available_Ah, drawn_A)
    soc = soc_of(plant.bank, total_Ah)
    held = others and held_full(state, soc=soc)
    tail_h = tail_time_h(
        tail_h=state.tail_h,
        step_h=step_h,
        volts=bank_V,
        full_V=row.full_V,
        into_A=in_A,
        tail_A=plant.tail_A,
        soc=soc,
        held=held,
    )
    full = full_after(tail_h)
    since_full_h = 0.0 if full else state.since_full_h + step_h

    alternator_A = bus.taken_A[free] if engine.offered_A > 0.0 else 0.0
    fuel = fuel_in(engine, alternator_A=alternator_A, bank_V=bank_V, plant=plant, step_h=step_h)
    served = met.share * on
    heater_L = wanted.heater_L * served
    pack_W = wanted.pack_W * served
    pack_Wh = pack_after_Wh(plant.pack, pack_Wh=state.pack_Wh, taken_W=pack_W, step_h=step_h)
    fuel_L = fuel.charging_L + fuel.motoring_L + fuel.alternator_motoring_L + heater_L
    burnt_L = state.burnt_L + fuel_L
    fuel_short_L = 0.0
    if burnt_L > plant.usable_L:
        fuel_short_L = burnt_L - plant.usable_L
        burnt_L = plant.usable_L

    solar = False
    solar_A = solar_offer_A = others_offer_A = 0.0
    for other in range(FIRST_OTHER_A, FIRST_OTHER_A + OTHERS):
        flow[other] = 0.0
    for place in range(free):
        taken_A = bus.taken_A[place]
        offer_A = bus.amps[place] + bus.watts[place] / bank_V
        source = bus.source[place]
        if source == SOLAR:
            solar = True
            solar_A = solar_A + taken_A
            solar_offer_A = solar_offer_A + offer_A
        else:
            other = FIRST_OTHER_A + source - 1
            flow[other] = flow[other] + taken_A
            if LEAVES_SURPLUS[source]:
                others_offer_A = others_offer_A + offer_A
    useful_on = 0.0 if wanted.useful_shed else 1.0
    comfort_on = 0.0 if wanted.comfort_shed else 1.0

    flow[SOC] = soc
    flow[BANK_V] = bank_V
    flow[SAG_V] = lowest_V(state=state, dark=dark, sag_V=sag_V, bank_V=bank_V, plant=plant)
    flow[SOLAR_A] = solar_A
    flow[SOLAR_OFFERED_A] = solar_offer_A
    flow[ALTERNATOR_A] = alternator_A
    flow[ALTERNATOR_OFFERED_A] = engine.offered_A * engine.turning
    flow[LOAD_A] = load_A
    flow[IN_A] = in_A
    flow[OUT_A] = out_A
    flow[GASSING_A] = in_A - stored_A
    flow[SELF_DISCHARGE_A] = bank.leak_A
    flow[OHM] = met.ohm
    flow[TOTAL_AH] = total_Ah
    flow[AVAILABLE_AH] = available_Ah
    flow[SERVED] = served
    flow[USEFUL_ON] = useful_on
    flow[COMFORT_ON] = comfort_on
    flow[DARK] = 1.0 if dark else 0.0
    flow[CHARGING] = engine.charging
    flow[FOR_FULL] = 1.0 if engine.run.for_full else 0.0
    flow[MOTORING] = engine.motoring
    flow[CHARGING_L] = fuel.charging_L
    flow[MOTORING_L] = fuel.motoring_L
    flow[ALTERNATOR_MOTORING_L] = fuel.alternator_motoring_L
    flow[HEATER_L] = heater_L
    flow[FUEL_SHORT_L] = fuel_short_L
    flow[SINCE_FULL_H] = since_full_h
    flow[OTHERS_OFFERED_A] = others_offer_A
    flow[UNSERVED_A] = unserved_A(
        row=row,
        groups=switches.groups,
        served=served,
        useful_on=useful_on,
        comfort_on=comfort_on,
        bank_V=bank_V,
    )
    flow[BURNT_L] = burnt_L
    flow[WAITS] = engine.waits
    flow[PACK_W] = pack_W
    flow[PACK_WH] = pack_Wh

    run = engine.run
    running = run.runs and (run.last >= 1.0 or row.ordered > 0.0)
    # Beforehand, since compiled code wants no `and` among so many named arguments.
    turning = running or engine.motoring > 0.0
    floating = solar and (state.floating or full)
    others_floating = others and stays_floating(state, full=full, soc=soc)
    by_order = running and row.ordered > 0.0
    return State(
        total_Ah=total_Ah,
        available_Ah=available_Ah,
        bank_V=bank_V,
        alternator_A=turning_A,
        dark=dark,
        comfort_shed=wanted.comfort_shed,
        useful_shed=wanted.useful_shed,
        turning=turning,
        running=running,
        for_full=run.for_full,
        run_h=running_time_h(state, engine=engine, running=running, step_h=step_h),
        stopped_h=stopped_time_h(state.stopped_h, run=run, running=running, step_h=step_h),
        alternator_absorbed_h=absorbed_h(
            state=state, row=row, engine=engine, volts=turning_V, step_h=step_h
        ),
        floating=floating,
        tail_h=tail_h,
        since_full_h=since_full_h,
        burnt_L=burnt_L,
        into_A=turning_into_A,
        others_floating=others_floating,
        by_order=by_order,
        ammeter_A=ammeter_A,
        due=due_after(runs=run.runs, due=run.due, ordered=row.ordered),
        sun_Ah=sun_since_reading_Ah(state, row=row, solar_A=solar_A, step_h=step_h),
        pack_Wh=pack_Wh,
    )
