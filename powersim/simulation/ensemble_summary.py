"""An ensemble in plain numbers: what `summary.json` holds of it and the screen is made from."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from powersim.defaults import RISK_FRAC
from powersim.records import Fuel
from powersim.simulation.bands import band, chance_of

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools
    from powersim.simulation.ensemble import EnsembleResult

#: The first day, in which a bank that leaves below its floor may come up. [h]
FIRST_h = 24
#: Amounts of a member that are told as bands.
_BANDED = (
    *("charging_h", "charging_runs", "motoring_h"),
    *("charging_L", "motoring_L", "alternator_motoring_L", "heater_L", "fuel_short_L"),
    *("fuel_left_L", "solar_Ah", "alternator_Ah", "loads_Ah", "surplus_Ah", "unserved_Ah"),
)


def ensemble_summary(
    ensemble: EnsembleResult,
    *,
    fuel: Fuel | None,
    floor_soc: float = 0.0,
    risk_frac: float = RISK_FRAC,
) -> dict[str, Any]:
    """The passage in many members.

    Parameters
    ----------
    ensemble : EnsembleResult
        What came of the members.
    fuel : Fuel or None
        Of the boat, for its reserve.
    floor_soc : float
        Of the bank. [-]
    risk_frac : float
        Share of the members that may break floor or reserve. [-]

    Returns
    -------
    dict
        Of numbers and dicts only; None for what never comes.
    """
    floor, flat = np.isfinite(ensemble.floor_h), np.isfinite(ensemble.flat_h)
    reserve = reserve_broken(ensemble, fuel)
    fails = chance_of(fails_in(ensemble, fuel))
    return {
        "members": ensemble.members,
        "seed": ensemble.seed,
        "risk_frac": risk_frac,
        "holds": fails.frac <= risk_frac,
        "fails": fails._asdict(),
        "floor_broken": chance_of(floor)._asdict(),
        "floor_broken_later": chance_of(_below_later(ensemble, floor_soc))._asdict(),
        "flat": chance_of(flat)._asdict(),
        "reserve_broken": chance_of(reserve)._asdict(),
        "lowest_soc": band(ensemble.lowest_soc) | {"least": float(ensemble.lowest_soc.min())},
        "lowest_V": band(ensemble.lowest_V),
        "days_to_floor": band(ensemble.floor_h / 24.0),
        "days_to_flat": band(ensemble.flat_h / 24.0),
        "longest_gap_between_full_days": band(ensemble.longest_since_full_h / 24.0),
        **{name: band(getattr(ensemble, name)) for name in _BANDED},
        **{name: band(taken_Ah) for name, taken_Ah in ensemble.others_Ah.items()},
        "by_day": [_day(*row) for row in zip(*risk_by_day(ensemble, fuel).values(), strict=True)],
    }


def _below_later(ensemble: EnsembleResult, floor_soc: float) -> Bools:
    """Which members are below the floor from the second day on, by the hour or dark."""
    below = (ensemble.hour_soc[FIRST_h:] < floor_soc).any(axis=0)
    return below | (np.isfinite(ensemble.flat_h) & (ensemble.flat_h >= FIRST_h))


def fails_in(ensemble: EnsembleResult, fuel: Fuel | None) -> Bools:
    """Which members break the floor or the reserve, or go dark.

    Parameters
    ----------
    ensemble : EnsembleResult
        What came of the members.
    fuel : Fuel or None
        Of the boat.

    Returns
    -------
    ndarray of bool, shape (members,)
        True where one of the three happens.
    """
    charge = np.isfinite(ensemble.floor_h) | np.isfinite(ensemble.flat_h)
    return charge | reserve_broken(ensemble, fuel)


def reserve_broken(ensemble: EnsembleResult, fuel: Fuel | None) -> Bools:
    """Which members eat into the reserve of diesel, or run out of it.

    Parameters
    ----------
    ensemble : EnsembleResult
        What came of the members.
    fuel : Fuel or None
        Of the boat; None without an engine, which keeps no reserve.

    Returns
    -------
    ndarray of bool, shape (members,)
        All False for a boat without fuel.
    """
    if fuel is None:
        return np.zeros(ensemble.members, dtype=bool)
    left_L = ensemble.fuel_left_L
    used_up = (left_L <= 0.0) & (fuel.usable_L > 0.0)
    return (left_L < fuel.reserve_L) | (ensemble.fuel_short_L > 0.0) | used_up


def risk_by_day(ensemble: EnsembleResult, fuel: Fuel | None) -> dict[str, Any]:
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
        `days` after departure, the last being landfall; then shares below the floor, dark, and
        with less diesel than the reserve.
    """
    hours = len(ensemble.hour_soc)
    end_h = np.minimum(24.0 * np.arange(1, math.ceil(hours / 24.0) + 1), hours)
    if fuel is None:
        reserve_frac = np.zeros(len(end_h))
    else:
        left_L = ensemble.hour_fuel_left_L[end_h.astype(int) - 1]
        reserve_frac = (left_L < fuel.reserve_L).mean(axis=1)
    return {
        "days": end_h / 24.0,
        "floor_frac": _by(ensemble.floor_h, end_h),
        "flat_frac": _by(ensemble.flat_h, end_h),
        "reserve_frac": reserve_frac,
    }


def _by(when_h: Array, end_h: Array) -> Array:
    """Share of the members for which something has come by each of some hours."""
    return np.searchsorted(np.sort(when_h), end_h, side="right") / len(when_h)


def _day(days: float, floor_frac: float, flat_frac: float, reserve_frac: float) -> dict[str, Any]:
    return {
        "days": float(days),
        "floor_frac": float(floor_frac),
        "flat_frac": float(flat_frac),
        "reserve_frac": float(reserve_frac),
    }
