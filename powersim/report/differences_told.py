"""What a choice comes to, and how it differs from another one, in words.

A difference is told only where so many passages can show it, and never as a nought: what rounds to
nothing is the same to within a digit.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from powersim.planning.measures import CHARGE, HAPPENS, HOURS, LITRES, RUNS, Measure
from powersim.records.units_aboard import aboard
from powersim.report import rounding
from powersim.simulation.bands import quantiles

if TYPE_CHECKING:
    from powersim.records.arrays import Array
    from powersim.simulation.differences import Difference

#: One passage in so many is told of what a sailor must allow for.
_TAIL_FRAC = 0.1


@dataclass(frozen=True, slots=True)
class _Unit:
    """How amounts of a unit, and differences between them, are written."""

    form: Callable[[float], str]
    unit: str
    times: float = 1.0
    more: str = "more"
    less: str = "less"
    decimals: int = 1


_UNITS = {
    HAPPENS: _Unit(rounding.tenths_of_percent, "points", times=100.0),
    CHARGE: _Unit(rounding.soc, "points", times=100.0, more="higher", less="lower"),
    RUNS: _Unit(lambda runs: rounding.number(runs, decimals=1), "", less="fewer"),
    HOURS: _Unit(rounding.hours, "h"),
}
_DAYS = _Unit(rounding.days, "days", more="longer", less="shorter")


def _unit_of(measure: Measure) -> _Unit:
    if measure.unit != LITRES:
        return _UNITS[measure.unit]
    volume = aboard().volume
    return _Unit(rounding.litres, volume.symbol, times=1.0 / volume.size, decimals=1 + volume.more)


def measure_told(measure: Measure, values: Array) -> str:
    """What a choice comes to in one measure.

    Parameters
    ----------
    measure : Measure
        Which.
    values : ndarray, shape (members,)
        What `measure.of` gives.

    Returns
    -------
    str
        A share and its count; or the mean, and what 1 in 10 lies beyond on the side that a sailor
        must allow for.

    Examples
    --------
    >>> import numpy as np
    >>> from powersim.planning.measures import measure_of
    >>> measure_told(measure_of("fails"), np.arange(200) < 7)
    '3.5 % (7 of 200)'
    >>> measure_told(measure_of("left"), np.array([90.0] * 8 + [40.0] * 2))
    '80.0 L (1 in 10 below 40.0 L)'
    """
    if measure.unit == HAPPENS:
        count, members = int(values.sum()), len(values)
        return f"{rounding.tenths_of_percent(count / members)} ({count} of {members})"
    form = _unit_of(measure).form
    mean = form(float(values.mean()))
    side, share = ("below", _TAIL_FRAC) if measure.less_is_worse else ("above", 1.0 - _TAIL_FRAC)
    tail = form(float(quantiles(values, (share,))[0]))
    return mean if tail == mean else f"{mean} (1 in 10 {side} {tail})"


def difference_told(measure: Measure, difference: Difference) -> str:
    """How a choice differs from another one in one measure.

    Parameters
    ----------
    measure : Measure
        Which.
    difference : Difference
        Of the choice against the other.

    Returns
    -------
    str
        Amount, which way, and in brackets its interval.

    Examples
    --------
    >>> from powersim.planning.measures import measure_of
    >>> from powersim.simulation.differences import Difference
    >>> litres = measure_of("left")
    >>> difference_told(
    ...     litres, Difference(mean=-0.8, least=-1.4, most=-0.2, members=200, differing=180)
    ... )
    '0.8 L less (0.2 to 1.4)'
    >>> difference_told(
    ...     litres, Difference(mean=0.8, least=-1.0, most=2.6, members=200, differing=180)
    ... )
    'no difference that 200 passages can show'
    """
    return _told(difference, _unit_of(measure))


def days_difference_told(difference: Difference) -> str:
    """How much longer or shorter something lasts.

    Parameters
    ----------
    difference : Difference
        Of days.
    """
    return _told(difference, _DAYS)


def _told(difference: Difference, unit: _Unit) -> str:
    members = difference.members
    if difference.same:
        return f"the same in all {members}"
    if not difference.shows:
        return f"no difference that {members} passages can show"
    mean = unit.times * abs(difference.mean)
    near, far = sorted(unit.times * abs(one) for one in (difference.least, difference.most))
    word = unit.more if difference.mean > 0 else unit.less
    last = 10.0**-unit.decimals
    beside = f" {unit.unit}" if unit.unit else ""
    if round(mean, unit.decimals) == 0:
        return f"the same to within {rounding.number(last, decimals=unit.decimals)}{beside}"
    least = (
        f"<{rounding.number(last, decimals=unit.decimals)}"
        if round(near, unit.decimals) == 0
        else rounding.number(near, decimals=unit.decimals)
    )
    amount, most = (rounding.number(one, decimals=unit.decimals) for one in (mean, far))
    between = "" if amount == least == most else f" ({least} to {most})"
    return f"{amount}{beside} {word}{between}"
