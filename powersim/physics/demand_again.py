"""A demand that has changed in some rows: only those are worked out anew."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence

import numpy as np

from powersim.physics.demand import Demand, idle_name, order_of_sums
from powersim.records import Load, Supply, hangs_on


def demand_again(
    before: Demand,
    loads_before: Sequence[Load],
    loads: Sequence[Load],
    supplies: Sequence[Supply],
    *,
    make: Callable[[Sequence[Load], Sequence[Supply]], Demand],
) -> Demand:
    """The demand of a load list, with the rows that it shares with another taken from there.

    Parameters
    ----------
    before : Demand
        Of the other list, on the same supplies, track and sky.
    loads_before : sequence of Load
        That list.
    loads : sequence of Load
        Those in the same lines are held against it; one that is left ashore has a count of 0.
    supplies : sequence of Supply
        Of the boat, the same for both.
    make : callable
        make(loads, supplies) gives the Demand of some loads on some supplies.

    Returns
    -------
    Demand
        As make(loads, supplies) gives it.
    """
    if len(loads) != len(loads_before):
        return make(loads, supplies)
    changed = [i for i, load in enumerate(loads) if load != loads_before[i]]
    touched = {name for i in changed for name in hangs_on(loads_before[i])}
    return rows_again(before, loads, supplies, changed=changed, touched=touched, make=make)


def rows_again(
    before: Demand,
    loads: Sequence[Load],
    supplies: Sequence[Supply],
    *,
    changed: Collection[int],
    touched: Collection[str] = (),
    make: Callable[[Sequence[Load], Sequence[Supply]], Demand],
) -> Demand:
    """A demand with some of its rows worked out anew.

    Parameters
    ----------
    before : Demand
        Of as many loads on the same supplies.
    loads : sequence of Load
        As they are now.
    supplies : sequence of Supply
        Of the boat.
    changed : collection of int
        Loads whose rows in `before` are not to be taken over.
    touched : collection of str
        Supplies of which the same is known, beside those that such loads hang on.
    make : callable
        make(loads, supplies) gives the Demand of some loads on some supplies.

    Returns
    -------
    Demand
        As make(loads, supplies) gives it, where the other rows are the same there.

    Notes
    -----
    A load's row depends on nothing but the load and what sessions switch on of it, which share its
    time. A supply idles while any of its loads may be wanted, so what hangs on a supply together
    with a changed load is worked out with it.
    """
    if not changed:
        return before
    anew, touched = _with_kin(loads, changed, touched)
    part = make(
        tuple(loads[i] for i in anew),
        tuple(supply for supply in supplies if supply.name in touched),
    )
    rows = {i: (before, i) for i in range(len(loads))} | {
        i: (part, row) for row, i in enumerate(anew)
    }
    idling = _idling(before, len(loads))
    for name in touched:
        idling.pop(idle_name(name), None)
    idling |= _idling(part, len(anew))
    names = [idle_name(supply.name) for supply in supplies]
    return _of_rows([*rows.values(), *(idling[name] for name in names if name in idling)], loads)


def _with_kin(
    loads: Sequence[Load], changed: Collection[int], touched: Collection[str]
) -> tuple[list[int], set[str]]:
    """The loads to be worked out with those that changed, and the supplies."""
    anew, found = set(changed), {*touched} - {"dc"}
    while True:
        kin = {loads[i].known_as for i in anew}
        found |= {name for i in anew for name in hangs_on(loads[i])} - {"dc"}
        more = {i for i, load in enumerate(loads) if load.known_as in kin or found & hangs_on(load)}
        if more <= anew:
            return sorted(anew), found
        anew |= more


def rows_of(
    demand: Demand, loads: Sequence[Load], some: Sequence[Load], supplies: Sequence[Supply]
) -> Demand:
    """The demand of some loads on some supplies, out of that of all.

    Parameters
    ----------
    demand : Demand
        Of all loads.
    loads : sequence of Load
        All of them.
    some : sequence of Load
        Those that are asked for: all that hang on the supplies, and perhaps others.
    supplies : sequence of Supply
        Those whose idling is asked for.

    Returns
    -------
    Demand
        As it would be worked out for them.
    """
    idling = _idling(demand, len(loads))
    names = [idle_name(supply.name) for supply in supplies]
    taken = [(demand, loads.index(load)) for load in some]
    return _of_rows([*taken, *(idling[name] for name in names if name in idling)], some)


def _of_rows(taken: Sequence[tuple[Demand, int]], loads: Sequence[Load]) -> Demand:
    """Rows of other demands as one: those of the loads, then those of supplies."""
    return Demand(
        names=tuple(demand.names[row] for demand, row in taken),
        groups=tuple(demand.groups[row] for demand, row in taken),
        current_A=np.array([demand.current_A[row] for demand, row in taken]),
        power_W=np.array([demand.power_W[row] for demand, row in taken]),
        supply_loss_W=np.array([demand.supply_loss_W[row] for demand, row in taken]),
        full_A=tuple(demand.full_A[row] for demand, row in taken),
        full_W=tuple(demand.full_W[row] for demand, row in taken),
        on_frac=np.array([demand.on_frac[row] for demand, row in taken]),
        fuel_L_per_h=np.array([demand.fuel_L_per_h[row] for demand, row in taken]),
        order=order_of_sums(loads, n_rows=len(taken)),
    )


def _idling(demand: Demand, first: int) -> dict[str, tuple[Demand, int]]:
    """Where the rows of supplies that idle are, by name; they come after those of the loads."""
    return {demand.names[row]: (demand, row) for row in range(first, len(demand.names))}
