"""A week's charging in words that a person can act on: so many runs of so long."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from powersim.report.kinds import BY_WATCH, COUNT, say
from powersim.report.rounding import plural
from powersim.report.view import Text
from powersim.simulation.bands import quantiles

if TYPE_CHECKING:
    from powersim.records.arrays import Array
    from powersim.simulation.ensemble_weeks import EnsembleWeeks

#: What a run's length is rounded to. [h]
_WATCH_h = 0.25


def week_runs(runs: Array, charging_h: Array) -> Text:
    """What a week asks for, as the middle one of its simulated passages has it.

    Parameters
    ----------
    runs : ndarray, shape (members,)
        How often the engine was started to charge in the week.
    charging_h : ndarray, shape (members,)
        How long it ran to charge in the week. [h]

    Returns
    -------
    Text
        The number of runs is the median; each is as long as all runs of all passages on average,
        to a quarter of an hour.

    Examples
    --------
    >>> import numpy as np
    >>> str(week_runs(np.array([3.0, 4.0, 5.0]), np.array([6.0, 8.0, 10.0])))
    'about 4 runs of 2 h'
    >>> str(week_runs(np.array([0.0, 0.0, 0.0, 3.0]), np.array([0.0, 0.0, 0.0, 3.0])))
    'mostly no run; 1 passage in 10 has 2 or more'
    >>> str(week_runs(np.zeros(3), np.zeros(3)))
    'no run'
    """
    median, many = (float(value) for value in quantiles(runs, (0.5, 0.9)))
    usual, often = round_half_up(median), math.floor(many)
    if usual:
        return say("about {} of {}", plural(usual, "run"), BY_WATCH(run_length_h(runs, charging_h)))
    if often:
        return say("mostly no run; 1 passage in 10 has {} or more", COUNT(often))
    return "mostly no run" if runs.any() else "no run"


def week_runs_short(runs: Array, charging_h: Array) -> Text:
    """The same for a narrow column: so many of so long; of few passages none, of many some.

    Examples
    --------
    >>> import numpy as np
    >>> str(week_runs_short(np.array([3.0, 4.0, 5.0]), np.array([7.0, 9.0, 11.0])))
    '4 of 2.25 h'
    >>> str(week_runs_short(np.array([0.0, 0.0, 0.0, 3.0]), np.array([0.0, 0.0, 0.0, 3.0])))
    '0 to 2'
    """
    median, many = (float(value) for value in quantiles(runs, (0.5, 0.9)))
    usual, often = round_half_up(median), math.floor(many)
    if usual:
        return say("{} of {}", COUNT(usual), f"{run_length_h(runs, charging_h):g} h")
    return say("0 to {}", COUNT(often)) if often else "0"


def week_runs_of(weeks: EnsembleWeeks, place: int) -> Text:
    """What one week of an ensemble asks for, counted from 0."""
    return week_runs(weeks.runs[place], weeks.charging_h[place])


def run_length_h(runs: Array, charging_h: Array) -> float:
    """How long a run is on average, to a quarter of an hour; at least one. [h]"""
    mean_h = float(charging_h.sum() / max(runs.sum(), 1.0))
    return max(round_half_up(mean_h / _WATCH_h), 1) * _WATCH_h


def round_half_up(value: float) -> int:
    """The nearest whole number, halves upwards."""
    return math.floor(value + 0.5)
