"""Many members in few numbers: quantiles over them, and how often something happens among them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools

#: What a band is drawn from: the tenth least, the middle and the tenth greatest. [-]
BAND = (0.1, 0.5, 0.9)
#: Values sorted at once, so that a large table needs little memory beside itself.
_AT_ONCE = 1 << 19
#: Standard normal quantile of a two-sided confidence of 95 %. [-]
_Z_95 = 1.959963984540054


class Chance(NamedTuple):
    """How often something happened, and how often it may with ever more members; shares."""

    frac: float
    least_frac: float
    most_frac: float


def quantiles(values: Array, shares: Sequence[float] = BAND) -> Array:
    """Quantiles over members, linear between neighbours.

    Parameters
    ----------
    values : ndarray, shape (..., members)
        May be infinite, not nan.
    shares : sequence of float
        Of the members that lie below. [-]

    Returns
    -------
    ndarray, shape (shares, ...)
        As numpy.quantile has them; infinite between a finite and an infinite neighbour.

    Notes
    -----
    All members are put in order, which is many times as quick as numpy.quantile row by row, and
    quicker than to put only the neighbours of each quantile in their places.

    Examples
    --------
    >>> quantiles(np.array([4.0, 1.0, 3.0, 2.0, 5.0]), (0.1, 0.5)).tolist()
    [1.4, 3.0]
    """
    values = np.asarray(values, dtype=float)
    rows = values.reshape(-1, values.shape[-1])
    members = rows.shape[1]
    places = np.asarray(shares) * (members - 1)
    below = np.floor(places).astype(int)
    above = np.minimum(below + 1, members - 1)
    found = np.empty((len(below), len(rows)))
    for first in range(0, len(rows), rows_at_once := max(1, _AT_ONCE // members)):
        part = slice(first, first + rows_at_once)
        ranked = np.sort(rows[part], axis=1)
        found[:, part] = _between(ranked[:, below].T, ranked[:, above].T, (places - below)[:, None])
    return found.reshape(len(below), *values.shape[:-1])


def _between(low: Array, high: Array, part: Array) -> Array:
    """Linear, and without nan where one or both are infinite."""
    apart = (high > low) & np.isfinite(low)  # above minus infinity nothing lies between
    rise = np.subtract(high, low, out=np.zeros_like(low), where=apart)
    return low + np.multiply(rise, part, out=np.zeros_like(low), where=(rise > 0) & (part > 0))


def chance_of(happened: Bools) -> Chance:
    """How often something happened among the members, and how sure that is.

    Parameters
    ----------
    happened : ndarray of bool, shape (members,)
        Whether it did, in each member.

    Returns
    -------
    Chance
        With Wilson's interval of 95 %: were ever more members tried, their share would come to
        lie in it 19 times in 20.

    References
    ----------
    .. [1] E. B. Wilson, Probable inference, the law of succession, and statistical inference,
       J. Am. Stat. Assoc. 22 (1927) 209-212.

    Examples
    --------
    >>> tuple(round(share, 3) for share in chance_of(np.arange(200) < 10))
    (0.05, 0.027, 0.09)
    """
    members = len(happened)
    frac = float(np.count_nonzero(happened)) / members
    narrow = _Z_95**2 / members
    middle = (frac + narrow / 2.0) / (1.0 + narrow)
    spread = math.sqrt(narrow * (frac * (1.0 - frac) + narrow / 4.0)) / (1.0 + narrow)
    # Rounding must not leave the share itself outside, nor the bounds outside of all shares.
    least, most = max(0.0, middle - spread), min(1.0, middle + spread)
    return Chance(frac, min(frac, least), max(frac, most))


def band(values: Array) -> dict[str, Any]:
    """The tenth least, the middle and the tenth greatest, as a file holds them.

    Parameters
    ----------
    values : ndarray, shape (members,)
        May be infinite for never.

    Returns
    -------
    dict
        Keys p10, p50 and p90; None for never.
    """
    return {
        f"p{100.0 * share:.0f}": float(value) if math.isfinite(value) else None
        for share, value in zip(BAND, quantiles(values), strict=True)
    }


def told_of(values: Array) -> dict[str, Any]:
    """A band, and the mean with it: of what is mostly little and seldom much, neither says all.

    Parameters
    ----------
    values : ndarray, shape (members,)
        May be infinite for never.

    Returns
    -------
    dict
        Keys p10, p50, p90 and mean; None for never, and for a mean over what never comes.

    Examples
    --------
    >>> told_of(np.array([0.0, 10.0, 80.0]))["mean"]
    30.0
    """
    mean = float(np.mean(values))
    return band(values) | {"mean": mean if math.isfinite(mean) else None}
