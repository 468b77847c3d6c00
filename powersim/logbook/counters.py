"""Where counters of a log go back, or count faster than they can.

Of readings that only go up, the longest series that agrees with itself is kept, so that one slip of
the pen costs one reading, whichever way it went.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from powersim.errors import Problem
from powersim.logbook.readings import Reading, without

#: An hour meter may be read a tenth early and a tenth late. [h]
METER_SLACK_h = 0.2
#: 105.2 less 100 is a little more than 5.2 to a computer. [h]
_ROUNDING_h = 1e-6


def only_rising(
    readings: Sequence[Reading], name: str, problems: list[Problem], *, pace: float | None
) -> list[Reading]:
    """Readings of a counter that only goes up, by no more than `pace` an hour if given."""
    having = [place for place, one in enumerate(readings) if getattr(one.entry, name) is not None]
    if not having:
        return list(readings)
    at_h = np.array([readings[place].at_h for place in having])
    counts = np.array([getattr(readings[place].entry, name) for place in having])
    kept = set(longest_rising(at_h, counts, pace=pace))
    readings = list(readings)
    for index, place in enumerate(having):
        if index in kept:
            continue
        one = readings[place]
        beside = _contradicted(index, kept, at_h, counts, pace=pace)
        other = readings[having[beside]]
        apart = f"{abs(one.at_h - other.at_h):.0f} h {'before' if beside < index else 'after'} it"
        reason = (
            f"{counts[index]:.10g} contradicts {counts[beside]:.10g} of line "
            f"{other.entry.line}, {apart}"
        )
        expected = "a counter that never goes back, " + (
            "and not one that starts again each day"
            if pace is None
            else "and by no more than an hour in an hour"
        )
        problems.append(one.entry.problem(name, reason, expected))
        readings[place] = without(one, name)
    return readings


def in_gear_within_engine(readings: Sequence[Reading], problems: list[Problem]) -> list[Reading]:
    """Readings without hours in gear that gained more than the hour meter did."""
    both = [
        (place, one.at_h, one.entry.engine_h, one.entry.gear_h)
        for place, one in enumerate(readings)
        if one.entry.engine_h is not None and one.entry.gear_h is not None
    ]
    if len(both) < 2:
        return list(readings)
    places, at_h, engine_h, gear_h = (np.array(column) for column in zip(*both, strict=True))
    at_rest_h = engine_h - gear_h
    kept = set(longest_rising(at_h, at_rest_h, slack=METER_SLACK_h))
    readings = list(readings)
    for index in sorted(set(range(len(both))) - kept):
        beside = _contradicted(index, kept, at_h, at_rest_h, slack=METER_SLACK_h)
        one, other = readings[places[index]], readings[places[beside]]
        first, last = sorted((index, beside))
        reason = (
            f"{gear_h[index]:.10g} against {gear_h[beside]:.10g} of line {other.entry.line} are "
            f"{gear_h[last] - gear_h[first]:.1f} h in gear, and the hour meter gained "
            f"{engine_h[last] - engine_h[first]:.1f} h"
        )
        expected = "no more hours in gear than engine_h gains; both only go up"
        problems.append(one.entry.problem("gear_h", reason, expected))
        readings[places[index]] = without(one, "gear_h")
    return readings


def _contradicted(index, kept, at_h, counts, **limits) -> int:
    """The reading beside it among those that are kept which one that is not contradicts."""
    earlier = max((k for k in kept if k < index), default=None)
    later = min((k for k in kept if k > index), default=None)
    if earlier is not None:
        pair = [earlier, index]
        if later is None or len(longest_rising(at_h[pair], counts[pair], **limits)) < 2:
            return earlier
    assert later is not None  # one of the two was kept
    return later


def longest_rising(
    at_h: np.ndarray, counts: np.ndarray, *, pace: float | None = None, slack: float = 0.0
) -> Sequence[int]:
    """Places of the longest series of a counter's readings that agrees with itself.

    It gains `pace` an hour at most, if given, and never goes back by more than `slack`. If
    several are equally long, it is the one that ends last, and of these begins first.

    Examples
    --------
    >>> longest_rising([0, 24, 48, 72], [100.0, 102.0, 10.3, 104.0], pace=1.0)
    [0, 1, 3]
    """
    at_h, counts = np.asarray(at_h, dtype=float), np.asarray(counts, dtype=float)
    length, before = np.ones(at_h.size, dtype=int), np.full(at_h.size, -1)
    for k in range(1, at_h.size):
        gained = counts[k] - counts[:k]
        agrees = gained >= -(slack + _ROUNDING_h if slack else 0.0)
        if pace is not None:
            agrees &= gained <= pace * (at_h[k] - at_h[:k]) + METER_SLACK_h + _ROUNDING_h
        best = np.where(agrees, length[:k], 0)
        if best.any():
            before[k] = int(best.argmax())
            length[k] = best[before[k]] + 1
    chain = [at_h.size - 1 - int(length[::-1].argmax())]
    while before[chain[-1]] >= 0:
        chain.append(int(before[chain[-1]]))
    return chain[::-1]
