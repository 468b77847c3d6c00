"""One choice of sizes, simulated in the members that all choices share, as numbers for a table."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from powersim.kernel.state import Switches
from powersim.planning.depletion_batch import Question, depletion_times_h
from powersim.planning.scenario import departure_state
from powersim.planning.size_choices import Choice, boat_with, clipped, weight_kg
from powersim.planning.tried import tried
from powersim.records import Boat, Passage
from powersim.simulation.bands import chance_of, quantiles
from powersim.simulation.ensemble_summary import failing_in


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """What all choices have in common; small enough to be sent to other processes.

    Attributes
    ----------
    passage : Passage
        The passage, with the boat as she is.
    boats : mapping of str to Boat
        The boat with a bank of each chemistry.
    members : int
        Number of members.
    seed : int
        Seed of the random numbers.
    step_h : float
        Length of a step. [h]
    """

    passage: Passage
    boats: Mapping[str, Boat]
    members: int
    seed: int
    step_h: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """What one choice comes to, over all members.

    Attributes
    ----------
    choice : Choice
        The sizes.
    weight_kg : float
        Weight of bank, panels and alternator. [kg]
    clips : bool
        Whether a solar controller cannot pass what its panels are rated for.
    fails_frac, fails_least_frac, fails_most_frac : float
        Share of the members in which the floor or the reserve is broken or all goes dark, and the
        bounds of its 95 % interval. [-]
    floor_frac, flat_frac, reserve_frac : float
        Share of the members in which charge falls below its floor, all goes dark, and the reserve
        of diesel is broken. [-]
    lowest_soc_p10, lowest_soc_p50 : float
        Lowest charge: 10th percentile and median of the members. [-]
    charging_h : float
        Mean time that the engine charges at rest. [h]
    charging_h_p90 : float
        Its 90th percentile. [h]
    charging_runs : float
        Mean number of charging runs.
    motoring_h : float
        Mean time of the engine in gear. [h]
    charging_L : float
        Mean diesel for the bank: charging runs, and the alternator's share while motoring. [L]
    fuel_L : float
        Mean of all diesel burnt. [L]
    fuel_left_L_p10 : float
        Diesel left at landfall: 10th percentile of the members. [L]
    unserved_Ah : float
        Mean of what loads went without. [Ah]
    floor_days_p10, floor_days_p50, flat_days_p10, flat_days_p50 : float or None
        Days from departure until the bank is at its floor, and flat, if the engine never runs: 10th
        percentile and median of the members. None where landfall comes first. [days]
    """

    choice: Choice
    weight_kg: float
    clips: bool
    fails_frac: float
    fails_least_frac: float
    fails_most_frac: float
    floor_frac: float
    flat_frac: float
    reserve_frac: float
    lowest_soc_p10: float
    lowest_soc_p50: float
    charging_h: float
    charging_h_p90: float
    charging_runs: float
    motoring_h: float
    charging_L: float
    fuel_L: float
    fuel_left_L_p10: float
    unserved_Ah: float
    floor_days_p10: float | None
    floor_days_p50: float | None
    flat_days_p10: float | None
    flat_days_p50: float | None


def point_of(study: Study, choice: Choice) -> Point:
    """Simulate one choice.

    The point is the same whatever was simulated before, and in whatever process. BalanceError says
    that the books of a member do not close.
    """
    boat = boat_with(study.boats, choice)
    passage = replace(study.passage, boat=boat)
    _, forcing, ensemble = tried(
        passage, members=study.members, seed=study.seed, step_h=study.step_h
    )
    failing = failing_in(ensemble, boat.fuel)
    fails = chance_of(failing.any)
    low_soc, middle_soc = quantiles(ensemble.lowest_soc, (0.1, 0.5))
    usable_L = boat.fuel.usable_L if boat.fuel else 0.0
    charging_L = ensemble.charging_L + ensemble.alternator_motoring_L
    return Point(
        choice=choice,
        weight_kg=weight_kg(boat),
        clips=bool(clipped(boat)),
        fails_frac=fails.frac,
        fails_least_frac=fails.least_frac,
        fails_most_frac=fails.most_frac,
        floor_frac=_share(failing.floor),
        flat_frac=_share(failing.dark),
        reserve_frac=_share(failing.reserve),
        lowest_soc_p10=float(low_soc),
        lowest_soc_p50=float(middle_soc),
        charging_h=_mean(ensemble.charging_h),
        charging_h_p90=float(quantiles(ensemble.charging_h, (0.9,))[0]),
        charging_runs=_mean(ensemble.charging_runs),
        motoring_h=_mean(ensemble.motoring_h),
        charging_L=_mean(charging_L),
        fuel_L=_mean(usable_L - ensemble.fuel_left_L),
        fuel_left_L_p10=float(quantiles(ensemble.fuel_left_L, (0.1,))[0]),
        unserved_Ah=_mean(ensemble.unserved_Ah),
        **_days_without_engine(forcing, boat.battery),
    )


def _days_without_engine(forcing, battery) -> dict:
    """Days to the floor and to flat if the engine never runs."""
    question = Question(
        forcing=forcing,
        state=departure_state(forcing, soc=battery.soc_at_departure),
        switches=Switches(engine=False),
    )
    until = forcing.prepared.track.n_steps
    ((floor_h, flat_h),) = depletion_times_h([question], until=until, floor_soc=battery.floor_soc)
    known_h = {"floor": floor_h, "flat": flat_h}
    return {
        f"{name}_days_p{percent}": _or_never(hours / 24.0)
        for name, found_h in known_h.items()
        for percent, hours in zip((10, 50), quantiles(found_h, (0.1, 0.5)).tolist(), strict=True)
    }


def _or_never(days):
    return days if math.isfinite(days) else None


def _share(happened) -> float:
    return float(np.count_nonzero(happened)) / len(happened)


def _mean(values) -> float:
    return float(np.mean(values))
