"""What the next day asks of the engine, in the members that the log leaves."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from powersim.records.brief import brief
from powersim.simulation.carry import Batch

if TYPE_CHECKING:
    from powersim.simulation.aboard import ForcingAboard

DAY_h = 24.0
#: More runs of a day than are told.
MOST_RUNS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class DayRun:
    """A charging run of a day: the first of each member, or the second.

    Attributes
    ----------
    frac : float
        Share of the members that have it. [-]
    run_h : float
        Median of how long, of those. [h]
    starts_h : float
        Median of when, after the last entry, of those. [h]
    """

    frac: float
    run_h: float
    starts_h: float

    __repr__ = brief


def day_ahead(forcing: ForcingAboard, *, floor_soc: float, from_h: float) -> tuple[DayRun, ...]:
    """Simulate the day that begins now.

    Parameters
    ----------
    forcing : ForcingAboard
        The rest of a passage from the last entry of the log on.
    floor_soc : float
        What charge is held against. [-]
    from_h : float
        How long ago that entry was. [h]

    Returns
    -------
    tuple of DayRun
        The first and the second that any member has; none where nobody runs the engine.
    """
    track = forcing.prepared.track
    first = min(int(from_h / track.step_h), track.n_steps)
    last = min(first + round(DAY_h / track.step_h), track.n_steps)
    plant = forcing.aboard.plant(forcing.plant)
    batch = Batch(
        plant=plant,
        state=forcing.aboard.state(plant, members=forcing.members),
        step_h=track.step_h,
        switches=forcing.aboard.switches(),
        floor_soc=floor_soc,
    )
    if first:
        batch.through(forcing.signals(slice(0, first)))
    if last == first:
        return ()
    charging = batch.through(forcing.signals(slice(first, last)), series=("charging",))["charging"]
    return tuple(_runs(charging, first=first, step_h=track.step_h))


def _runs(charging: np.ndarray, *, first: int, step_h: float) -> Iterator[DayRun]:
    """The runs of a day in order; `charging` is the share of each step, shaped (steps, members)."""
    left = np.array(charging)
    for _ in range(MOST_RUNS):
        runs = left.any(axis=0)
        if not runs.any():
            return
        starts = np.argmax(left > 0.0, axis=0)
        steps = np.arange(len(left))[:, None]
        on = (left > 0.0) | (steps < starts)
        own = np.logical_and.accumulate(on, axis=0) & (steps >= starts) & runs
        hours = (left * own).sum(axis=0) * step_h
        yield DayRun(
            frac=float(runs.mean()),
            run_h=float(np.median(hours[runs])),
            starts_h=float(np.median(first + starts[runs])) * step_h,
        )
        left = np.where(own, 0.0, left)
