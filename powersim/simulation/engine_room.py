"""The engine in a step: whether it runs, what its alternator offers, what it burns."""

from __future__ import annotations

from typing import NamedTuple

from powersim.physics.alternator import offered_A
from powersim.physics.engine import belt_fuel_L, charging_fuel_L, motoring_fuel_L, shaft_W
from powersim.simulation.bus import LEAST_A, Charger, Draw
from powersim.simulation.rules import engine_runs

#: How close to its setpoint a regulator counts as holding it. [V]
_HOLDING_V = 0.02


class Engine(NamedTuple):
    """The engine in a step: whether it charges at rest, in gear for how long, what it offers."""

    runs: bool
    for_full: bool
    charging: float
    motoring: float
    offered_A: float


class Fuel(NamedTuple):
    """Litres burnt in a step, by ledger."""

    charging_L: float
    motoring_L: float
    alternator_motoring_L: float


IDLE = Engine(False, False, 0.0, 0.0, 0.0)
NO_FUEL = Fuel(0.0, 0.0, 0.0)


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
    if not in_gear and not ops.any(row.may_run) and not ops.any(row.ordered):
        return IDLE
    turns = (state.burnt_L < plant.usable_L) & switches.engine
    turns = turns & (state.turning | (soc >= plant.start_above_soc))
    motoring = row.motoring * turns if in_gear else 0.0
    # A run that the bank can take nothing of, for cold, does not begin, and one that has ends.
    warm = plant.runs_in_the_cold | (row.takes_charge > 0.0)
    able = turns & (switches.alternator > 0.0) & warm
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
        Bank voltage in the step.
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
    return (state.alternator_absorbed_h + step_h * holds) * (engine.offered_A > 0.0)


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
