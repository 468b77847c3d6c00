"""How far a member's months lie from the climatology's: the table's error, and the year."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from powersim.sky import streams

if TYPE_CHECKING:
    from powersim.records.arrays import Array, FloatsT, Ints

# Some years a month is grey all over. Share of the deviate's variance that the year has, by the
# mean Kt: none in the storm belts, where every month has all sorts of days. [-]
YEAR_AT_KT, YEAR_SHARE = (0.45, 0.60), (0.0, 0.30)
# Address of the draw for the year: a day nobody sails on.
_YEAR_INDEX = -(10**9)


def year_share(mean_kt: FloatsT) -> FloatsT:
    """How much of the days' variance is that of whole months from year to year.

    Parameters
    ----------
    mean_kt : float or ndarray
        Mean clearness of the month. [-]

    Returns
    -------
    float or ndarray
        Of the variance of the normal deviate. [-]

    Examples
    --------
    >>> float(year_share(0.4)), float(year_share(0.7))
    (0.0, 0.3)
    """
    return np.interp(mean_kt, YEAR_AT_KT, YEAR_SHARE)


def month_deviate(day: Ints, *, seed: int, members: int) -> Array:
    """How bright or grey each member's months are, day by day.

    Parameters
    ----------
    day : ndarray of int, shape (days,)
        Numbers of the days, one after the other.
    seed, members : int
        As for streams.uniform.

    Returns
    -------
    ndarray, shape (days, members)
        Standard normal. [-]
    """
    year = streams.normal(streams.DAY_CLEARNESS, seed=seed, index=_YEAR_INDEX, members=members)
    return np.broadcast_to(year, (day.size, members))
