"""Where in the year a moment lies, for tables that hold one value a month."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Dates, Ints

_MONTH = np.timedelta64(1, "M")


def between_months(utc_s: Array) -> tuple[Ints, Ints, Array]:
    """The two months whose middles a moment lies between.

    Parameters
    ----------
    utc_s : ndarray
        Unix time. [s]

    Returns
    -------
    before, after : ndarray of int
        Months, 0 for January.
    weight : ndarray
        How far it is from the middle of the one to the middle of the other, 0 to 1, by whole days
        of UTC. [-]

    Notes
    -----
    The middle is taken at day 15.5 of a month of 31, as pvlib takes it for its turbidity table.
    A straight line between middles flattens a month's peak a little: its mean becomes 3/4 of its
    own value and 1/8 of each neighbour's.

    Examples
    --------
    >>> between_months(np.array([1767225600.0]))  # 1 January 2026
    (array([11]), array([0]), array([0.53]))
    """
    day = np.asarray(utc_s, dtype=float).astype("datetime64[s]").astype("datetime64[D]")
    this: Dates = day.astype("datetime64[M]")
    before = this - (_past_middle_d(day, this) < 0) * _MONTH
    weight = _past_middle_d(day, before) / (0.5 * (_days_in(before) + _days_in(before + _MONTH)))
    month = before.astype(int) % 12
    return month, (month + 1) % 12, weight


def _past_middle_d(day: Dates, month: Dates) -> Array:
    return (day - month.astype("datetime64[D]")).astype(float) + 1.0 - 0.5 * _days_in(month)


def _days_in(month: Dates) -> Array:
    return ((month + _MONTH).astype("datetime64[D]") - month.astype("datetime64[D]")).astype(float)
