"""What one step hands to the next, and what works in a run."""

from __future__ import annotations

from typing import TYPE_CHECKING, Generic, NamedTuple, TypeAlias, TypeVar

if TYPE_CHECKING:
    from powersim.records.arrays import Bools, Floats

#: What a number is, and a yes or no: of one member, or an array of many.
Number = TypeVar("Number", covariant=True)
Flag = TypeVar("Flag", covariant=True)


class State(NamedTuple, Generic[Number, Flag]):
    """What one step hands to the next; floats and bools, or arrays shaped (members,) of them.

    The engine is `turning` in gear or at rest, and `running` when it does so at rest, to charge;
    `by_order` if a timetable has it so. What the alternator gave, what the bank stored and what its
    ammeter showed (`alternator_A`, `into_A`, `ammeter_A`) are those of the time in which it turned.
    `due` is what a reading of the bank asked for and has not been done yet (rules.NOT_DUE, LOW or
    TO_FULL), `sun_Ah` what the panels gave since the day's first reading. `pack_Wh` is what
    the devices hold that are charged before the bank is full.
    """

    total_Ah: Number
    available_Ah: Number
    bank_V: Number
    alternator_A: Number
    dark: Flag
    comfort_shed: Flag
    useful_shed: Flag
    turning: Flag
    running: Flag
    for_full: Flag
    run_h: Number
    stopped_h: Number
    alternator_absorbed_h: Number
    floating: Flag
    tail_h: Number
    since_full_h: Number
    burnt_L: Number
    into_A: Number | float = 0.0
    others_floating: Flag | bool = False
    by_order: Flag | bool = False
    ammeter_A: Number | float = 0.0
    due: Number | float = 0.0
    sun_Ah: Number | float = 0.0
    pack_Wh: Number | float = 0.0


#: Of one member, as a step takes it.
MemberState: TypeAlias = State[float, bool]
if TYPE_CHECKING:
    #: Of one, or of many at once.
    BatchState: TypeAlias = State[Floats, bool | Bools]


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
