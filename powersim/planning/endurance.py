"""Days to the floor and to flat, with this or that lost, from any moment of the passage."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from powersim.physics.bank import soc_of
from powersim.simulation.kernel import run
from powersim.simulation.milestones import days_to_flat, days_to_floor
from powersim.simulation.state import State, Switches, start_state

#: What is lost, with all loads kept.
LOSSES = {
    "everything working": Switches(),
    "without the engine": Switches(engine=False),
    "without any charging": Switches(solar=0.0, others=0.0, alternator=0.0),
}
#: Which loads are kept: name -> shares of protected, essential, useful and comfort.
LOAD_SETS = {
    "all loads": (1.0, 1.0, 1.0, 1.0),
    "essential loads only": (1.0, 1.0, 0.0, 0.0),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Endurance:
    """One line of the endurance table.

    Attributes
    ----------
    loss : str
        A key of LOSSES.
    loads : str
        A key of LOAD_SETS.
    days_to_floor, days_to_flat : float or ndarray, shape (members,)
        Infinite where landfall comes first. [days]
    """

    loss: str
    loads: str
    days_to_floor: float
    days_to_flat: float


@dataclass(frozen=True, slots=True, kw_only=True)
class EnduranceTable:
    """All lines, and where they are counted from.

    Attributes
    ----------
    from_h : float
        Hours after departure, at a step's edge. [h]
    soc : float or ndarray, shape (members,)
        State of charge at that moment in the simulated passage. [-]
    days_to_landfall : float
        From there.
    lines : tuple of Endurance
        Losses in order, within each the sets of loads.
    seed : int or None
        Of the weathers; None for the mean sky.
    """

    from_h: float
    soc: float
    days_to_landfall: float
    lines: tuple[Endurance, ...]
    seed: int | None = None


#: Every line of the table: what is lost, and which loads are kept.
CASES = tuple((loss, loads) for loss in LOSSES for loads in LOAD_SETS)


def switches_of(loss, loads) -> Switches:
    """What works and what is wanted in one line of the table.

    Parameters
    ----------
    loss : str
        A key of LOSSES.
    loads : str
        A key of LOAD_SETS.

    Returns
    -------
    Switches
    """
    return LOSSES[loss]._replace(groups=LOAD_SETS[loads])


def first_step(track, from_h) -> int:
    """The step that a table counted from some hour begins with.

    Parameters
    ----------
    track : Track
        Of the passage.
    from_h : float
        Hours after departure; taken at the step's edge before it. [h]

    Returns
    -------
    int

    Raises
    ------
    ValueError
        If that lies before departure or not before landfall.
    """
    if not 0 <= from_h < track.arrival_h:
        raise ValueError(f"from_h must be 0 to {track.arrival_h:.0f}, got {from_h!r}")
    return math.floor(from_h / track.step_h + 1e-9)


def endurance(result, *, from_h=0.0) -> EnduranceTable:
    """The endurance table of a simulated passage.

    Parameters
    ----------
    result : Result
        The passage with everything working; its state at `from_h` is where each line begins.
    from_h : float
        Hours after departure; taken at the step's edge before it. [h]

    Returns
    -------
    EnduranceTable

    Raises
    ------
    ValueError
        If that lies before departure or not before landfall.

    Notes
    -----
    Every case is one member of a single run, on the same sky, with all of the passage's physics.
    An engine that is lost takes the motoring with it; the boat is kept on her legs all the same.
    """
    prepared = result.prepared
    step_h, first = prepared.track.step_h, first_step(prepared.track, from_h)
    battery = result.passage.boat.battery
    begin = (
        result.states[first - 1]
        if first
        else start_state(prepared.plant, soc=battery.soc_at_departure)
    )
    soc = soc_of(prepared.plant.bank, begin.total_Ah)
    flow, _ = run(
        prepared.signals,
        plant=prepared.plant,
        state=State(*(np.full(len(CASES), value) for value in begin)),
        switches=_together([switches_of(*case) for case in CASES]),
        first=first,
        until=lambda flows: flows.dark.all(),
    )
    to_floor = days_to_floor(flow.soc, soc_start=soc, floor_soc=battery.floor_soc, step_h=step_h)
    to_flat = days_to_flat(flow.dark, step_h=step_h)
    # A bank that goes dark by its voltage or by cold is past its floor, whatever it still holds.
    to_floor = np.minimum(to_floor, to_flat)
    return EnduranceTable(
        from_h=first * step_h,
        soc=float(soc),
        days_to_landfall=(prepared.track.arrival_h - first * step_h) / 24.0,
        lines=tuple(
            Endurance(
                loss=loss,
                loads=loads,
                days_to_floor=float(floor_days),
                days_to_flat=float(flat_days),
            )
            for (loss, loads), floor_days, flat_days in zip(CASES, to_floor, to_flat, strict=True)
        ),
    )


def _together(switches) -> Switches:
    """Switches of several members in arrays."""
    groups = np.array([one.groups for one in switches]).T
    columns = (np.array(column) for column in zip(*switches, strict=True))
    return Switches(*columns)._replace(groups=tuple(groups))
