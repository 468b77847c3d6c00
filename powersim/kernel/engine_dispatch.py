"""The engine in a step: whether it runs, what its alternator offers, what it burns."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from powersim.kernel.bank_now import LEAST_A
from powersim.kernel.readings import seeming_soc
from powersim.kernel.rules import Run, engine_runs, run_ends
from powersim.physics.alternator import offered_A
from powersim.physics.engine import belt_fuel_L, charging_fuel_L, motoring_fuel_L, shaft_W

if TYPE_CHECKING:
    from powersim.kernel.plant import Plant, Rule
    from powersim.kernel.state import MemberState, Switches
    from powersim.kernel.step_signals import StepSignals

#: How close to its setpoint a regulator counts as holding it. [V]
_HOLDING_V = 0.02


class EngineStep(NamedTuple):
    """The engine in a step: its charging run, in gear for how long, what it offers.

    `charging` is the share of the step for which it may run at rest, as `run` has it before the
    bank is asked, and `turning` that in which it turns, at rest or in gear; `offered_A` holds
    while it does. `waits` is the share for which it would charge if the sea let anybody run it.
    """

    run: Run
    charging: float
    motoring: float
    turning: float
    offered_A: float
    waits: float


class FuelStep(NamedTuple):
    """Litres burnt in a step, by ledger."""

    charging_L: float
    motoring_L: float
    alternator_motoring_L: float


def engine_in(
    *,
    state: MemberState,
    row: StepSignals,
    soc: float,
    falls_soc: float,
    plant: Plant,
    switches: Switches,
    step_h: float,
) -> EngineStep:
    """What the engine does: in gear as the passage says, else as the charging rule says.

    Parameters
    ----------
    state : State
        As the step begins.
    row : StepSignals
        Signals of the step.
    soc : float
        State of charge. [-]
    falls_soc : float
        By how much it would fall in the step with the engine off. [-]
    plant : Plant
        The boat's constants.
    switches : Switches
        What works.
    step_h : float
        Length of the step. [h]

    Returns
    -------
    EngineStep
        Whether it runs, for how much of the step, and what the alternator offers.
    """
    turns = (
        state.burnt_L < plant.usable_L
        and switches.engine > 0.0
        and (state.turning or soc >= plant.start_above_soc)
    )
    motoring = row.motoring if turns else 0.0
    # A run that the bank can take nothing of, for cold, does not begin, and one that has ends.
    warm = plant.runs_in_the_cold or row.takes_charge > 0.0
    excites = plant.charges_flat_bank or not state.dark
    run = engine_runs(
        state=state,
        soc=seeming_soc(state, soc=soc, rule=plant.rule),
        falls_soc=falls_soc,
        row=row,
        able=turns and switches.alternator > 0.0 and warm and excites,
        rule=plant.rule,
        tail_A=plant.tail_A,
        step_h=step_h,
    )
    charging = charging_share(run, row=row, motoring=motoring)
    waits = 0.0
    if charging > 0.0 and not row.sea_lets > 0.0:
        # What is due stays due; a run that has begun ends here, as if it had never been longer.
        waits, charging = charging, 0.0
        run = Run(False, False, 0.0, 0.0, 0.0, run.due)
    turning = charging + motoring
    offer_A = 0.0
    if turning > 0.0 and excites:
        in_gear = motoring / (turning if turning > LEAST_A else LEAST_A)
        offer_A = switches.alternator * offered_A(
            plant.alternator, motoring=in_gear, charging=1.0 if run.runs else 0.0
        )
    return EngineStep(run, charging, motoring, turning, offer_A, waits)


def charging_share(run: Run, *, row: StepSignals, motoring: float) -> float:
    """Share of a step in which the engine charges at rest.

    Parameters
    ----------
    run : Run
        What the rule has decided.
    row : StepSignals
        For what a timetable orders.
    motoring : float
        Share in which it is in gear. [-]

    Returns
    -------
    float
        0 to 1. [-]
    """
    if not run.runs:
        return 0.0
    share = run.last - run.first
    if row.ordered > share:
        share = row.ordered
    return share if share < 1.0 - motoring else 1.0 - motoring


def stopping(
    engine: EngineStep,
    *,
    state: MemberState,
    row: StepSignals,
    soc: float,
    falls_soc: float,
    rises_soc: float,
    rule: Rule,
) -> EngineStep:
    """The same engine with its charging run ended where the bank has what the rule wants.

    Parameters
    ----------
    engine : EngineStep
        As `engine_in` has it.
    state : State
        As the step began.
    row : StepSignals
        Signals of the step.
    soc : float
        State of charge as the step began. [-]
    falls_soc : float
        By how much it would fall in the step with the engine off. [-]
    rises_soc : float
        By how much it would rise in the whole step with the engine on. [-]
    rule : Rule
        The charging rule.

    Returns
    -------
    EngineStep
        The same one where no run ends in this step.
    """
    run = engine.run
    if not run.runs:
        return engine
    shown = seeming_soc(state, soc=soc, rule=rule)
    ends = run_ends(run, soc=shown, falls_soc=falls_soc, rises_soc=rises_soc, rule=rule)
    run = Run(run.runs, run.for_full, run.first, run.least, ends, run.due)
    charging = charging_share(run, row=row, motoring=engine.motoring)
    turning = charging + engine.motoring
    return EngineStep(run, charging, engine.motoring, turning, engine.offered_A, engine.waits)


def setpoint_V(*, state: MemberState, row: StepSignals, plant: Plant) -> float:
    """The voltage that the alternator's regulator holds at the bank.

    Parameters
    ----------
    state : State
        As the step begins.
    row : StepSignals
        Signals of the step.
    plant : Plant
        For the regulator.

    Returns
    -------
    float
        At the bank. [V]
    """
    if state.alternator_absorbed_h >= plant.alternator.absorption_h:
        return row.alternator_float_V
    return row.alternator_absorption_V


def absorbed_h(
    *, state: MemberState, row: StepSignals, engine: EngineStep, volts: float, step_h: float
) -> float:
    """How long the regulator has held absorption in this run.

    Parameters
    ----------
    state : State
        As the step begins.
    row : StepSignals
        Signals of the step.
    engine : EngineStep
        What the engine does.
    volts : float
        Bank voltage while it turns.
    step_h : float
        Length of the step. [h]

    Returns
    -------
    float
        After the step. [h]
    """
    if not engine.offered_A > 0.0:
        return 0.0
    if volts >= row.alternator_absorption_V - _HOLDING_V:
        return state.alternator_absorbed_h + step_h * engine.turning
    return state.alternator_absorbed_h


def fuel_in(
    engine: EngineStep, *, alternator_A: float, bank_V: float, plant: Plant, step_h: float
) -> FuelStep:
    """What the engine burns in a step, the alternator's share by what it is burnt for.

    Parameters
    ----------
    engine : EngineStep
        What it does.
    alternator_A : float
        What the alternator delivers. [A]
    bank_V : float
        At this voltage. [V]
    plant : Plant
        The boat's constants.
    step_h : float
        Length of the step. [h]

    Returns
    -------
    FuelStep
        What it burns, and what of that is for the alternator.
    """
    if engine.turning <= 0.0:  # what is not a number goes on, for the books to find
        return FuelStep(0.0, 0.0, 0.0)
    alternator = plant.alternator
    shaft_Wh = step_h * shaft_W(
        current_A=alternator_A,
        bank_V=bank_V,
        drop_V=alternator.cable_drop_V,
        efficiency_frac=alternator.efficiency_frac,
    )
    in_gear_A = engine.motoring * alternator.motoring_A
    made_A = in_gear_A + engine.charging * alternator.charging_A
    in_gear_frac = in_gear_A / (made_A if made_A > LEAST_A else LEAST_A)
    return FuelStep(
        charging_fuel_L(
            run_h=engine.charging * step_h,
            burn_L_per_h=plant.burn_L_per_h,
            shaft_Wh=shaft_Wh * (1.0 - in_gear_frac),
            slope_L_per_kWh=plant.charging_slope_L_per_kWh,
        ),
        motoring_fuel_L(run_h=engine.motoring * step_h, burn_L_per_h=plant.motoring_L_per_h),
        belt_fuel_L(shaft_Wh=shaft_Wh * in_gear_frac, slope_L_per_kWh=plant.slope_L_per_kWh),
    )


def running_time_h(
    state: MemberState, *, engine: EngineStep, running: bool, step_h: float
) -> float:
    """How long the engine has charged in this run as a step ends.

    Parameters
    ----------
    state : State
        As it began.
    engine : EngineStep
        In the step.
    running : bool
        Whether it charges as the step ends.
    step_h : float
        Length of the step. [h]

    Returns
    -------
    float
        0 where it does not. [h]
    """
    if not running:
        return 0.0
    return (state.run_h if state.running else 0.0) + step_h * engine.charging


def stopped_time_h(stopped_h: float, *, run: Run, running: bool, step_h: float) -> float:
    """How long the engine has not charged as a step ends.

    Parameters
    ----------
    stopped_h : float
        As it began. [h]
    run : Run
        In the step.
    running : bool
        Whether it charges as the step ends.
    step_h : float
        Length of the step. [h]

    Returns
    -------
    float
        0 where it charges as the step ends. [h]
    """
    if running:
        return 0.0
    return step_h * (1.0 - run.last) if run.runs else stopped_h + step_h
