"""Which steps a timetable has the engine charge in, and the runs that steps make."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from powersim.records import DailyRun, Passage, PlannedRun
from powersim.simulation.plant import has_charging_alternator
from powersim.voyage.ship_time import in_hours

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools
    from powersim.voyage.track import Track


def ordered_steps(passage: Passage, track: Track) -> Array:
    """Where a plan, or the boat's daily runs, have the engine charge.

    Parameters
    ----------
    passage : Passage
        Its plan of runs, or its boat's daily ones.
    track : Track
        At the kernel's steps.

    Returns
    -------
    ndarray, shape (n,)
        Share of each step. [-]
    """
    if not has_charging_alternator(passage.boat):
        return np.zeros(track.n_steps)
    if passage.engine_plan is not None:
        return planned_steps(passage.engine_plan, track)
    charging = passage.boat.charging
    return daily_steps(charging.daily if charging.by_engine else (), track).astype(float)


def planned_steps(runs: Sequence[PlannedRun], track: Track) -> Array:
    """Shares of steps that fall into single runs.

    Parameters
    ----------
    runs : sequence of PlannedRun
        Of which no two overlap.
    track : Track
        Where the boat is, and when.

    Returns
    -------
    ndarray, shape (n,)
        0 to 1. [-]
    """
    edges_s = track.edge_utc_s
    within_s = np.zeros(track.n_steps)
    for run in runs:
        clipped_s = np.clip(edges_s, run.start_utc_s, run.end_utc_s)
        within_s += np.diff(clipped_s)
    # To a millisecond, so that sums of seconds make whole steps of whole steps.
    return np.round(np.round(within_s, 3) / (3600.0 * track.step_h), 9)


def runs_of(ordered: Bools, track: Track) -> tuple[PlannedRun, ...]:
    """Whole steps as single runs, merged where they follow on each other: undoes `planned_steps`.

    Parameters
    ----------
    ordered : ndarray of bool, shape (n,)
        True where the engine is to charge.
    track : Track
        Where the boat is, and when.

    Returns
    -------
    tuple of PlannedRun
        In order, one for each spell.

    Raises
    ------
    ValueError
        If the steps of more than a day follow on each other.
    """
    edges = np.flatnonzero(np.diff(np.concatenate([[False], ordered, [False]]).astype(np.int8)))
    half_s = 1800.0 * track.step_h
    return tuple(
        PlannedRun(
            start_utc_s=float(track.mid_utc_s[begin]) - half_s,
            run_h=int(end - begin) * track.step_h,
        )
        for begin, end in edges.reshape(-1, 2)
    )


def daily_steps(daily: Sequence[DailyRun], track: Track) -> Bools:
    """Steps that fall into runs of every day.

    Parameters
    ----------
    daily : sequence of DailyRun
        Runs that come every day.
    track : Track
        Where the boat is, and when.

    Returns
    -------
    ndarray of bool, shape (n,)
        The middle of a step decides whether it belongs to a run.
    """
    ordered = np.zeros(track.n_steps, dtype=bool)
    for run in daily:
        # The pole itself lies in the last band.
        north_deg = math.inf if run.north_deg == 90.0 else run.north_deg
        there = (track.lat_deg >= run.south_deg) & (track.lat_deg < north_deg)
        ordered |= there & in_hours(track, (run.at_h, (run.at_h + run.run_h) % 24.0))
    return ordered
