"""The books: every ampere-hour and watt-hour of every step, and whether they close.

The flows come from the kernel. What each of them must add up to is worked out here again from
the signals, so that a slip in the kernel shows.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from powersim.errors import BalanceError
from powersim.physics.bank import soc_of, stored_Wh
from powersim.physics.bank_constants import Bank
from powersim.records import OTHER_SOURCES
from powersim.records.chargers import SURPLUS_SOURCES
from powersim.simulation.books_record import Books, group_shares

if TYPE_CHECKING:
    from powersim.kernel.flows import Flows
    from powersim.kernel.plant import Plant
    from powersim.kernel.state import BatchState, Switches
    from powersim.records.arrays import Array, Floats
    from powersim.simulation.prepared import Prepared

#: Rounding allowed in one step, some thousand times what float64 loses. [Ah], [Wh]
TOLERANCE_Ah = 1e-7
TOLERANCE_Wh = 1e-6
#: Below it a change of charge is mostly rounding: of 1000 Ah, float64 keeps 1e-13. [Ah]
LEAST_CHANGE_Ah = 1e-5
#: Below it the share of a current that is stored is rounding. [A]
LEAST_FLOW_A = 1e-3


def books_of(
    flow: Flows[Array], *, state: BatchState, prepared: Prepared, switches: Switches, first: int = 0
) -> Books:
    """The books of a run, checked.

    Parameters
    ----------
    flow : Flows
        Of arrays shaped (steps, members).
    state : State
        As the run began.
    prepared : Prepared
        Signals and demand.
    switches : Switches
        What worked and what was wanted.
    first : int
        The step at which the run began.

    Returns
    -------
    Books
        Which close, step by step.

    Raises
    ------
    BalanceError
        If they do not close in every step, in ampere-hours and in watt-hours.
    """
    signals, plant = prepared.signals, prepared.plant
    steps = slice(first, first + len(flow.soc))
    step_h, volts = signals.step_h, flow.bank_V
    start_Wh = stored_Wh(plant.bank, soc_of(plant.bank, state.total_Ah))
    shares = group_shares(flow, groups=switches.groups)

    def by_group(array: Array) -> tuple[Array, Array]:
        """Sum over groups of what is wanted and of what is served. (steps, members)"""
        wanted = (one * array[steps, group] for group, one in enumerate(switches.groups))
        served = (share * array[steps, group] for group, share in enumerate(shares))
        return sum(wanted, np.zeros(())), sum(served, np.zeros(()))

    wanted_A, served_A = by_group(signals.load_A)
    wanted_W, served_W = by_group(signals.load_W)
    wanted_W, served_W = wanted_W + flow.pack_W, served_W + flow.pack_W
    _, supply_loss_W = by_group(prepared.supply_loss_W)
    idle_A = flow.load_A - (served_A + served_W / volts)
    into_A, out_A = flow.in_A, flow.out_A
    change_Ah = _changes(flow.total_Ah, state.total_Ah)
    stored_after_Wh = stored_Wh(plant.bank, soc_of(plant.bank, flow.total_Ah))
    change_Wh = _changes(stored_after_Wh, start_Wh)

    # Mean emf over the step, exactly: stored energy is the integral of emf over charge.
    # A change too small for that to have digits left takes it from the voltage.
    moved = np.abs(change_Ah) > LEAST_CHANGE_Ah
    emf_V = np.where(moved, change_Wh / np.where(moved, change_Ah, 1.0), 0.0)
    ohm = resistance_ohm(flow, change_Ah=change_Ah, plant=plant, step_h=step_h)
    emf_V = np.where(moved, emf_V, volts - ohm * (into_A - out_A))
    offered_W = flow.solar_offered_A * volts
    offered = offered_W > 0
    module_W = prepared.module_W[steps]
    per_offered = np.where(offered, module_W / np.where(offered, offered_W, 1.0), 1.0)
    surplus_A = np.maximum(flow.solar_offered_A - flow.solar_A, 0.0)
    unserved_A = (wanted_A - served_A) + (wanted_W - served_W) / volts
    others_A = {source: getattr(flow, f"{source}_A") for source in OTHER_SOURCES}
    left_A = np.maximum(flow.others_offered_A - _of_surplus_A(flow), 0.0)

    books = Books(
        solar_Ah=flow.solar_A * step_h,
        alternator_Ah=flow.alternator_A * step_h,
        others_Ah={f"{source}_Ah": amps * step_h for source, amps in others_A.items()},
        loads_Ah=flow.load_A * step_h,
        into_battery_Ah=into_A * step_h,
        from_battery_Ah=out_A * step_h,
        gassing_Ah=flow.gassing_A * step_h,
        self_discharge_Ah=flow.self_discharge_A * step_h,
        change_Ah=change_Ah,
        surplus_Ah=(surplus_A + left_A) * step_h,
        unserved_Ah=unserved_A * step_h,
        solar_Wh=flow.solar_A * volts * per_offered * step_h,
        alternator_Wh=flow.alternator_A * (volts + plant.alternator.cable_drop_V) * step_h,
        others_Wh={f"{source}_Wh": amps * volts * step_h for source, amps in others_A.items()},
        loads_Wh=(served_A * volts + served_W - supply_loss_W) * step_h,
        solar_path_loss_Wh=flow.solar_A * volts * (per_offered - 1.0) * step_h,
        alternator_cable_loss_Wh=flow.alternator_A * plant.alternator.cable_drop_V * step_h,
        supply_loss_Wh=supply_loss_W * step_h,
        controller_idle_Wh=idle_A * volts * step_h,
        resistance_loss_Wh=(volts - emf_V) * (into_A - out_A) * step_h,
        gassing_loss_Wh=emf_V * flow.gassing_A * step_h,
        self_discharge_loss_Wh=emf_V * flow.self_discharge_A * step_h,
        change_Wh=change_Wh,
        surplus_Wh=surplus_A * volts * per_offered * step_h + left_A * volts * step_h,
        unserved_Wh=unserved_A * volts * step_h,
    )
    check_books(books, flow=flow, plant=plant, first=first, step_h=step_h)
    return books


def _of_surplus_A(flow: Flows[Array]) -> Array:
    """What is taken of other chargers that leave a surplus, all together. (steps, members) [A]"""
    return sum(getattr(flow, f"{source}_A") for source in SURPLUS_SOURCES)


def _changes(after: Array, start: Floats) -> Array:
    """What each step adds to a quantity known after every step and at the start."""
    return np.diff(after, axis=0, prepend=np.broadcast_to(start, after.shape[1:])[None])


def resistance_ohm(flow: Flows[Array], *, change_Ah: Array, plant: Plant, step_h: float) -> Array:
    """The bank's resistance in each step, without the half step of moving emf that rides on it.

    Parameters
    ----------
    flow : Flows
        Of arrays shaped (steps, members).
    change_Ah : ndarray, shape (steps, members)
        What the bank gained. [Ah]
    plant : Plant
        For its bank.
    step_h : float
        Length of a step. [h]

    Returns
    -------
    ndarray, shape (steps, members)
        As the losses in the bank are counted.
    """
    bank = plant.bank
    soc = flow.soc - change_Ah / bank.capacity_Ah
    # What stays is that of the middle of the step, which the flows tell.
    flows_in = flow.in_A > LEAST_FLOW_A
    stays = 1.0 - np.divide(flow.gassing_A, flow.in_A, out=np.zeros_like(soc), where=flows_in)
    slope_V = _slope_V(bank, soc)
    return flow.ohm - 0.5 * slope_V * stays * step_h / bank.capacity_Ah


def _slope_V(bank: Bank, soc: Array) -> Array:
    """How steeply the open-circuit voltage rises with charge, at a knot by the line above it."""
    return (
        sum((rise_V * (soc >= at) for at, rise_V in bank.emf_hinges[1:]), np.zeros(soc.shape))
        + (bank.emf_hinges[0][1])
    )


def check_books(
    books: Books, *, flow: Flows[Array], plant: Plant, first: int, step_h: float
) -> None:
    """Raise BalanceError unless every step closes.

    Parameters
    ----------
    books : Books
        Of every step.
    flow : Flows
        Of arrays shaped (steps, members).
    plant : Plant
        For its bank.
    first : int
        Step at which the run began, for the message.
    step_h : float
        Length of a step. [h]

    Raises
    ------
    BalanceError
        Naming the first step that does not close, both totals, and which side is larger.
    """
    others_Ah = sum(books.others_Ah.values())
    bus_in_Ah = books.solar_Ah + books.alternator_Ah + others_Ah + books.from_battery_Ah
    _close("charge over the bus", bus_in_Ah, books.loads_Ah + books.into_battery_Ah, "Ah", first)
    spent_Ah = books.from_battery_Ah + books.gassing_Ah + books.self_discharge_Ah + books.change_Ah
    _close("charge in the bank", books.into_battery_Ah, spent_Ah, "Ah", first)
    lost_Wh = sum(
        books.column(name) for name in Books.names() if name.endswith(("_loss_Wh", "_idle_Wh"))
    )
    others_Wh = sum(books.others_Wh.values())
    sources_Wh = books.solar_Wh + books.alternator_Wh + others_Wh
    _close("energy", sources_Wh, books.loads_Wh + lost_Wh + books.change_Wh, "Wh", first)

    full_Ah, of_surplus_A = plant.bank.full_Ah, _of_surplus_A(flow)
    idle_A = books.controller_idle_Wh / flow.bank_V / step_h
    for name, low, high in (
        ("state of charge", -flow.soc, flow.soc - 1.0),
        ("charge in the available well", -flow.available_Ah, flow.available_Ah - full_Ah),
        ("solar taken", -flow.solar_A, flow.solar_A - flow.solar_offered_A),
        ("alternator taken", -flow.alternator_A, flow.alternator_A - flow.alternator_offered_A),
        *((f"{name} taken", -taken_Ah, -taken_Ah) for name, taken_Ah in books.others_Ah.items()),
        ("taken of others", -of_surplus_A, of_surplus_A - flow.others_offered_A),
        ("loads served", -flow.served, flow.served - 1.0),
        ("controllers' draw", -idle_A, idle_A - plant.idle_A),
    ):
        _within(name, low, first)
        _within(name, high, first)

    # Mean emf follows from the energy stored; the resistance must then account for the rest,
    # within what a bend of the voltage curve inside one step can hide.
    net_A = flow.in_A - flow.out_A
    ohm = resistance_ohm(flow, change_Ah=books.change_Ah, plant=plant, step_h=step_h)
    expected_Wh = ohm * net_A * net_A * step_h
    capacity_Ah = plant.bank.capacity_Ah
    slopes_V = np.cumsum([rise_V for _, rise_V in plant.bank.emf_hinges])
    soc_before = flow.soc - books.change_Ah / capacity_Ah
    # With room for rounding: a bank that sets out on a bend has it in its first step.
    low = np.minimum(soc_before, flow.soc) - LEAST_CHANGE_Ah / capacity_Ah
    high = np.maximum(soc_before, flow.soc) + LEAST_CHANGE_Ah / capacity_Ah
    bends = [(low <= soc) & (soc <= high) for soc, _ in plant.bank.emf_hinges]
    # Half a step's emf is off by at most so much, and all of the bank's current flows against it.
    # What leaks meanwhile is stored too, though it is no part of the change.
    moved_soc = (np.abs(books.change_Ah) + books.self_discharge_Ah) / capacity_Ah
    bend_V = np.any(bends, axis=0) * 0.5 * np.ptp(slopes_V) * moved_soc
    slack_Wh = bend_V * np.abs(net_A * step_h)
    _close("resistance", books.resistance_loss_Wh, expected_Wh, "Wh", first, slack=slack_Wh)


def _close(
    what: str, left: Array, right: Array, unit: str, first: int, *, slack: Floats = 0.0
) -> None:
    tolerance = {"Ah": TOLERANCE_Ah, "Wh": TOLERANCE_Wh}[unit]
    off = ~(np.abs(left - right) <= tolerance + slack)  # written so that nan is off too
    if not off.any():
        return
    step, member = np.argwhere(off)[0]
    one, other = (np.broadcast_to(side, off.shape)[step, member] for side in (left, right))
    side = "in" if one > other else "out"
    raise BalanceError(
        f"the books of {what} do not close in step {first + step}: {one:.9g} {unit} in, "
        f"{other:.9g} {unit} out, {abs(one - other):.3g} {unit} too much {side}"
    )


def _within(what: str, above: Array, first: int) -> None:
    off = ~(above <= TOLERANCE_Ah)
    if off.any():
        step, member = np.argwhere(off)[0]
        raise BalanceError(
            f"{what} leaves its range in step {first + step}, by {above[step, member]:.3g}"
        )
