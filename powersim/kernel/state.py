"""What one step hands to the next, and what works in a run."""

from __future__ import annotations

from typing import NamedTuple


class State(NamedTuple):
    """What one step hands to the next; floats and bools, or arrays shaped (members,) of them.

    The engine is `turning` in gear or at rest, and `running` when it does so at rest, to charge;
    `by_order` if a timetable has it so. What the alternator gave and what the bank stored
    (`alternator_A`, `into_A`) are those of the time in which it turned.
    """

    total_Ah: float
    available_Ah: float
    bank_V: float
    alternator_A: float
    dark: bool
    comfort_shed: bool
    useful_shed: bool
    turning: bool
    running: bool
    for_full: bool
    run_h: float
    stopped_h: float
    alternator_absorbed_h: float
    floating: bool
    tail_h: float
    since_full_h: float
    burnt_L: float
    into_A: float = 0.0
    others_floating: bool = False
    by_order: bool = False


class Switches(NamedTuple):
    """What works and what is wanted, as factors: floats, or arrays shaped (members,).

    `solar` touches the panels alone, `others` all that records.OTHER_SOURCES names. `groups`
    multiplies the draw of protected, essential, useful and comfort loads.
    """

    solar: float = 1.0
    alternator: float = 1.0
    engine: bool = True
    groups: tuple[float, ...] = (1.0, 1.0, 1.0, 1.0)
    others: float = 1.0
