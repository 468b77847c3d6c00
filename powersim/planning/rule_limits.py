"""The limits that a charging rule has to keep, and in how many members it breaks them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from powersim.records import Boat
from powersim.simulation.bands import quantiles

if TYPE_CHECKING:
    from powersim.planning.policy_evaluation import PolicyEvaluation

#: How much later than required a full charge may come: if it is due in the evening, it has to wait
#: for the next day's hours. [h]
FULL_GRACE_h = 24.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleLimits:
    """The limits that a rule must keep in all but a share of the members.

    Attributes
    ----------
    risk_frac : float
        Share of the members in which a limit may be broken. [-]
    floor_soc : float
        Least charge. [-]
    reserve_L : float
        Diesel that must be left at landfall. [L]
    burns : bool
        Whether the boat has any diesel.
    since_full_h : float
        Longest time without a full charge; infinity for no limit. [h]
    counted_from_h : float
        When the floor begins to count: 0, or a day later where no rule can keep the bank above it
        so soon (first_day.py). Darkness always counts. [h]
    """

    risk_frac: float
    floor_soc: float
    reserve_L: float
    burns: bool
    since_full_h: float
    counted_from_h: float = 0.0


def limits_of(boat: Boat, *, risk_frac: float) -> RuleLimits:
    """The limits that a boat's files set, and the share of members in which each may be broken."""
    days = boat.charging.full_every_days
    return RuleLimits(
        risk_frac=risk_frac,
        floor_soc=boat.battery.floor_soc,
        reserve_L=boat.fuel.reserve_L if boat.fuel else 0.0,
        burns=boat.fuel is not None and boat.fuel.usable_L > 0.0,
        since_full_h=math.inf if days is None else 24.0 * days + FULL_GRACE_h,
    )


def broken(evaluation: PolicyEvaluation, limits: RuleLimits) -> dict[str, np.ndarray]:
    """Where each limit is broken.

    Parameters
    ----------
    evaluation : PolicyEvaluation
        What the rules came to.
    limits : RuleLimits
        What they had to keep.

    Returns
    -------
    dict of str to ndarray of bool, shape (rules, members)
        "floor": charge below it, or all dark; "reserve": diesel below it, or run out; "full": too
        long without a full charge.
    """
    return {
        "floor": evaluation.below_floor,
        "reserve": (evaluation.fuel_left_L < limits.reserve_L) | runs_dry(evaluation, limits),
        "full": evaluation.longest_since_full_h > limits.since_full_h + 1e-9,
    }


def runs_dry(evaluation: PolicyEvaluation, limits: RuleLimits) -> np.ndarray:
    """Where all diesel that can be burnt is used up, or more is wanted than there is.

    Parameters
    ----------
    evaluation : PolicyEvaluation
        What the rules came to.
    limits : RuleLimits
        Whether there is diesel at all.
    """
    return limits.burns & ((evaluation.fuel_short_L > 0.0) | (evaluation.fuel_left_L <= 0.0))


def worst_frac(evaluation: PolicyEvaluation, limits: RuleLimits, *, but: str = "") -> np.ndarray:
    """How often each rule breaks the limit that it breaks most often.

    Parameters
    ----------
    evaluation : PolicyEvaluation
        What the rules came to.
    limits : RuleLimits
        What they had to keep.
    but : str
        A limit of `broken` that is left out.

    Returns
    -------
    ndarray, shape (rules,)
        Share of the members, to compare with `risk_frac`. [-]
    """
    shares = [
        where.mean(axis=1) for name, where in broken(evaluation, limits).items() if name != but
    ]
    return np.max(shares, axis=0)


def floor_margin(evaluation: PolicyEvaluation, limits: RuleLimits) -> np.ndarray:
    """How far above the floor each rule keeps the bank in all but the share of members allowed.

    It is negative where the floor is broken too often; shaped (rules,). [-]
    """
    return quantiles(evaluation.lowest_soc, (limits.risk_frac,))[0] - limits.floor_soc
