"""A charging rule for the rest of a passage, for a boat that is not quite what her files say."""

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

#: Members that a rule is searched in, at most: the answer is wanted soon, and the rule is judged
#: in more of them (docs/model/underway.md).
SEARCHED = 100
#: Share of the whole work that the first day and the boat's own rule are. [-]
_TRIED = 0.1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NewRule:
    """A rule for what is left of a passage.

    Attributes
    ----------
    passage : Passage
        With the bank and the alternator as they are in the middle of all members.
    limits : RuleLimits
        What was asked for.
    found : FoundRule
        The rule, and what it comes to in the members that it was judged in.
    own : PolicyEvaluation
        The boat's own rule in the same members.
    panel : PanelValues or None
        The rule in what the panel shows; None where the engine is left alone.
    keep_V : float or None
        The least charge to keep, as `panel_values.keep_V` has it. [V]
    members, validation_members : int
        Members that the rule was searched in and judged in.
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
        """Whether it is the boat's own rule: none that was tried is less bad, and none holds."""
        return self.rule == self.passage.boat.charging

    @property
    def rule(self) -> ChargingRule:
        """The rule itself."""
        return self.found.rule


def new_rule(
    passage: Passage,
    forcing: ForcingAboard,
    validation: ForcingAboard,
    *,
    risk_frac: float,
    progress: Callable | None = None,
) -> NewRule:
    """Search a rule in members that are each met by a boat of its own.

    Parameters
    ----------
    passage : Passage
        From here on, without an engine plan.
    forcing : ForcingAboard
        Of this passage, to search in; its step may be longer.
    validation : ForcingAboard
        Other members of the same passage, to judge in.
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
        boat,
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
    """A boat whose bank and alternator are what factors make of them."""
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
    """What panel values are told from, with the bank and the loads that factors make."""
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
