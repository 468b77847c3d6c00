"""When the rule lets the engine be run to charge, and when it has the bank read."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from powersim.kernel.readings import FIRST_READING, LATER_READING
from powersim.records import ChargingRule
from powersim.voyage.ship_time import in_hours
from powersim.voyage.track import Track

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools


def rule_steps(rule: ChargingRule, sun_track: Track, per_step: int) -> dict[str, Array]:
    """What a charging rule does by the clock: when it lets the engine run, when the bank is read.

    Parameters
    ----------
    rule : ChargingRule
        For its hours and its readings.
    sun_track : Track
        At the sun's steps.
    per_step : int
        How many of them make one of the kernel's.

    Returns
    -------
    dict of str to ndarray, shape (n,)
        The fields of Signals: `may_run`, `opens_h`, `closes_h`, `reads`.
    """
    return allowed_hours(rule, sun_track, per_step) | {
        "reads": reading_steps(rule.read_at_h, sun_track, per_step)
    }


def slept_through(reads: Array, every: int) -> Array:
    """The same readings without each so-manieth of them.

    Parameters
    ----------
    reads : ndarray, shape (n,)
        From `reading_steps`.
    every : int
        Of so many readings one is slept through, the last of them; 0 for none.

    Returns
    -------
    ndarray, shape (n,)
        With 0 where it would have been.

    Examples
    --------
    >>> slept_through(np.array([1.0, 0.0, 2.0, 1.0, 2.0]), 2).tolist()
    [1.0, 0.0, 0.0, 1.0, 0.0]
    """
    left = reads.copy()
    if every:
        left[np.flatnonzero(reads)[every - 1 :: every]] = 0.0
    return left


def reading_steps(read_at_h: Sequence[float], sun_track: Track, per_step: int) -> Array:
    """In which steps the bank is read.

    Parameters
    ----------
    read_at_h : sequence of float
        Ship's times, in order. [h]
    sun_track : Track
        At the sun's steps.
    per_step : int
        How many of them make one of the kernel's.

    Returns
    -------
    ndarray, shape (n,)
        rules.FIRST_READING in the step that has the day's first one, rules.LATER_READING in one
        that has a later one, else 0. The bank is read as such a step begins.

    Notes
    -----
    Where a zone is entered the clock is set an hour on or back: a reading is neither left out nor
    taken twice.
    """
    found = np.zeros(sun_track.n_steps // per_step)
    if not read_at_h:
        return found
    # The date line changes the date and not the clock.
    ahead_h = np.unwrap(sun_track.ship_offset_h, period=24.0)
    begins_h = sun_track.edge_utc_s[:-1] / 3600.0 + ahead_h
    ends_h = begins_h + sun_track.step_h
    for at_h in read_at_h[::-1]:
        # How often the clock has shown that time before the step's end; the end itself is not in
        # it. To a millionth of a day, for the rounding of hours since 1970.
        before = np.ceil(np.round((begins_h[0] - at_h) / 24.0, 6))
        shown = np.ceil(np.round((ends_h - at_h) / 24.0, 6))
        shown = np.maximum.accumulate(np.concatenate([[before], shown]))
        reads = (np.diff(shown) > 0.0).reshape(-1, per_step).any(axis=1)
        found[reads] = FIRST_READING if at_h == read_at_h[0] else LATER_READING
    return found


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
