"""A charging rule for the rest of a passage, for a boat as the log shows her to be."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from powersim.planning.panel_values import PanelValues, keep_V, panel_values
from powersim.planning.policy_evaluation import PolicyEvaluation, evaluate_policies
from powersim.planning.rule_limits import RuleLimits
from powersim.planning.rule_search import FoundRule, limits_from, search
from powersim.records import ChargingRule, Passage, with_capacity
from powersim.simulation.aboard import ForcingAboard
from powersim.simulation.factors import Factors, with_factors
from powersim.simulation.plant import has_charging_alternator

#: Most members to search in: the answer is wanted soon, and the rule is validated in more of them
#: (docs/model/underway.md).
SEARCHED = 100
#: Share of the work before the search: the first day and the boat's own rule. [-]
_TRIED = 0.1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NewRule:
    """A rule for what is left of a passage.

    Attributes
    ----------
    passage : Passage
        The rest of the passage, with bank and alternator as in the median of the members.
    limits : RuleLimits
        What the rule has to keep.
    found : FoundRule
        The rule, and what it comes to in the validation members.
    own : PolicyEvaluation
        The boat's own rule in the same members.
    panel : PanelValues or None
        The rule as the panel shows it; None where the engine does not charge.
    keep_V : float or None
        Voltage of the least charge to keep, as in `panel_values.keep_V`. [V]
    members, validation_members : int
        Number of members of the search and of the validation.
    """

    passage: Passage
    limits: RuleLimits
    found: FoundRule
    own: PolicyEvaluation
    panel: PanelValues | None
    keep_V: float | None
    members: int
    validation_members: int

    @property
    def is_own(self) -> bool:
        """Whether it is the boat's own rule, since no rule holds and none is less bad."""
        return self.rule == self.passage.boat.charging

    @property
    def rule(self) -> ChargingRule:
        """The rule that was found."""
        return self.found.rule


def new_rule(
    passage: Passage,
    forcing: ForcingAboard,
    validation: ForcingAboard,
    *,
    risk_frac: float,
    progress: Callable | None = None,
) -> NewRule:
    """Search a rule in members that differ in weather and in the state of the boat.

    Parameters
    ----------
    passage : Passage
        The rest of the passage, without an engine plan.
    forcing : ForcingAboard
        Its members for the search, whose step may be longer.
    validation : ForcingAboard
        Other members of the same passage, for the validation.
    risk_frac : float
        Share of the members in which a limit may be broken. [-]
    progress : callable, optional
        Called now and then with the share that is done.

    Raises
    ------
    ValueError
        If the engine has nothing to charge with, or there is an engine plan.
    BalanceError
        If any books do not close.
    """
    boat = passage.boat
    if not has_charging_alternator(boat):
        raise ValueError("there is no alternator that the engine could charge with")
    if passage.engine_plan is not None:
        raise ValueError("a passage with an engine plan has no rule to search for")
    tell = progress or (lambda done_frac: None)
    limits = limits_from(boat, validation, risk_frac=risk_frac)
    own = evaluate_policies(boat, validation, [boat.charging], counted_from_h=limits.counted_from_h)
    tell(_TRIED)
    found = search(
        passage,
        forcing,
        validation,
        limits,
        progress=lambda done_frac: tell(_TRIED + (1.0 - _TRIED) * done_frac),
    )
    middle = validation.aboard.factors.middle()
    as_it_is = _boat_with(boat, middle)
    prepared = _prepared_with(validation.prepared, middle)
    return NewRule(
        passage=replace(passage, boat=as_it_is),
        limits=limits,
        found=found,
        own=own,
        panel=panel_values(as_it_is, found.rule, prepared) if found.rule.by_engine else None,
        keep_V=keep_V(prepared, as_it_is),
        members=forcing.members,
        validation_members=validation.members,
    )


def _boat_with(boat, factors: Factors):
    """The boat with factors applied to bank and alternator."""
    battery, alternator = boat.battery, boat.alternator
    return replace(
        boat,
        battery=with_capacity(battery, battery.capacity_Ah * factors.capacity),
        alternator=replace(
            alternator,
            charging_A=alternator.charging_A * factors.alternator,
            motoring_A=alternator.motoring_A * factors.alternator,
            nameplate_A=None,  # of another machine
        ),
    )


def _prepared_with(prepared, factors: Factors):
    """What panel values need, with factors applied to bank and loads."""
    signals = prepared.signals
    return replace(
        prepared,
        plant=with_factors(prepared.plant, factors),
        signals=replace(
            signals,
            load_A=signals.load_A * factors.demand,
            load_W=signals.load_W * factors.demand,
        ),
    )
