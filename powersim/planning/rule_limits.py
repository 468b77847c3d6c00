"""The limits that a charging rule has to keep, and how far it keeps them in each member."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from powersim.records import Boat, Fuel
from powersim.simulation.bands import quantiles
from powersim.simulation.verdict import Failing, failing_of, failing_shares, too_often

if TYPE_CHECKING:
    from powersim.planning.policy_evaluation import PolicyEvaluation

#: How much later than asked for a full charge may come: what falls due in the evening waits for the
#: next day's hours, and a run that these cut short goes on the day after. [h]
FULL_GRACE_h = 48.0
#: Margin of a member that fails by a hair. [-]
_HAIR = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleLimits:
    """The limits that a rule must keep in all but a share of the members.

    Attributes
    ----------
    risk_frac : float
        Share of the members in which any of them may be broken. [-]
    floor_soc : float
        Least charge. [-]
    fuel : Fuel or None
        What is aboard, and what must be left of it at landfall; None without an engine.
    full_every_days : float or None
        How often the bank is to be full: no limit, but a promise of its own. [days]
    counted_from_h : float
        When the floor begins to count: 0, or a day later where no rule can keep the bank above it
        so soon (first_day.py). Darkness always counts. [h]
    """

    risk_frac: float
    floor_soc: float
    fuel: Fuel | None
    full_every_days: float | None
    counted_from_h: float = 0.0

    @property
    def burns(self) -> bool:
        """Whether the boat has anything to burn."""
        return self.fuel is not None and self.fuel.usable_L > 0.0

    @property
    def reserve_L(self) -> float:
        """What must be left at landfall. [L]"""
        return self.fuel.reserve_L if self.fuel else 0.0

    @property
    def since_full_h(self) -> float:
        """Longest time without a full charge that keeps the promise; infinity for none. [h]"""
        days = self.full_every_days
        return math.inf if days is None else 24.0 * days + FULL_GRACE_h


def limits_of(boat: Boat, *, risk_frac: float) -> RuleLimits:
    """The limits that a boat's files set, and the share of members in which they may be broken."""
    return RuleLimits(
        risk_frac=risk_frac,
        floor_soc=boat.battery.floor_soc,
        fuel=boat.fuel,
        full_every_days=boat.charging.full_every_days,
    )


def failing(evaluation: PolicyEvaluation, limits: RuleLimits) -> Failing:
    """Where each rule fails, and of what.

    Parameters
    ----------
    evaluation : PolicyEvaluation
        What the rules came to.
    limits : RuleLimits
        What they had to keep.

    Returns
    -------
    Failing
        Of arrays shaped (rules, members).
    """
    return failing_of(
        floor_h=evaluation.floor_h,
        flat_h=evaluation.flat_h,
        fuel_left_L=evaluation.fuel_left_L,
        fuel_short_L=evaluation.fuel_short_L,
        fuel=limits.fuel,
    )


def fails_frac(evaluation: PolicyEvaluation, limits: RuleLimits) -> np.ndarray:
    """How often each rule fails of any cause, shaped (rules,). [-]

    Parameters
    ----------
    evaluation : PolicyEvaluation
        What the rules came to.
    limits : RuleLimits
        What they had to keep.
    """
    return failing_shares(failing(evaluation, limits))


def holds(evaluation: PolicyEvaluation, limits: RuleLimits) -> np.ndarray:
    """Whether each rule fails no more often than it may, shaped (rules,).

    Parameters
    ----------
    evaluation : PolicyEvaluation
        What the rules came to.
    limits : RuleLimits
        What they had to keep.
    """
    return ~too_often(fails_frac(evaluation, limits), limits.risk_frac)


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


def member_margins(evaluation: PolicyEvaluation, limits: RuleLimits) -> np.ndarray:
    """How far each rule is from failing in each member, shaped (rules, members).

    Parameters
    ----------
    evaluation : PolicyEvaluation
        What the rules came to.
    limits : RuleLimits
        What they had to keep.

    Returns
    -------
    ndarray
        Charge above the floor; below 0 where the member fails, for lack of charge or, as a share of
        what can be burnt, of diesel. [-]
    """
    where = failing(evaluation, limits)
    margins = evaluation.lowest_soc - limits.floor_soc
    if limits.fuel is not None and limits.burns:
        lacks = (evaluation.fuel_left_L - limits.reserve_L) / limits.fuel.usable_L
        margins = np.where(where.reserve, np.minimum(margins, lacks), margins)
    return np.where(where.any, np.minimum(margins, -_HAIR), margins)


def margin(evaluation: PolicyEvaluation, limits: RuleLimits) -> np.ndarray:
    """How far each rule is from failing in all but the share of members allowed, shaped (rules,).

    It is negative where it fails too often. [-]

    Parameters
    ----------
    evaluation : PolicyEvaluation
        What the rules came to.
    limits : RuleLimits
        What they had to keep.
    """
    return quantiles(member_margins(evaluation, limits), (limits.risk_frac,))[0]


def lowest(evaluation: PolicyEvaluation, limits: RuleLimits) -> np.ndarray:
    """Charge below which no more members come than may fail, shaped (rules,). [-]

    Parameters
    ----------
    evaluation : PolicyEvaluation
        What the rules came to.
    limits : RuleLimits
        What they had to keep.
    """
    return quantiles(evaluation.lowest_soc, (limits.risk_frac,))[0]


def longest_since_full_h(evaluation: PolicyEvaluation, limits: RuleLimits) -> np.ndarray:
    """Longest time without a full charge in all but the share allowed, shaped (rules,). [h]

    Parameters
    ----------
    evaluation : PolicyEvaluation
        What the rules came to.
    limits : RuleLimits
        What they had to keep.
    """
    return quantiles(evaluation.longest_since_full_h, (1.0 - limits.risk_frac,))[0]


def late_by_h(evaluation: PolicyEvaluation, limits: RuleLimits) -> np.ndarray:
    """How much too late each rule fills the bank, 0 where it keeps its promise; shaped (rules,).

    Parameters
    ----------
    evaluation : PolicyEvaluation
        What the rules came to.
    limits : RuleLimits
        What they had to keep.

    Returns
    -------
    ndarray
        In all but the share allowed of the members, in whole hours. [h]
    """
    late_h = longest_since_full_h(evaluation, limits) - limits.since_full_h
    return np.maximum(np.round(late_h), 0.0)


def keeps_full(evaluation: PolicyEvaluation, limits: RuleLimits) -> np.ndarray:
    """Whether each rule fills the bank as often as is asked for, shaped (rules,).

    Parameters
    ----------
    evaluation : PolicyEvaluation
        What the rules came to.
    limits : RuleLimits
        What they had to keep.
    """
    return late_by_h(evaluation, limits) <= 0.0
