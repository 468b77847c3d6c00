"""What the next day asks of the engine, in the members that the log leaves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from powersim.records.brief import brief
from powersim.simulation.carry import Batch

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools, Ints
    from powersim.simulation.aboard import ForcingAboard

DAY_h = 24.0
#: More runs of a day than are told.
MOST_RUNS = 2
#: Runs that begin so soon after each other are told as one. [h]
TOGETHER_h = 4.0


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
        Those of most members, in order of time; none where nobody runs the engine.
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


def _runs(charging: Array, *, first: int, step_h: float) -> list[DayRun]:
    """The runs of a day in order of time; `charging` is the share of each step, (steps, members).

    Members run at other times of the day, by what each reads: runs that begin within TOGETHER_h of
    each other are one, that of most members first.
    """
    starts, hours, member = _each(charging, step_h=step_h)
    width = max(round(TOGETHER_h / step_h), 1)
    found: list[DayRun] = []
    while len(starts) and len(found) < MOST_RUNS:
        counts = [len(set(member[_within(starts, begin, width)])) for begin in starts]
        near = _within(starts, int(starts[int(np.argmax(counts))]), width)
        found.append(
            DayRun(
                frac=max(counts) / charging.shape[1],
                run_h=float(np.median(hours[near])),
                starts_h=float(first + np.median(starts[near])) * step_h,
            )
        )
        starts, hours, member = starts[~near], hours[~near], member[~near]
    return sorted(found, key=lambda run: run.starts_h)


def _within(starts: Ints, begin: int, width: int) -> Bools:
    return (starts >= begin) & (starts < begin + width)


def _each(charging: Array, *, step_h: float) -> tuple[Ints, Array, Ints]:
    """Every run of every member: the step in which it begins, how long it is, and whose."""
    on = charging > 0.0
    begins = on & ~np.vstack([np.zeros((1, on.shape[1]), bool), on[:-1]])
    runs = np.cumsum(begins, axis=0)  # which run of its member a step belongs to, where it is on
    starts, member = np.nonzero(begins)
    hours = [
        step_h * float(charging[on[:, who] & (runs[:, who] == runs[at, who]), who].sum())
        for at, who in zip(starts, member, strict=True)
    ]
    return starts, np.array(hours), member
