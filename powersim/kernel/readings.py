"""What a reading of the bank at set times asks for, and what is left of it after a step."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from powersim.kernel.plant import Rule
    from powersim.kernel.state import MemberState
    from powersim.kernel.step_signals import StepSignals

#: What a reading of the bank may ask for: nothing, a run, or a run until it is full. Below NOT_DUE
#: by so many readings running that were low, where a rule waits.
NOT_DUE, LOW, TO_FULL = 0.0, 1.0, 2.0
#: What a step may hold of a day's readings: none, the first one, or a later one.
FIRST_READING, LATER_READING = 1.0, 2.0
_DAY_h = 24.0


def seeming_soc(state: MemberState, *, soc: float, rule: Rule) -> float:
    """What the bank seems to hold, by a counter that drifts from one full charge to the next.

    Parameters
    ----------
    state : State
        As the step began.
    soc : float
        State of charge. [-]
    rule : Rule
        For how fast, and for how long. Its levels have all that does not grow.

    Returns
    -------
    float
        The charge itself where nothing drifts. [-]
    """
    since_h = state.since_full_h if state.since_full_h < rule.drifts_h else rule.drifts_h
    return soc + rule.drift_per_h * since_h


def due_by_reading(state: MemberState, *, soc: float, row: StepSignals, rule: Rule) -> float:
    """What a reading of the bank asks for.

    Parameters
    ----------
    state : State
        As the step began.
    soc : float
        State of charge as it seems, but for what is new at each reading. [-]
    row : StepSignals
        For which reading of the day it is, and how much more than it holds the bank seems to hold.
    rule : Rule
        For the level, and how often full.

    Returns
    -------
    float
        NOT_DUE, LOW or TO_FULL; below NOT_DUE by the readings running that were low, where the rule
        waits for one more.

    Notes
    -----
    While the engine charges nothing can be read. A full charge is a matter of the calendar: it is
    looked for at the day's first reading, and where a run did not fill the bank, on every second
    day after, so that one bad day costs one run.
    """
    if state.running:
        return state.due
    if row.reads >= LATER_READING:
        if state.due == TO_FULL or state.sun_Ah >= rule.little_Ah:
            return state.due
    else:
        late_h = state.since_full_h - rule.full_every_h
        if late_h > 0.0 and late_h % (2.0 * _DAY_h) < _DAY_h:
            return TO_FULL
    read_soc = soc + row.misread_soc
    if read_soc <= rule.start_soc:
        return LOW
    if read_soc > rule.wait_below_soc:
        return NOT_DUE
    if state.due > NOT_DUE:
        return LOW  # it was due already, and the bank is as low as then
    low_before = -state.due
    return LOW if low_before + 1.0 >= rule.wait_readings else -(low_before + 1.0)


def due_after(*, runs: bool, due: float, ordered: float) -> float:
    """What is left of what a reading has asked for.

    Parameters
    ----------
    runs : bool
        Whether the engine charges in the step.
    due : float
        What has been asked for.
    ordered : float
        Share of the step in which a timetable has the engine charge. [-]

    Returns
    -------
    float
        A run does it, a timetable's too; but that one does not fill the bank.
    """
    if not runs or (ordered > 0.0 and due == TO_FULL):
        return due
    return NOT_DUE


def sun_since_reading_Ah(
    state: MemberState, *, row: StepSignals, solar_A: float, step_h: float
) -> float:
    """What the panels gave since the day's first reading.

    Parameters
    ----------
    state : State
        As the step began.
    row : StepSignals
        For whether that reading is in it.
    solar_A : float
        What they give. [A]
    step_h : float
        Length of the step. [h]

    Returns
    -------
    float
        As the controller's counter of the day has it. [Ah]
    """
    before_Ah = 0.0 if row.reads == FIRST_READING else state.sun_Ah
    return before_Ah + solar_A * step_h
