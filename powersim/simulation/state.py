"""What one step hands to the next, what happened in it, and what works in a run.

All of them hold plain floats and bools for one member, or arrays shaped (members,) for more.
"""

from __future__ import annotations

from typing import NamedTuple

from powersim.physics import bank as physics


class State(NamedTuple):
    """What one step hands to the next; floats and bools, or arrays shaped (members,).

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
    groups: tuple = (1.0, 1.0, 1.0, 1.0)
    others: float = 1.0


class Flows(NamedTuple):
    """What happened in one step: means over the step in A, V and W, sums in Ah, Wh and L."""

    soc: float
    bank_V: float
    sag_V: float
    solar_A: float
    solar_offered_A: float
    alternator_A: float
    alternator_offered_A: float
    load_A: float
    in_A: float
    out_A: float
    gassing_A: float
    self_discharge_A: float
    ohm: float
    total_Ah: float
    available_Ah: float
    served: float
    useful_on: float
    comfort_on: float
    dark: float
    charging: float
    for_full: float
    motoring: float
    charging_L: float
    motoring_L: float
    alternator_motoring_L: float
    heater_L: float
    fuel_short_L: float
    since_full_h: float
    wind_A: float = 0.0
    water_A: float = 0.0
    shore_A: float = 0.0
    wind_water_offered_A: float = 0.0


def start_state(plant, *, soc) -> State:
    """The state at departure, rested at a state of charge.

    Parameters
    ----------
    plant : Plant
        For its bank.
    soc : float or ndarray, shape (members,)
        State of charge. [-]

    Returns
    -------
    State
    """
    total_Ah, available_Ah = physics.state_at(plant.bank, soc)
    zero = soc * 0.0
    no = zero > 0.0
    return State(
        total_Ah=total_Ah,
        available_Ah=available_Ah,
        bank_V=zero + 12.6 * plant.bank.blocks,
        alternator_A=zero,
        dark=no,
        comfort_shed=no,
        useful_shed=no,
        turning=no,
        running=no,
        for_full=no,
        run_h=zero,
        stopped_h=zero + 1000.0,
        alternator_absorbed_h=zero,
        floating=no,
        tail_h=zero,
        since_full_h=zero,
        burnt_L=zero,
    )
