"""The engine in a step: whether it runs, what its alternator offers, what it burns."""

from __future__ import annotations

from typing import NamedTuple

from powersim.physics.alternator import offered_A
from powersim.physics.engine import belt_fuel_L, charging_fuel_L, motoring_fuel_L, shaft_W
from powersim.simulation.bus import LEAST_A, Charger, Draw
from powersim.simulation.rules import NO_RUN, Run, engine_runs, run_ends

#: How close to its setpoint a regulator counts as holding it. [V]
_HOLDING_V = 0.02


class Engine(NamedTuple):
    """The engine in a step: its charging run, in gear for how long, what it offers.

    `charging` is the share of the step for which it may run at rest, as `run` has it before the
    bank is asked; `offered_A` holds while it turns, at rest or in gear.
    """

    run: Run
    charging: float
    motoring: float
    offered_A: float

    @property
    def turning(self):
        """Share of the step in which it turns. [-]"""
        return self.charging + self.motoring


class Fuel(NamedTuple):
    """Litres burnt in a step, by ledger."""

    charging_L: float
    motoring_L: float
    alternator_motoring_L: float


IDLE = Engine(NO_RUN, 0.0, 0.0, 0.0)
NO_FUEL = Fuel(0.0, 0.0, 0.0)


def engine_in(state, row, *, soc, falls_soc, plant, switches, step_h, ops) -> Engine:
    """What the engine does: in gear as the passage says, else as the charging rule says.

    Parameters
    ----------
    state : State
        As the step begins.
    row : Row
        Signals of the step.
    soc : float or ndarray, shape (members,)
        State of charge. [-]
    falls_soc : callable
        Gives by how much it would fall in the step with the engine off; asked only if it counts.
    plant : Plant
        The boat's constants.
    switches : Switches
        What works.
    step_h : float
        Length of the step. [h]
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    Engine
    """
    in_gear = ops.any(row.motoring > 0.0)
    by_rule = ops.any(row.may_run)
    if not in_gear and not by_rule and not ops.any(row.ordered > 0.0):
        return IDLE
    turns = (state.burnt_L < plant.usable_L) & switches.engine
    turns = turns & (state.turning | (soc >= plant.start_above_soc))
    motoring = row.motoring * turns if in_gear else 0.0
    # A run that the bank can take nothing of, for cold, does not begin, and one that has ends.
    warm = plant.runs_in_the_cold | (row.takes_charge > 0.0)
    able = turns & (switches.alternator > 0.0) & warm
    excites = plant.charges_flat_bank | ops.logical_not(state.dark)
    run = engine_runs(
        state=state,
        soc=soc,
        falls_soc=falls_soc() if by_rule else 0.0,
        row=row,
        able=able & excites,
        rule=plant.rule,
        tail_A=plant.tail_A,
        step_h=step_h,
        ops=ops,
    )
    if not in_gear and not ops.any(run.runs):
        return IDLE
    share = ops.maximum(run.last - run.first, row.ordered)
    charging = run.runs * ops.minimum(share, 1.0 - motoring)
    turning = ops.maximum(charging + motoring, LEAST_A)
    offer_A = offered_A(plant.alternator, motoring=motoring / turning, charging=run.runs)
    return Engine(
        run=run,
        charging=charging,
        motoring=motoring,
        offered_A=offer_A * (charging + motoring > 0.0) * excites * switches.alternator,
    )


def stopping(engine, row, *, soc, falls_soc, rises_soc, rule, ops) -> Engine:
    """The same engine with its charging run ended where the bank has what the rule wants.

    Parameters
    ----------
    engine : Engine
    row : Row
        Signals of the step.
    soc : float or ndarray, shape (members,)
        State of charge as the step began. [-]
    falls_soc : callable
        As for `engine_in`.
    rises_soc : float or ndarray, shape (members,)
        By how much it would rise in the whole step with the engine on. [-]
    rule : Rule
        The charging rule.
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    Engine
        The same one where no run ends in this step.
    """
    run = engine.run
    if not ops.any(run.runs):
        return engine
    ends = run_ends(
        run,
        soc=soc,
        falls_soc=falls_soc() if ops.any(run.first > 0.0) else 0.0,
        rises_soc=rises_soc,
        rule=rule,
        ops=ops,
    )
    share = ops.maximum(ends - run.first, row.ordered)
    return engine._replace(
        run=run._replace(last=ends),
        charging=run.runs * ops.minimum(share, 1.0 - engine.motoring),
    )


def alternator_charger(state, row, *, engine, plant, ops):
    """The alternator as a list of one charger, or of none when it stands still.

    Parameters
    ----------
    state : State
        As the step begins.
    row : Row
        Signals of the step.
    engine : Engine
        What the engine does.
    plant : Plant
        For the regulator.
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    list of Charger
    """
    if engine is IDLE:
        return []
    setpoint_V = ops.where(
        state.alternator_absorbed_h >= plant.alternator.absorption_h,
        row.alternator_float_V,
        row.alternator_absorption_V,
    )
    return [Charger(setpoint_V, Draw(engine.offered_A, 0.0))]


def turning_partly(alternator, turning, *, ops):
    """The alternator as it is on average in a step of which the engine turns in a part.

    Parameters
    ----------
    alternator : list of Charger
        From `alternator_charger`.
    turning : float or ndarray, shape (members,)
        Share of the step. [-]
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    list of Charger
        The same one where it turns in all of it.
    """
    if not alternator or not ops.any(turning < 1.0):
        return alternator
    return [charger._replace(offer=charger.offer.times(turning)) for charger in alternator]


def after_run(state, engine, *, row, step_h, ops):
    """Whether the engine still charges as a step ends, for how long it has, or has not.

    Parameters
    ----------
    state : State
        As the step began.
    engine : Engine
        From `stopping`.
    row : Row
        Signals of the step.
    step_h : float
        Length of the step. [h]
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    tuple of (bool, float, float), or of ndarray, shape (members,)
        Running; the run's time so far; the time since the last one. [-], [h], [h]
    """
    run = engine.run
    running = run.runs & ((run.last >= 1.0) | (row.ordered > 0.0))
    stopped_h = ops.where(run.runs, step_h * (1.0 - run.last), state.stopped_h + step_h)
    run_h = ops.where(state.running, state.run_h, 0.0) + step_h * engine.charging
    return running, run_h * running, stopped_h * ops.logical_not(running)


def absorbed_h(state, row, *, engine, volts, step_h):
    """How long the regulator has held absorption in this run.

    Parameters
    ----------
    state : State
        As the step begins.
    row : Row
        Signals of the step.
    engine : Engine
        What the engine does.
    volts : float or ndarray, shape (members,)
        Bank voltage while it turns.
    step_h : float
        Length of the step. [h]

    Returns
    -------
    float or ndarray, shape (members,)
        After the step. [h]
    """
    if engine is IDLE:
        return 0.0
    holds = volts >= row.alternator_absorption_V - _HOLDING_V
    return (state.alternator_absorbed_h + step_h * engine.turning * holds) * (
        engine.offered_A > 0.0
    )


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
    in_gear_frac = in_gear_A / ops.maximum(in_gear_A + at_rest_A, LEAST_A)
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
