"""What the loads ask of the bank in every step, before anything is shed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

import numpy as np

from powersim.physics.wanted_share import wanted_share
from powersim.physics.windows import open_frac
from powersim.records import BOAT_STATES, Companion, Load, Supply, hangs_on
from powersim.records.brief import brief

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools, Floats
    from powersim.sky.sky import Sky
    from powersim.voyage.track import Track

#: What is kept longest comes first; loads of a protected role are never shed.
GROUPS = ("protected", "essential", "useful", "comfort")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Demand:
    """Draw on the bank by row and step: the loads in their order, then the supplies that idle.

    Attributes
    ----------
    names : tuple of str
        One a row; an idle row is called after its supply.
    groups : tuple of str
        One of GROUPS a row; a supply idles in the most important group among its loads.
    current_A : ndarray, shape (rows, n)
        Mean draw at the bank that keeps its current as the voltage sags. [A]
    power_W : ndarray, shape (rows, n)
        Mean draw at the bank that keeps its power, losses of the supplies included. [W]
    supply_loss_W : ndarray, shape (rows, n)
        The part of power_W that is lost in supplies. [W]
    full_A, full_W : tuple of float
        Draw at the bank of each row while it is on. [A], [W]
    on_frac : ndarray, shape (rows, n)
        Share of the step that the row is on. [-]
    fuel_L_per_h : ndarray, shape (rows, n)
        Diesel burnt by the load itself. [L/h]
    order : tuple of int
        The rows in the order in which they are summed, from `order_of_sums`.
    """

    names: tuple[str, ...]
    groups: tuple[str, ...]
    current_A: Array
    power_W: Array
    supply_loss_W: Array
    full_A: tuple[float, ...]
    full_W: tuple[float, ...]
    on_frac: Array
    fuel_L_per_h: Array
    order: tuple[int, ...]

    __repr__ = brief


def demand_of(
    loads: Sequence[Load], supplies: Sequence[Supply], *, track: Track, sky: Sky
) -> Demand:
    """Everything the loads and their supplies take from the bank, step by step.

    Parameters
    ----------
    loads : sequence of Load
        In the order of the rows, with the companions of sessions (`records.drawn_loads`).
    supplies : sequence of Supply
        All that the loads name, "dc" apart.
    track : Track
        Boat states and ship's time.
    sky : Sky
        Nights and cabin temperature.

    Returns
    -------
    Demand
        Before anything is shed.

    Notes
    -----
    A load is on for (share of the step with its window open) * (share of the window that it is
    on), in its own boat states. A time a day is spread evenly over the hours that the window is
    open that day; where these are fewer, the load is on all the while and gets less than its
    time. While its window is open and it is not on, it stands by. What sessions switch on beside
    its own hours comes on top, as far as there is time left in the step: no load is on for more
    than all of it.
    """
    n_steps = len(sky.night_frac)
    supply_of = {supply.name: supply for supply in supplies}
    opened = {
        window: open_frac(window, track=track, sky=sky) for window in {ld.window for ld in loads}
    }
    usable = _rows(n_steps, [_in_state(load, track) * opened[load.window] for load in loads])
    full = _draws([(ld.draw_A, ld.draw_W, ld) for ld in loads], supply_of)
    standby = _draws([(ld.standby_A, ld.standby_W, ld) for ld in loads], supply_of)
    idling = [s for s in supplies if s.idle_W > 0.0 and (s.left_on or _users(s, loads))]

    shape = len(loads) + len(idling), n_steps
    on, lost_W, burnt_L_per_h = (np.zeros(shape) for _ in range(3))
    mean = np.zeros((2, *shape))  # amperes and watts, of which hardly a load draws both
    for row, load in enumerate(loads):
        on[row] = usable[row] * _on_share(load, sky)
    beside = _fit_companions(loads, on)
    for row, load in enumerate(loads):
        for kind in np.flatnonzero(full[:, row] + standby[:, row]):
            mean[kind, row] = full[kind, row] * on[row]
            if standby[kind, row]:
                not_on = usable[row] - on[row]
                if row in beside:  # on for a session in its own window too, as often as outside it
                    not_on = np.maximum(not_on - usable[row] * beside[row], 0.0)
                mean[kind, row] += standby[kind, row] * not_on
        if load.supply in supply_of:
            lost_W[row] = mean[1, row] * (1.0 - supply_of[load.supply].efficiency_frac)
        if load.fuel_L_per_h:
            burnt_L_per_h[row] = on[row] * (load.fuel_L_per_h * load.count)
    for row, supply in enumerate(idling, len(loads)):
        on[row] = _idle_frac(supply, loads, usable, on)
        mean[1, row] = lost_W[row] = supply.idle_W * on[row]
    return Demand(
        names=tuple([load.name for load in loads] + [idle_name(supply.name) for supply in idling]),
        groups=tuple([group_of(ld) for ld in loads] + [_idle_group(s, loads) for s in idling]),
        current_A=mean[0],
        power_W=mean[1],
        supply_loss_W=lost_W,
        full_A=(*full[0].tolist(), *(0.0 for _ in idling)),
        full_W=(*full[1].tolist(), *(supply.idle_W for supply in idling)),
        on_frac=on,
        fuel_L_per_h=burnt_L_per_h,
        order=order_of_sums(loads, n_rows=shape[0]),
    )


def _fit_companions(loads: Sequence[Load], on: Array) -> dict[int, Array]:
    """Take off `on` what a load's companions want beyond all of the time.

    Returns how long the companions of each load are on, by the load's row: share of each step.
    """
    rows = {load.known_as: row for row, load in enumerate(loads) if not isinstance(load, Companion)}
    beside: dict[int, Array] = {}
    # By name, so that no order of lines says which of two sessions is cut short.
    for row in sorted(range(len(loads)), key=lambda row: loads[row].name):
        load = loads[row]
        if not isinstance(load, Companion):
            continue
        own = rows[load.base]
        taken = beside.get(own, 0.0)
        on[row] = np.minimum(on[row], np.maximum(1.0 - on[own] - taken, 0.0))
        beside[own] = taken + on[row]
    return beside


def order_of_sums(loads: Sequence[Load], *, n_rows: int) -> tuple[int, ...]:
    """The rows of a demand in the order in which they are summed.

    Sums of floats hang on the order of what is summed, in their last digits, and a rule that
    compares may turn there. Rows by their names come to the same however the list is sorted.

    Parameters
    ----------
    loads : sequence of Load
        In the order of the rows.
    n_rows : int
        How many there are with those of the supplies, which come last.

    Returns
    -------
    tuple of int
        Each row once.
    """
    in_order = sorted(range(len(loads)), key=lambda row: _sorted_by(loads[row]))
    return (*in_order, *range(len(loads), n_rows))


def _sorted_by(load: Load) -> tuple[str, str]:
    """Its name, and for two of one name all that they differ in."""
    values = {field.name: getattr(load, field.name) for field in fields(load)}
    return load.known_as, repr(values | {"states": sorted(load.states)})


def idle_name(supply_name: str) -> str:
    """What the row is called that a supply takes for itself.

    Parameters
    ----------
    supply_name : str
        As the boat has it.

    Returns
    -------
    str
        The supply's name with "idle" after it.
    """
    return f"{supply_name} idle"


def group_of(load: Load) -> str:
    """The group that a load is kept or shed with.

    Parameters
    ----------
    load : Load
        Its role and its priority are looked at.

    Returns
    -------
    str
        One of GROUPS: "protected" by the load's role, else its priority.
    """
    return "protected" if load.protected else load.priority


def _rows(n_steps: int, rows: Sequence[Floats]) -> Array:
    """Rows of floats or arrays as one array (rows, n), also when there is none."""
    return np.array([np.broadcast_to(row, n_steps) for row in rows]).reshape(-1, n_steps)


def _in_state(load: Load, track: Track) -> Bools:
    return np.array([state in load.states for state in BOAT_STATES])[track.state]


def _on_share(load: Load, sky: Sky) -> Array:
    """Share of its open window that a load is on; a fridge that wants more is on all the while."""
    return np.minimum(wanted_share(load, sky), 1.0)


def _draws(draws: Sequence[tuple[float, float, Load]], supply_of: dict[str, Supply]) -> Array:
    """Draws at the bank of all of a load's count: array (2, loads), amperes and watts."""
    return (
        np.array(
            [
                draws_at_bank(current_A, power_W, load, supply_of)
                for current_A, power_W, load in draws
            ],
            dtype=float,
        )
        .reshape(-1, 2)
        .T
    )


def draws_at_bank(
    current_A: float, power_W: float, load: Load, supply_of: Mapping[str, Supply]
) -> tuple[float, float]:
    """What a load takes from the bank in a state, all of its count together.

    Parameters
    ----------
    current_A, power_W : float
        Of one of it in that state, at its own outlet. [A], [W]
    load : Load
        Its count and its supply are looked at.
    supply_of : mapping of str to Supply
        By name.

    Returns
    -------
    tuple of (float, float)
        Amperes and watts at the bank; behind a supply all of it is power, with its losses.
    """
    supply = supply_of.get(load.supply)
    if supply is None:
        return load.count * current_A, load.count * power_W
    output_W = power_W + current_A * supply.output_V
    return 0.0, load.count * output_W / supply.efficiency_frac


def _users(supply: Supply, loads: Sequence[Load]) -> list[int]:
    """Rows of the loads that a supply is on for and that are aboard."""
    return [i for i, load in enumerate(loads) if supply.name in hangs_on(load) and load.count > 0]


def _idle_frac(supply: Supply, loads: Sequence[Load], usable: Array, on: Array) -> Floats:
    """A supply is switched on while any of its loads may be wanted, whether or not it is on.

    For sessions it is on while they last, as far as it is not on already.
    """
    if supply.left_on:
        return 1.0
    at_hand = np.zeros(usable.shape[1])
    sessions: dict[str, Array] = {}
    for row in _users(supply, loads):
        whose = _only_in_session(loads[row], supply)
        if whose is None:
            at_hand = np.maximum(at_hand, usable[row])
        else:  # a phone and the laptop beside it are one session
            sessions[whose] = np.maximum(sessions.get(whose, 0.0), on[row])
    meanwhile = np.minimum(sum(sessions.values()), 1.0)
    return at_hand + (1.0 - at_hand) * meanwhile


def _only_in_session(load: Load, supply: Supply) -> str | None:
    """Whose sessions a supply is on for, if it is for nothing else that this load does."""
    if isinstance(load, Companion):
        return load.for_load
    stands_by = load.supply == supply.name and (load.standby_A or load.standby_W)
    return None if load.session is None or stands_by else load.known_as


def _idle_group(supply: Supply, loads: Sequence[Load]) -> str:
    # With nothing on it, a supply left on can be switched off and nobody misses it.
    groups = [group_of(loads[i]) for i in _users(supply, loads)]
    return min(groups, key=GROUPS.index, default=GROUPS[-1])
