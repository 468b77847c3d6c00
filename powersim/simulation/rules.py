"""The decisions of a step: run the engine or not, which loads go, what stage a charger is in.

Each is a function of the state and the step, for plain floats and for arrays alike.
"""

from __future__ import annotations

from typing import NamedTuple

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


class Run(NamedTuple):
    """A charging run in a step, whose edges lie anywhere within it.

    `first`, `least` and `last` are shares of the step that have gone when it begins, before it may
    end, and when it must have ended; plain values, or arrays shaped (members,).
    """

    runs: bool
    for_full: bool
    first: float
    least: float
    last: float


NO_RUN = Run(False, False, 0.0, 0.0, 0.0)


def engine_runs(*, state, soc, falls_soc, row, able, rule, tail_A, step_h, ops):
    """Whether the engine charges at rest in this step, from when on, and between which ends.

    Parameters
    ----------
    state : State
        As the step began.
    soc : float or ndarray, shape (members,)
        State of charge as the step began. [-]
    falls_soc : float or ndarray, shape (members,)
        By how much it would fall in the whole step with the engine off; 0 where it rises. [-]
    row : Row
        Signals of the step.
    able : bool or ndarray of bool, shape (members,)
        Whether it could run: fuel, a way to start, a bank that excites the alternator.
    rule : Rule
        Start, stop, shortest, longest, and how often full.
    tail_A : float
        Current of the alternator below which a run to full gains nothing more. [A]
    step_h : float
        Length of the step. [h]
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    Run

    Notes
    -----
    A run begins where charge crosses the level within the step, where a full charge falls due, or
    where the hours open, so that an answer does not hang on where the steps' edges lie.
    """
    # What a timetable began the rule does not go on with, unless it would begin there itself.
    goes_on = state.running & ops.logical_not(state.by_order)
    run_h = ops.where(goes_on, state.run_h, 0.0)
    keep = False
    if ops.any(goes_on):
        # At a voltage that fills the bank a small current is left to flow until it is full; below
        # that voltage it never will be, and a small current gains nothing more.
        gains = (state.alternator_A >= tail_A) | (state.bank_V >= row.full_V)
        filling = (state.since_full_h > 0.0) & gains
        target_missed = ops.where(state.for_full, filling, soc < rule.stop_soc - _NOTHING)
        keep = (
            goes_on
            & (row.opens_h <= 0.0)
            & ((run_h < rule.shortest_h - _SLACK_h) | target_missed)
            & (run_h < rule.longest_h - _SLACK_h)
        )
    low_h = step_h * ops.maximum(soc - rule.start_soc, 0.0) / ops.maximum(falls_soc, _NOTHING)
    full_h = ops.maximum(
        rule.full_every_h - state.since_full_h, HOURS_BETWEEN_FULL_RUNS - state.stopped_h
    )
    first_h = ops.maximum(ops.minimum(low_h, full_h), row.opens_h)
    # Where an order ends in the step, the rule looks at what the bank has after it.
    begin = (
        ops.logical_not(goes_on)
        & ((row.ordered <= 0.0) | (row.ordered >= 1.0))
        & (first_h < step_h * (1.0 - _NOTHING) - _SLACK_h)
        & (first_h + rule.shortest_h <= row.closes_h + _SLACK_h)
    )
    by_rule = row.may_run & (keep | begin)
    if not ops.any(by_rule) and not ops.any(row.ordered > 0.0):
        return NO_RUN
    first_h = ops.where(goes_on, 0.0, first_h)
    least_h = first_h + ops.maximum(rule.shortest_h - run_h, 0.0)
    last_h = ops.minimum(first_h + rule.longest_h - run_h, row.closes_h)
    last_h = ops.minimum(last_h, step_h)
    runs = able & (row.motoring < 1.0)
    return Run(
        runs=runs & (by_rule | (row.ordered > 0.0)),
        for_full=runs & by_rule & ops.where(goes_on, state.for_full, full_h <= first_h + _SLACK_h),
        first=ops.where(by_rule, first_h / step_h, 0.0),
        least=ops.where(by_rule, least_h / step_h, 0.0),
        last=ops.where(by_rule, last_h / step_h, 0.0),
    )


def run_ends(run, *, soc, falls_soc, rises_soc, rule, ops):
    """Where in the step a charging run ends: at its level, not too early, and not too late.

    Parameters
    ----------
    run : Run
    soc : float or ndarray, shape (members,)
        State of charge as the step began. [-]
    falls_soc, rises_soc : float or ndarray, shape (members,)
        By how much it would fall in the whole step with the engine off, and rise with the engine
        on; 0 where it does not. [-]
    rule : Rule
        For the level at which the engine stops.
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    float or ndarray, shape (members,)
        Share of the step that has gone by then; 1 where the run goes on. [-]
    """
    missing_soc = ops.maximum(rule.stop_soc - soc + run.first * falls_soc, 0.0)
    at_level = run.first + missing_soc / ops.maximum(rises_soc, _NOTHING)
    ends = ops.minimum(ops.maximum(at_level, run.least), run.last)
    return ops.where(run.for_full, run.last, ends)


def shed(*, was_shed, soc, below_soc, restore_frac):
    """Whether a group of loads is switched off, with a gap between off and on again.

    Parameters
    ----------
    was_shed : bool or ndarray of bool, shape (members,)
        Whether it was off in the step before.
    soc : float or ndarray, shape (members,)
        State of charge. [-]
    below_soc : float
        At or below it they go off; below zero for never. [-]
    restore_frac : float
        They come back this far above. [-]

    Returns
    -------
    bool or ndarray of bool, shape (members,)
    """
    return (soc <= below_soc) | (was_shed & (soc < below_soc + restore_frac))


def held_full(state, *, soc):
    """Whether wind, water or shore power holds a bank on float that was full and still is.

    Parameters
    ----------
    state : State
        As the step began.
    soc : float or ndarray, shape (members,)
        State of charge after it. [-]

    Returns
    -------
    bool or ndarray of bool, shape (members,)
    """
    return state.others_floating & (soc >= HELD_FULL_SOC)


def tail_time_h(*, tail_h, step_h, volts, full_V, into_A, tail_A, soc, ops, held=False):
    """How long the bank has shown the signs of being full.

    Parameters
    ----------
    tail_h : float or ndarray, shape (members,)
        So far. [h]
    step_h : float
        Length of the step. [h]
    volts : float or ndarray, shape (members,)
        Bank voltage in the step.
    full_V : float
        Voltage from which a small current means full. [V]
    into_A : float or ndarray, shape (members,)
        Current into the bank. [A]
    tail_A : float
        Below it the bank counts as full. [A]
    soc : float or ndarray, shape (members,)
        State of charge. [-]
    ops : type
        ops.FLOAT or ops.ARRAY.
    held : bool or ndarray of bool, shape (members,)
        Whether it is held full at a lower voltage, from `held_full`.

    Returns
    -------
    float or ndarray, shape (members,)
        [h]
    """
    signs = ((volts >= full_V) | held) & (into_A < tail_A) & (soc >= LEAST_FULL_SOC)
    return ops.where(signs, tail_h + step_h, 0.0)


def full_after(tail_h):
    """Whether the signs have lasted long enough for the bank to count as full.

    Parameters
    ----------
    tail_h : float or ndarray, shape (members,)
        From `tail_time_h`. [h]

    Returns
    -------
    bool or ndarray of bool, shape (members,)
    """
    return tail_h >= TAIL_TIME_h - _SLACK_h


def stays_floating(state, *, full, soc):
    """Whether wind, water and shore chargers hold float after a step.

    Parameters
    ----------
    state : State
        As the step began.
    full : bool or ndarray of bool, shape (members,)
        Whether the bank counts as full after it.
    soc : float or ndarray, shape (members,)
        State of charge after it. [-]

    Returns
    -------
    bool or ndarray of bool, shape (members,)
        Once full, until the bank is at REBULK_SOC; solar controllers begin anew every morning.
    """
    return (state.others_floating | full) & (soc >= REBULK_SOC)
