"""Days to the floor and to flat, with this or that lost, from any moment of the passage."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from powersim.physics.bank import soc_of
from powersim.simulation.kernel import run
from powersim.simulation.milestones import days_to_flat, days_to_floor
from powersim.simulation.state import State, Switches, start_state

#: What is lost: name -> (solar, alternator, engine) as Switches takes them.
LOSSES = {
    "everything working": (1.0, 1.0, True),
    "without the engine": (1.0, 1.0, False),
    "without any charging": (0.0, 0.0, True),
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
    days_to_floor, days_to_flat : float
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
    soc : float
        State of charge at that moment in the simulated passage. [-]
    days_to_landfall : float
        From there.
    lines : tuple of Endurance
        Losses in order, within each the sets of loads.
    """

    from_h: float
    soc: float
    days_to_landfall: float
    lines: tuple[Endurance, ...]


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
    step_h, arrival_h = prepared.track.step_h, prepared.track.arrival_h
    if not 0 <= from_h < arrival_h:
        raise ValueError(f"from_h must be 0 to {arrival_h:.0f}, got {from_h!r}")
    first = math.floor(from_h / step_h + 1e-9)
    battery = result.passage.boat.battery
    begin = (
        result.states[first - 1]
        if first
        else start_state(prepared.plant, soc=battery.soc_at_departure)
    )
    cases = [(loss, loads) for loss in LOSSES for loads in LOAD_SETS]
    soc = soc_of(prepared.plant.bank, begin.total_Ah)
    flow, _ = run(
        prepared.signals,
        plant=prepared.plant,
        state=State(*(np.full(len(cases), value) for value in begin)),
        switches=_switches(cases),
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
        days_to_landfall=(arrival_h - first * step_h) / 24.0,
        lines=tuple(
            Endurance(
                loss=loss,
                loads=loads,
                days_to_floor=float(floor_days),
                days_to_flat=float(flat_days),
            )
            for (loss, loads), floor_days, flat_days in zip(cases, to_floor, to_flat, strict=True)
        ),
    )


def _switches(cases) -> Switches:
    lost = [LOSSES[loss] for loss, _ in cases]
    groups = np.array([LOAD_SETS[loads] for _, loads in cases]).T
    solar, alternator, engine = (np.array(column) for column in zip(*lost, strict=True))
    return Switches(solar=solar, alternator=alternator, engine=engine, groups=tuple(groups))
