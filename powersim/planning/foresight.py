"""The least diesel for charging that perfect foresight could reach in one sky: the lower bound.

Whoever knew every cloud beforehand would run the engine when it does the most good, and no rule can
do better. The simulation runs the timetable that foresight_search.py finds once more, and the
figures come from there.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from powersim.errors import BalanceError
from powersim.planning.foresight_search import BIN_SOC, SLACK, Search, TimetableLimits
from powersim.planning.rule_limits import limits_of
from powersim.records import Passage, PlannedRun, Shedding
from powersim.simulation.plant import rule_of, without_engine_rule
from powersim.simulation.run import run
from powersim.simulation.state import start_state
from powersim.simulation.timetable import planned_steps, runs_of

if TYPE_CHECKING:
    from powersim.simulation.prepared import Prepared

#: How far results from arrays and from floats may differ over a passage. [-], [L]
_ROUNDING_soc, _ROUNDING_L = 1e-6, 1e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Foresight:
    """The cheapest timetable found, with the figures of its simulation.

    Attributes
    ----------
    runs : tuple of PlannedRun
        When the engine charges.
    charging_L : float
        Diesel for charging: runs at rest, and the alternator's share while motoring. [L]
    charging_h : float
        Time that the engine charges at rest. [h]
    lowest_soc, end_soc : float
        Lowest state of charge, and state of charge at landfall. [-]
    feasible : bool
        Whether all limits are kept. If not, no timetable found keeps them and this one breaks them
        least; its litres say little.
    """

    runs: tuple[PlannedRun, ...]
    charging_L: float
    charging_h: float
    lowest_soc: float
    end_soc: float
    feasible: bool


def serving_all(passage: Passage, prepared: Prepared) -> tuple[Passage, Prepared]:
    """The same passage with no load ever shed, so that rule and foresight serve the same loads.

    A boat that sheds loads burns less and gets less for it, so litres could not be compared.
    """
    boat = replace(passage.boat, shedding=Shedding())
    plant = replace(prepared.plant, rule=rule_of(boat))
    return replace(passage, boat=boat), replace(prepared, plant=plant)


def foresight(
    passage: Passage,
    prepared: Prepared,
    *,
    end_soc: float,
    floor_soc: float | None = None,
    most_since_full_h: float | None = None,
    counted_from_h: float = 0.0,
    bin_soc: float = BIN_SOC,
    progress: Callable | None = None,
) -> Foresight:
    """The least diesel for charging, if the whole passage were known beforehand.

    Parameters
    ----------
    passage : Passage
        Its charging rule sets the hours in which the engine may run, the shortest and longest run
        and how often the bank must be full; its levels and daily runs are not used. Loads are shed
        as the boat sheds them: `serving_all` leaves all of them on.
    prepared : Prepared
        The same passage in one sky.
    end_soc : float
        Least charge at landfall. [-]
    floor_soc : float, optional
        Least charge on the way; the boat's own floor if left out. [-]
    most_since_full_h : float, optional
        Longest time without a full charge; as in rule_limits.py if left out. [h]
    counted_from_h : float
        When the floor begins to count, as in rule_limits.py. [h]
    bin_soc : float
        Labels compete whose charge differs by less. [-]
    progress : callable, optional
        Called with the share of the work that is done, now and then; begins anew where the limits
        cannot be kept.

    Raises
    ------
    ValueError
        If `prepared` has more than one member.
    BalanceError
        If the simulation of the timetable does not give the figures of the search.

    References
    ----------
    .. [1] R. Bellman, Dynamic Programming, Princeton University Press, 1957.
    """
    if prepared.signals.load_A.shape[-1] != 1:
        raise ValueError("foresight is of one sky, but prepared has several members")
    boat, step_h = passage.boat, prepared.track.step_h
    if most_since_full_h is None:
        most_since_full_h = limits_of(boat, risk_frac=0.0).since_full_h
    limits = TimetableLimits(
        floor_soc=boat.battery.floor_soc if floor_soc is None else floor_soc,
        end_soc=end_soc,
        since_full_h=most_since_full_h,
        shortest=math.ceil(boat.charging.shortest_h / step_h - SLACK),
        longest=math.ceil(boat.charging.longest_h / step_h - SLACK),
        # On a passage of less than a day, the charge at landfall still counts.
        counted_from=min(round(counted_from_h / step_h), prepared.track.n_steps),
    )
    alone = replace(
        prepared, plant=replace(prepared.plant, rule=without_engine_rule(prepared.plant.rule))
    )
    search = Search(passage, alone, limits, bin_soc=bin_soc, progress=progress)
    found = search.timetable(may_break=False)
    if found is None:
        found = search.timetable(may_break=True)
    return _simulated(passage, alone, limits, found)


def _simulated(passage, prepared, limits, found) -> Foresight:
    """The simulation of a timetable; BalanceError where its figures are not those of the search."""
    runs = runs_of(found.ordered, prepared.track)
    start_soc = passage.boat.battery.soc_at_departure
    signals = replace(prepared.signals, ordered=planned_steps(runs, prepared.track)[:, None])
    flow, _ = run(signals, plant=prepared.plant, state=start_state(prepared.plant, soc=start_soc))
    charging_L = float(flow.charging_L.sum() + flow.alternator_motoring_L.sum())
    end_soc = float(flow.soc[-1, 0])
    counted_soc = np.concatenate([[start_soc], flow.soc[:, 0]])[limits.counted_from :]
    lowest_soc = float(counted_soc.min())
    for what, seen, said, rounding in (
        ("litres for charging", charging_L, found.fuel_L, _ROUNDING_L),
        ("state of charge at landfall", end_soc, found.soc, _ROUNDING_soc),
    ):
        if not abs(seen - said) <= rounding:  # written so that nan is off too
            raise BalanceError(
                f"foresight: {what} {seen:.9g} in the simulation of its timetable, {said:.9g} in "
                "the search"
            )
    return Foresight(
        runs=runs,
        charging_L=charging_L,
        charging_h=float(flow.charging.sum()) * prepared.track.step_h,
        lowest_soc=lowest_soc,
        end_soc=end_soc,
        feasible=(
            lowest_soc >= limits.floor_soc
            and not flow.dark.any()
            and float(flow.since_full_h.max()) <= limits.since_full_h + SLACK
            and end_soc >= limits.end_soc - 2.0 * SLACK
        ),
    )
