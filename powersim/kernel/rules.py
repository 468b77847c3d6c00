"""The decisions of a step: run the engine or not, which loads go, what stage a charger is in.

Each is a function of the state and the step.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from powersim.kernel.readings import NOT_DUE, TO_FULL, due_by_reading

if TYPE_CHECKING:
    from powersim.kernel.plant import Rule
    from powersim.kernel.state import MemberState
    from powersim.kernel.step_signals import StepSignals

#: A run to a full charge is not tried again sooner, so that one bad day costs one run. [h]
HOURS_BETWEEN_FULL_RUNS = 20.0
#: Time that a small current at absorption voltage must last before it counts as full (design:
#: common practice, no source). [h]
TAIL_TIME_h = 1.0
#: Charge without which no tail current counts as full: a cold bank takes little at any charge. [-]
LEAST_FULL_SOC = 0.97
#: Charge down to which a bank that is held on float after it was full stays full (common practice,
#: no source: nobody could tell what is missing). [-]
HELD_FULL_SOC = 0.99
#: Charge below which a charger that was down to float goes back to absorption (common practice, no
#: source: by volts, which the load moves, aboard). [-]
REBULK_SOC = 0.95
#: Rounding slack when adding up step lengths. [h]
_SLACK_h = 1e-9
#: A change of charge or a share of a step that is too small to count. [-]
_NOTHING = 1e-9
_NEVER_h = float("inf")


class Run(NamedTuple):
    """A charging run in a step, whose edges lie anywhere within it.

    `first`, `least` and `last` are shares of the step that have gone when it begins, before it may
    end, and when it must have ended. `due` is what the last reading of the bank has asked for.
    """

    runs: bool
    for_full: bool
    first: float
    least: float
    last: float
    due: float


def engine_runs(
    *,
    state: MemberState,
    soc: float,
    falls_soc: float,
    row: StepSignals,
    able: bool,
    rule: Rule,
    tail_A: float,
    step_h: float,
) -> Run:
    """Whether the engine charges at rest in this step, from when on, and between which ends.

    Parameters
    ----------
    state : State
        As the step began.
    soc : float
        State of charge as the step began. [-]
    falls_soc : float
        By how much it would fall in the whole step with the engine off; 0 where it rises. [-]
    row : StepSignals
        Signals of the step.
    able : bool
        Whether it could run: fuel, a way to start, a bank that excites the alternator.
    rule : Rule
        Start, stop, shortest, longest, and how often full.
    tail_A : float
        Current of the alternator below which a run to full gains nothing more. [A]
    step_h : float
        Length of the step. [h]

    Returns
    -------
    Run
        Whether it runs, why, and for how long.

    Notes
    -----
    A run begins where charge crosses the level within the step, where a full charge falls due, or
    where the hours open, so that an answer does not hang on where the steps' edges lie. Where the
    bank is read at set times, one begins as soon as it may after a reading has asked for it.
    """
    ordered = row.ordered > 0.0
    due = state.due
    if rule.at_readings > 0.0 and row.reads > 0.0:
        due = due_by_reading(state, soc=soc, row=row, rule=rule)
    if not able or not row.motoring < 1.0 or not (row.may_run or ordered):
        return Run(False, False, 0.0, 0.0, 0.0, due)
    # What a timetable began the rule does not go on with, unless it would begin there itself.
    goes_on = state.running and not state.by_order
    run_h = state.run_h if goes_on else 0.0
    full_h = rule.full_every_h - state.since_full_h
    if HOURS_BETWEEN_FULL_RUNS - state.stopped_h > full_h:
        full_h = HOURS_BETWEEN_FULL_RUNS - state.stopped_h
    first_h = 0.0
    if goes_on:
        by_rule = keeps_on(state=state, soc=soc, run_h=run_h, row=row, rule=rule, tail_A=tail_A)
        for_full = state.for_full
    else:
        if rule.at_readings > 0.0:
            first_h = 0.0 if due > NOT_DUE else _NEVER_h
            full_h = 0.0 if due == TO_FULL else _NEVER_h
        else:
            first_h = level_h(soc=soc, falls_soc=falls_soc, rule=rule, step_h=step_h)
        if full_h < first_h:
            first_h = full_h
        if row.opens_h > first_h:
            first_h = row.opens_h
        for_full = full_h <= first_h + _SLACK_h
        shortest_h = rule.full_shortest_h if for_full else rule.shortest_h
        # Where an order ends in the step, the rule looks at what the bank has after it.
        by_rule = (
            (not ordered or row.ordered >= 1.0)
            and first_h < step_h * (1.0 - _NOTHING) - _SLACK_h
            and first_h + shortest_h <= row.closes_h + _SLACK_h
        )
    by_rule = by_rule and row.may_run > 0.0
    if not by_rule:
        return Run(ordered, False, 0.0, 0.0, 0.0, due)
    shortest_h = rule.full_shortest_h if for_full else rule.shortest_h
    longest_h = rule.full_longest_h if for_full else rule.longest_h
    least_h = first_h
    if shortest_h > run_h:
        least_h = first_h + (shortest_h - run_h)
    last_h = first_h + longest_h - run_h
    if row.closes_h < last_h:
        last_h = row.closes_h
    if step_h < last_h:
        last_h = step_h
    return Run(True, for_full, first_h / step_h, least_h / step_h, last_h / step_h, due)


def keeps_on(
    *, state: MemberState, soc: float, run_h: float, row: StepSignals, rule: Rule, tail_A: float
) -> bool:
    """Whether a run that the rule began goes on in a step.

    Parameters
    ----------
    state : State
        As the step began.
    soc : float
        State of charge. [-]
    run_h : float
        How long it has lasted. [h]
    row : StepSignals
        Signals of the step.
    rule : Rule
        Stop, shortest and longest.
    tail_A : float
        Current of the alternator below which a run to full gains nothing more. [A]

    Returns
    -------
    bool
        False where a bound of the rule ends the run.
    """
    shortest_h = rule.full_shortest_h if state.for_full else rule.shortest_h
    longest_h = rule.full_longest_h if state.for_full else rule.longest_h
    if row.opens_h > 0.0 or not run_h < longest_h - _SLACK_h:
        return False
    if run_h < shortest_h - _SLACK_h:
        return True
    if not state.for_full:
        return soc < rule.stop_soc - _NOTHING and state.ammeter_A >= rule.ends_A
    # At a voltage that fills the bank a small current is left to flow until it is full; below
    # that voltage it never will be, and a small current gains nothing more.
    gains = state.alternator_A >= tail_A or state.bank_V >= row.full_V
    return state.since_full_h > 0.0 and gains


def level_h(*, soc: float, falls_soc: float, rule: Rule, step_h: float) -> float:
    """When within a step the charge comes down to the level at which the engine starts.

    Parameters
    ----------
    soc : float
        State of charge as the step begins. [-]
    falls_soc : float
        By how much it would fall in the whole step with the engine off. [-]
    rule : Rule
        For that level.
    step_h : float
        Length of the step. [h]

    Returns
    -------
    float
        0 where it is there already; far beyond the step where it hardly falls, inf for never. [h]
    """
    above_soc = soc - rule.start_soc
    if not above_soc > 0.0:
        return 0.0
    return step_h * above_soc / (falls_soc if falls_soc > _NOTHING else _NOTHING)


def run_ends(run: Run, *, soc: float, falls_soc: float, rises_soc: float, rule: Rule) -> float:
    """Where in the step a charging run ends: at its level, not too early, and not too late.

    Parameters
    ----------
    run : Run
        As it stands when the step begins.
    soc : float
        State of charge as the step began. [-]
    falls_soc, rises_soc : float
        By how much it would fall in the whole step with the engine off, and rise with the engine
        on; 0 where it does not. [-]
    rule : Rule
        For the level at which the engine stops.

    Returns
    -------
    float
        Share of the step that has gone by then; 1 where the run goes on. [-]
    """
    if run.for_full:
        return run.last
    missing_soc = rule.stop_soc - soc + run.first * falls_soc
    ends = run.first
    if missing_soc > 0.0:
        ends = run.first + missing_soc / (rises_soc if rises_soc > _NOTHING else _NOTHING)
    if ends < run.least:
        ends = run.least
    return ends if ends < run.last else run.last


def shed(*, was_shed: bool, soc: float, below_soc: float, restore_frac: float) -> bool:
    """Whether a group of loads is switched off, with a gap between off and on again.

    Parameters
    ----------
    was_shed : bool
        Whether it was off in the step before.
    soc : float
        State of charge. [-]
    below_soc : float
        At or below it they go off; -inf for never. [-]
    restore_frac : float
        They come back this far above. [-]

    Returns
    -------
    bool
        True while it is off.
    """
    return soc <= below_soc or (was_shed and soc < below_soc + restore_frac)


def held_full(state: MemberState, *, soc: float) -> bool:
    """Whether wind, water or shore power holds a bank on float that was full and still is.

    Parameters
    ----------
    state : State
        As the step began.
    soc : float
        State of charge after it. [-]

    Returns
    -------
    bool
        True while a charger floats.
    """
    return state.others_floating and soc >= HELD_FULL_SOC


def tail_time_h(
    *,
    tail_h: float,
    step_h: float,
    volts: float,
    full_V: float,
    into_A: float,
    tail_A: float,
    soc: float,
    held: bool,
) -> float:
    """How long the bank has shown the signs of being full.

    Parameters
    ----------
    tail_h : float
        So far. [h]
    step_h : float
        Length of the step. [h]
    volts : float
        Bank voltage in the step.
    full_V : float
        Voltage from which a small current means full. [V]
    into_A : float
        Current into the bank. [A]
    tail_A : float
        Below it the bank counts as full. [A]
    soc : float
        State of charge. [-]
    held : bool
        Whether it is held full at a lower voltage, from `held_full`.

    Returns
    -------
    float
        0 where one of the signs is missing. [h]
    """
    signs = (volts >= full_V or held) and into_A < tail_A and soc >= LEAST_FULL_SOC
    return tail_h + step_h if signs else 0.0


def full_after(tail_h: float) -> bool:
    """Whether the signs have lasted long enough for the bank to count as full.

    Parameters
    ----------
    tail_h : float
        From `tail_time_h`. [h]

    Returns
    -------
    bool
        True once the time is up.
    """
    return tail_h >= TAIL_TIME_h - _SLACK_h


def stays_floating(state: MemberState, *, full: bool, soc: float) -> bool:
    """Whether wind, water and shore chargers hold float after a step.

    Parameters
    ----------
    state : State
        As the step began.
    full : bool
        Whether the bank counts as full after it.
    soc : float
        State of charge after it. [-]

    Returns
    -------
    bool
        Once full, until the bank is at REBULK_SOC; solar controllers begin anew every morning.
    """
    return (state.others_floating or full) and soc >= REBULK_SOC
