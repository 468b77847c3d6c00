"""When each member of an ensemble first fails, and so how many have by some time."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from powersim.records import Fuel
from powersim.simulation.verdict import reserve_eaten

if TYPE_CHECKING:
    from powersim.records.arrays import Array
    from powersim.simulation.ensemble import EnsembleResult


class FirstFails(NamedTuple):
    """When each member first fails and of what, after departure; infinite if never.

    Those that ever do are those of `verdict.Failing`, cause by cause.

    Attributes
    ----------
    floor_h, dark_h, reserve_h : ndarray, shape (members,)
        Below the floor since that counts, or dark; dark; with less fuel than the reserve, to the
        hour. [h]
    """

    floor_h: Array
    dark_h: Array
    reserve_h: Array

    @property
    def any_h(self) -> Array:
        """When any of them comes. (members,) [h]"""
        return np.minimum(np.minimum(self.floor_h, self.dark_h), self.reserve_h)


def first_fails(ensemble: EnsembleResult, fuel: Fuel | None) -> FirstFails:
    """When each member first fails.

    Parameters
    ----------
    ensemble : EnsembleResult
        What came of the members.
    fuel : Fuel or None
        Of the boat, for its reserve.

    Returns
    -------
    FirstFails
        For `share_by`.
    """
    return FirstFails(
        floor_h=np.minimum(ensemble.floor_h, ensemble.flat_h),
        dark_h=ensemble.flat_h,
        reserve_h=_reserve_h(ensemble, fuel),
    )


def share_by(first_h: Array, hours: Array) -> Array:
    """Share of the members for which something has come by each of some hours.

    Parameters
    ----------
    first_h : ndarray, shape (members,)
        When it first comes, after departure; infinite if never. [h]
    hours : ndarray, shape (hours,)
        By when. [h]

    Returns
    -------
    ndarray, shape (hours,)
        From 0 to 1. [-]

    Examples
    --------
    >>> share_by(np.array([5.0, np.inf, 24.0, 30.0]), np.array([24.0, 48.0])).tolist()
    [0.5, 0.75]
    """
    return np.searchsorted(np.sort(first_h), hours, side="right") / len(first_h)


def risk_by_day(ensemble: EnsembleResult, fuel: Fuel | None) -> dict[str, Array]:
    """Share of the members that have met with something by the end of each day.

    Parameters
    ----------
    ensemble : EnsembleResult
        What came of the members.
    fuel : Fuel or None
        Of the boat, for its reserve.

    Returns
    -------
    dict of str to ndarray, shape (days,)
        `days` after departure, the last being landfall; then `fails_frac`, the share that has
        failed of any cause, at landfall the verdict's; and the shares below the floor, dark, and
        with less fuel than the reserve.
    """
    hours = len(ensemble.hour_soc)
    end_h = np.minimum(24.0 * np.arange(1, math.ceil(hours / 24.0) + 1), hours)
    first = first_fails(ensemble, fuel)
    return {
        "days": end_h / 24.0,
        "fails_frac": share_by(first.any_h, end_h),
        "floor_frac": share_by(first.floor_h, end_h),
        "flat_frac": share_by(first.dark_h, end_h),
        "reserve_frac": share_by(first.reserve_h, end_h),
    }


def _reserve_h(ensemble: EnsembleResult, fuel: Fuel | None) -> Array:
    """When the reserve is first eaten into, to the end of the hour; fuel aboard only falls."""
    ever = reserve_eaten(
        fuel_left_L=ensemble.fuel_left_L, fuel_short_L=ensemble.fuel_short_L, fuel=fuel
    )
    left_L = ensemble.hour_fuel_left_L
    eaten = reserve_eaten(fuel_left_L=left_L, fuel_short_L=np.zeros_like(left_L), fuel=fuel)
    # A boat that never had any: what she wanted in vain is told at landfall.
    at_landfall_h = np.where(ever, float(len(left_L)), np.inf)
    return np.where(eaten.any(axis=0), eaten.argmax(axis=0) + 1.0, at_landfall_h)
