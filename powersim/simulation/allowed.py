"""When the rule lets the engine be run to charge: hours of ship's time, and runs that still fit."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from powersim.records import (
    ChargingRule,
)
from powersim.voyage.ship_time import in_hours
from powersim.voyage.track import Track

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools


def allowed_hours(rule: ChargingRule, sun_track: Track, per_step: int) -> dict[str, Array]:
    """When within each step the hours of a charging rule allow the engine to run.

    Parameters
    ----------
    rule : ChargingRule
        For its hours.
    sun_track : Track
        At the sun's steps.
    per_step : int
        How many of them make one of the kernel's.

    Returns
    -------
    dict of str to ndarray, shape (n,)
        The fields of Signals: `may_run`, `opens_h`, `closes_h`.
    """
    allowed = in_hours(sun_track, rule.hours_h)
    places = np.arange(allowed.size)
    # What comes after the passage is taken as allowed: what is left of a run fits.
    ends = np.where(allowed, allowed.size + 1, places)
    ends = np.minimum.accumulate(ends[::-1])[::-1]
    end_h = np.where(ends > allowed.size, np.inf, (ends - places) * sun_track.step_h)
    within = allowed.reshape(-1, per_step)
    first = within.argmax(axis=1)
    opens_h = first * sun_track.step_h
    closes_h = opens_h + end_h.reshape(-1, per_step)[np.arange(len(first)), first]
    return {"may_run": within.any(axis=1), "opens_h": opens_h, "closes_h": closes_h}


def allowed_steps(rule: ChargingRule, track: Track) -> tuple[Bools, Bools]:
    """Where the hours of a charging rule allow whole steps of the engine.

    Parameters
    ----------
    rule : ChargingRule
        For its hours and its shortest run.
    track : Track
        Where the boat is, and when.

    Returns
    -------
    tuple of two ndarray of bool, shape (n,)
        Where it may run; where a whole shortest run may begin.
    """
    may_run = in_hours(track, rule.hours_h)
    return may_run, _lasting(may_run, rule.shortest_h / track.step_h)


def _lasting(allowed: Bools, steps: float) -> Bools:
    """Where a whole run of some steps fits into what is allowed, or into what is left of it."""
    fits = allowed.copy()
    for ahead in range(1, math.ceil(steps - 1e-9)):
        fits[:-ahead] &= allowed[ahead:]
    return fits
