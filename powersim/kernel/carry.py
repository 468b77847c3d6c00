"""The loop over steps, for one member and for many, and what is kept on the way.

`carry_member` runs as plain Python or inside `carry_members`, which is what gets compiled: members
outside, steps inside. There is no other loop.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from powersim.kernel.bus import Bus
from powersim.kernel.chargers import ChargerConstants
from powersim.kernel.state import MemberState, State, Switches
from powersim.kernel.step import step_of
from powersim.kernel.step_signals import StepSignals
from powersim.kernel.told import Keep, Told, tell

if TYPE_CHECKING:
    import numpy as np

    from powersim.kernel.chargers import Offer
    from powersim.kernel.plant import Plant
    from powersim.records.arrays import Array, Ints, Readable, Writable


def carry_member(
    state: MemberState,
    told: Told,
    rows: Readable[StepSignals],
    offers: Readable[Readable[Offer]],
    plant: Plant,
    switches: Switches,
    chargers: Readable[ChargerConstants],
    bus: Bus,
    flow: Writable[float],
    keep: Keep,
    summed: Readable[int],
    sums: Writable[float],
    kept: Readable[int],
    series: Readable[Writable[float]],
) -> MemberState:
    """Carry one member through a stretch of steps.

    Parameters
    ----------
    state : State
        As the stretch begins.
    told : Told
        What has been told of the member so far; written.
    rows : sequence of StepSignals
        One a step.
    offers : sequence of sequence of Offer
        One a step and charger.
    plant, switches, chargers, bus, flow
        As for `step.step_of`.
    keep : Keep
        What is kept, and of which steps.
    summed : sequence of int
        Places of the flows that are added up.
    sums : list of float or ndarray, shape (summed,)
        Their sums so far; written.
    kept : sequence of int
        Places of the flows that are kept by the step.
    series : list of list of float or ndarray, shape (kept, steps kept)
        Written.

    Returns
    -------
    State
        As the stretch ends, or as the member went dark where that ends it.
    """
    step_h = keep.step_h
    if keep.until_dark and told.flat_h < keep.first * step_h:
        return state  # since an earlier stretch
    for step in range(len(rows)):
        begins_h = (keep.first + step) * step_h
        if begins_h < told.joins_h:
            continue
        if begins_h >= told.leaves_h:
            break
        state = step_of(
            state,
            rows[step],
            offers[step],
            plant=plant,
            switches=switches,
            chargers=chargers,
            bus=bus,
            flow=flow,
            step_h=step_h,
        )
        for place in range(len(summed)):
            sums[place] += flow[summed[place]]
        if len(kept) > 0 and (step + 1) % keep.every == 0:
            slot = (step + 1) // keep.every - 1
            for place in range(len(kept)):
                series[place][slot] = flow[kept[place]]
        tell(told, flow, begins_h=begins_h, keep=keep)
        if keep.until_dark and told.flat_h <= begins_h:
            break
    return state


def carry_members(
    first: int,
    last: int,
    states: np.recarray,
    told: Readable[Told],
    rows: Readable[StepSignals],
    row_cells: Array,
    offers: Readable[Readable[Offer]],
    offer_cells: Array,
    own_places: Ints,
    own: Array,
    own_of: Ints,
    orders_places: Ints,
    orders: Array,
    orders_of: Ints,
    plants: np.recarray,
    plant_of: Ints,
    chargers: Readable[ChargerConstants],
    bus_source: Writable[int],
    bus_cells: Readable[Writable[float]],
    flow: Writable[float],
    step_h: float,
    before: int,
    floor_soc: float,
    counted_from_h: float,
    until_dark: int,
    every: int,
    summed: Readable[int],
    sums: Readable[Writable[float]],
    kept: Readable[int],
    series: Array,
) -> None:
    """Carry some members through a stretch of steps: compiled, this is what runs.

    Parameters
    ----------
    first, last : int
        Members, as in a slice; several of these calls may run side by side, each with rows, bus
        and flow of its own.
    states, told : ndarray of records.STATE and records.TOLD, shape (members,)
        Read and written.
    rows : ndarray of records.ROW, shape (steps,)
        With all that is alike for the members; what differs is written into it, member by member.
    row_cells : ndarray, shape (cells,)
        The same memory as plain floats.
    offers, offer_cells
        The same of chargers: records.OFFER, shape (steps, chargers).
    own_places, orders_places : ndarray of int, shape (columns, 3)
        Of each column: 0 for a cell of a row and 1 for one of an offer; its first place; how far
        it is from one step to the next.
    own, orders : ndarray, shape (columns, steps, sources)
        What differs: between members, and between orders to the engine.
    own_of, orders_of : ndarray of int, shape (members,)
        Which of the sources each member has.
    plants : ndarray of records.MEMBER, shape (plants,)
        Boat and switches.
    plant_of : ndarray of int, shape (members,)
        Which of them each member has.
    chargers : ndarray of records.CHARGER, shape (chargers,)
        What does not change of them, in the order in which they are used.
    bus_source : ndarray of int, shape (chargers + 1,)
        Memory to work in.
    bus_cells : ndarray, shape (4, chargers + 1)
        Memory to work in.
    flow : ndarray, shape (flows,)
        Memory to work in.
    step_h, before, floor_soc, counted_from_h, until_dark, every : float or int
        The fields of Keep in turn. [h], [-], [-], [h], [-], [-]
    summed, kept : ndarray of int
        As for `carry_member`.
    sums : ndarray, shape (members, summed)
        Read and written.
    series : ndarray, shape (kept, members, steps kept)
        Written, each member's in one piece.
    """
    keep = Keep(
        step_h=step_h,
        first=before,
        floor_soc=floor_soc,
        counted_from_h=counted_from_h,
        until_dark=until_dark > 0,
        every=every,
    )
    bus = Bus(bus_source, bus_cells[0], bus_cells[1], bus_cells[2], bus_cells[3])
    ends_h = (before + len(rows)) * step_h
    laid_own, laid_orders = -1, -1
    for member in range(first, last):
        if told[member].joins_h >= ends_h or told[member].leaves_h <= before * step_h:
            continue  # not yet, or no more
        if keep.until_dark and told[member].flat_h < before * step_h:
            continue  # no more
        # Neighbours of the same source find its columns laid.
        if own_of[member] != laid_own:
            laid_own = own_of[member]
            lay_own(own_places, own, laid_own, row_cells, offer_cells)
        if orders_of[member] != laid_orders:
            laid_orders = orders_of[member]
            lay_own(orders_places, orders, laid_orders, row_cells, offer_cells)
        has = plants[plant_of[member]]
        begins = states[member]
        state = carry_member(
            State(
                total_Ah=begins.total_Ah,
                available_Ah=begins.available_Ah,
                bank_V=begins.bank_V,
                alternator_A=begins.alternator_A,
                dark=begins.dark,
                comfort_shed=begins.comfort_shed,
                useful_shed=begins.useful_shed,
                turning=begins.turning,
                running=begins.running,
                for_full=begins.for_full,
                run_h=begins.run_h,
                stopped_h=begins.stopped_h,
                alternator_absorbed_h=begins.alternator_absorbed_h,
                floating=begins.floating,
                tail_h=begins.tail_h,
                since_full_h=begins.since_full_h,
                burnt_L=begins.burnt_L,
                into_A=begins.into_A,
                others_floating=begins.others_floating,
                by_order=begins.by_order,
                ammeter_A=begins.ammeter_A,
                due=begins.due,
                sun_Ah=begins.sun_Ah,
                pack_Wh=begins.pack_Wh,
            ),
            told[member],
            rows,
            offers,
            has.plant,
            has.switches,
            chargers,
            bus,
            flow,
            keep,
            summed,
            sums[member],
            kept,
            series[:, member],
        )
        begins.total_Ah = state.total_Ah
        begins.available_Ah = state.available_Ah
        begins.bank_V = state.bank_V
        begins.alternator_A = state.alternator_A
        begins.dark = state.dark
        begins.comfort_shed = state.comfort_shed
        begins.useful_shed = state.useful_shed
        begins.turning = state.turning
        begins.running = state.running
        begins.for_full = state.for_full
        begins.run_h = state.run_h
        begins.stopped_h = state.stopped_h
        begins.alternator_absorbed_h = state.alternator_absorbed_h
        begins.floating = state.floating
        begins.tail_h = state.tail_h
        begins.since_full_h = state.since_full_h
        begins.burnt_L = state.burnt_L
        begins.into_A = state.into_A
        begins.others_floating = state.others_floating
        begins.by_order = state.by_order
        begins.ammeter_A = state.ammeter_A
        begins.due = state.due
        begins.sun_Ah = state.sun_Ah
        begins.pack_Wh = state.pack_Wh


def lay_own(
    places: Ints, columns: Array, source: int, row_cells: Array, offer_cells: Array
) -> None:
    """Write what a member has of its own into the rows and offers of all steps.

    Parameters
    ----------
    places : ndarray of int, shape (columns, 3)
        As for `carry_members`.
    columns : ndarray, shape (columns, steps, sources)
        What differs between the sources.
    source : int
        Which of them.
    row_cells, offer_cells : ndarray, shape (cells,)
        Written.
    """
    for column in range(len(places)):
        place, apart = places[column, 1], places[column, 2]
        cells = offer_cells if places[column, 0] == 1 else row_cells
        for step in range(columns.shape[1]):
            cells[place] = columns[column, step, source]
            place += apart
