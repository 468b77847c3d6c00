"""Means and sums that begin again, or never, made into means over windows that do not overlap."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from itertools import pairwise

from powersim.records import ForecastField


def apart(fields: Iterable[ForecastField]) -> list[ForecastField]:
    """Fields whose windows do not overlap, from fields whose windows may.

    Parameters
    ----------
    fields : iterable of ForecastField
        Of one quantity, means over windows or values of moments.

    Returns
    -------
    list of ForecastField
        In the order of their ends. The newest run comes first where runs overlap, then the
        shorter window.

    Notes
    -----
    Centres average, or add up, from a common start: from every sixth hour, or from the start of
    the run. With m1 the mean from s to e1 and m2 the mean from s to e2, the mean from e1 to e2 is

        (m2 (e2 - s) - m1 (e1 - s)) / (e2 - e1)

    A sum is such a mean once it is divided by its window's length.
    """
    groups: dict[tuple, dict] = defaultdict(dict)
    for field in fields:
        start = field.from_utc_s if field.is_mean else None
        key = (field.run_utc_s, start, id(field.grid))
        groups[key].setdefault(field.to_utc_s, field)
    single: list[ForecastField] = []
    for (_, start, _), by_end in groups.items():
        in_order = [by_end[end] for end in sorted(by_end)]
        single += in_order if start is None else _differences(in_order)
    return _without_overlap(single)


def _differences(in_order: list[ForecastField]) -> list[ForecastField]:
    """Means from each end to the next, of means that start together."""
    result = in_order[:1]
    for before, after in pairwise(in_order):
        start, middle, end = after.from_utc_s, before.to_utc_s, after.to_utc_s
        # in double precision, since most of it cancels
        whole = after.values.astype(float) * (end - start)
        part = before.values.astype(float) * (middle - start)
        values = ((whole - part) / (end - middle)).astype(after.values.dtype)
        result.append(replace(after, from_utc_s=middle, values=values))
    return result


def _without_overlap(fields: list[ForecastField]) -> list[ForecastField]:
    taken: list[ForecastField] = []
    for field in sorted(fields, key=lambda one: (-one.run_utc_s, one.to_utc_s - one.from_utc_s)):
        if not any(_overlap(field, other) for other in taken):
            taken.append(field)
    return sorted(taken, key=lambda one: (one.to_utc_s, one.from_utc_s))


def _overlap(one: ForecastField, other: ForecastField) -> bool:
    """Whether two windows share time; two moments, whether they are the same."""
    if one.is_mean != other.is_mean:
        return False
    if not one.is_mean:
        return one.to_utc_s == other.to_utc_s
    return one.from_utc_s < other.to_utc_s and other.from_utc_s < one.to_utc_s
