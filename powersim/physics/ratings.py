"""From what a label says of a bank's capacity to the constants of its two wells."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from powersim.physics.wells import Wells, unlevelled_frac
from powersim.records import Battery

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Floats, FloatsT

#: The rate at which a label's capacity is measured. [h]
RATED_H = 20.0

# Bounds of the search for the rate constant: wells that take years or a minute to level. [1/h]
_SLOWEST_PER_H = 1e-6
_FASTEST_PER_H = 50.0
_HALVINGS = 60  # of the logarithm of the rate constant: to the last digit of a float
_MET_FRAC = 1e-9  # how closely a rated capacity must be met for a fit to count as found

# Times whose Peukert capacities the wells meet exactly; between and around them they miss Peukert's
# by a few per cent (docs/model/battery.md). [h]
_LONG_H, _SHORT_H = 10.0, 1.0


def wells_of(battery: Battery) -> Wells:
    """Wells that follow a bank's rated capacities, or else its Peukert exponent.

    Parameters
    ----------
    battery : Battery
        The record.

    Returns
    -------
    Wells
        Their two constants, whatever the length of a step.

    Raises
    ------
    ValueError
        If the rated capacities do not fall with the time, or fall so fast that currents fall too.

    Notes
    -----
    A 10-hour and a 5-hour capacity are both met exactly where two wells can do it. One of them
    (the 5-hour if two wells cannot meet both) is met exactly, and at 1 hour the wells give what the
    Peukert exponent that it implies has for that.

    Examples
    --------
    >>> from powersim.records import battery_of
    >>> wells_of(battery_of("flooded", capacity_Ah=220.0)).available_frac
    0.485
    """
    ten_frac = _rated_frac(battery, battery.capacity_10h_Ah)
    five_frac = _rated_frac(battery, battery.capacity_5h_Ah)
    if ten_frac is not None and five_frac is not None:
        both = fit_wells(long_frac=ten_frac, long_h=10.0, short_frac=five_frac, short_h=5.0)
        if both is not None:
            return both
    if five_frac is not None:
        return _with_exponent(exponent_of(five_frac, duration_h=5.0), long_h=5.0)
    if ten_frac is not None:
        return _with_exponent(exponent_of(ten_frac, duration_h=10.0), long_h=10.0)
    return _with_exponent(battery.peukert_exponent, long_h=_LONG_H)


def wells_with_exponents(exponents: Array) -> Wells:
    """The wells of many banks that differ in their Peukert exponent.

    Parameters
    ----------
    exponents : ndarray, shape (members,)
        1 or more. [-]

    Returns
    -------
    Wells
        Of arrays shaped (members,).
    """
    shares = (peukert_frac(exponents, duration_h=hours) for hours in (_LONG_H, _SHORT_H))
    long_frac, short_frac = shares
    available, rate, _ = _fitted(
        long_frac=long_frac, long_h=_LONG_H, short_frac=short_frac, short_h=_SHORT_H
    )
    single = long_frac == 1.0
    return Wells(
        available_frac=np.where(single, 1.0, available), rate_per_h=np.where(single, 1.0, rate)
    )


def _with_exponent(exponent: float, *, long_h: float) -> Wells:
    """Wells that give Peukert's capacity in some time, and in one hour."""
    found = fit_wells(
        long_frac=peukert_frac(exponent, duration_h=long_h),
        long_h=long_h,
        short_frac=peukert_frac(exponent, duration_h=_SHORT_H),
        short_h=_SHORT_H,
    )
    assert found is not None, "two wells meet any exponent at these two times"
    return found


def _rated_frac(battery: Battery, rated_Ah: float | None) -> float | None:
    return None if rated_Ah is None else rated_Ah / battery.capacity_Ah


def peukert_frac(exponent: FloatsT, *, duration_h: float) -> FloatsT:
    """Capacity in this time over capacity in 20 hours, by Peukert's law.

    Parameters
    ----------
    exponent : float or ndarray
        Peukert's exponent, 1 or more. [-]
    duration_h : float
        Time of the discharge. [h]

    Returns
    -------
    float or ndarray
        (T / 20 h)^(1 - 1 / exponent). [-]

    References
    ----------
    .. [1] W. Peukert, Elektrotechnische Zeitschrift 20 (1897): t = H (C / (I H))^exponent.

    Examples
    --------
    >>> peukert_frac(1.2, duration_h=20.0)
    1.0
    """
    return (duration_h / RATED_H) ** (1.0 - 1.0 / exponent)


def exponent_of(capacity_frac: float, *, duration_h: float) -> float:
    """The Peukert exponent that a second rated capacity implies.

    Parameters
    ----------
    capacity_frac : float
        Capacity in this time over capacity in 20 hours, at most 1. [-]
    duration_h : float
        Time of the second rating, below 20. [h]

    Returns
    -------
    float
        The exponent. [-]

    Raises
    ------
    ValueError
        If the second capacity is more than that in 20 hours, or so little that its current would
        be no larger.
    """
    least_frac = duration_h / RATED_H
    if not least_frac < capacity_frac <= 1:
        raise ValueError(
            f"a {duration_h:g}-hour capacity must lie between {least_frac:g} and 1 of the 20-hour "
            f"capacity, got {capacity_frac:g}"
        )
    return 1.0 / (1.0 - math.log(capacity_frac) / math.log(least_frac))


@lru_cache(maxsize=256)
def fit_wells(
    *, long_frac: float, long_h: float, short_frac: float, short_h: float
) -> Wells | None:
    """Wells that give two rated capacities, each as a share of the 20-hour capacity.

    Parameters
    ----------
    long_frac, short_frac : float
        Capacity in the longer and in the shorter time over that in 20 hours. [-]
    long_h, short_h : float
        These times, short_h < long_h < 20. [h]

    Returns
    -------
    Wells or None
        None if no two wells give both: their capacity falls with the rate within bounds.

    Raises
    ------
    ValueError
        If the capacities do not fall with the time.

    Notes
    -----
    For a given rate constant the longer capacity fixes c in closed form; the shorter one falls
    as the rate constant grows, so halving a bracket finds it. Equal capacities mean a single well.
    """
    if not 0 < short_frac <= long_frac <= 1 or not 0 < short_h < long_h < RATED_H:
        raise ValueError("capacities and times must fall in the order 20 hours, longer, shorter")
    if long_frac == 1.0:
        return Wells(available_frac=1.0, rate_per_h=1.0) if short_frac == 1.0 else None
    available, rate, off = _fitted(
        long_frac=long_frac, long_h=long_h, short_frac=short_frac, short_h=short_h
    )
    if not off < _MET_FRAC:
        return None
    return Wells(available_frac=float(available), rate_per_h=float(rate))


def _fitted(
    *, long_frac: Floats, long_h: float, short_frac: Floats, short_h: float
) -> tuple[Array, Array, Array]:
    """Share of the available well, rate, and how far off the shorter capacity is, of many banks.

    What a bank comes to whose two capacities are alike means nothing: it has a single well.
    """

    def bound_per_available(rate: Array) -> Array:
        spare = long_frac * unlevelled_frac(rate * long_h) - unlevelled_frac(rate * RATED_H)
        slow = spare <= 0.0  # wells too slow to give the longer capacity at all
        return np.where(slow, np.inf, (1.0 - long_frac) / np.where(slow, 1.0, spare))

    def short_of(rate: Array) -> Array:
        bound = bound_per_available(rate)
        slow = np.isinf(bound)
        finite = np.where(slow, 0.0, bound)
        found = (1.0 + finite * unlevelled_frac(rate * RATED_H)) / (
            1.0 + finite * unlevelled_frac(rate * short_h)
        )
        return np.where(slow, np.inf, found)

    none = 0.0 * np.asarray(long_frac)
    low, high = none + math.log(_SLOWEST_PER_H), none + math.log(_FASTEST_PER_H)
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        slower = short_of(np.exp(middle)) > short_frac
        low, high = np.where(slower, middle, low), np.where(slower, high, middle)
    rate = np.exp(high)
    return 1.0 / (1.0 + bound_per_available(rate)), rate, np.abs(short_of(rate) - short_frac)
