"""The engine-charging plan of a passage: the rule, its timetable, and how good it is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from powersim.defaults import PLAN_MEMBERS, RISK_FRAC, SEED, STEP_h
from powersim.planning.foresight import Foresight, foresight, serving_all
from powersim.planning.panel_values import PanelValues, keep_V, panel_values
from powersim.planning.policy_evaluation import PolicyEvaluation, evaluate_policies
from powersim.planning.rule_limits import RuleLimits
from powersim.planning.rule_one_sky import search_one_sky
from powersim.planning.rule_search import FoundRule, search_for
from powersim.planning.scenario import MeanSky
from powersim.planning.what_would_help import Help, what_would_help
from powersim.records import ChargingRule, Passage
from powersim.records.brief import brief
from powersim.simulation.plant import has_charging_alternator
from powersim.simulation.prepare import Prepared, prepare
from powersim.simulation.result import SimulationResult, simulate

if TYPE_CHECKING:
    import pandas as pd

#: Members that a rule is judged in beside those that it is searched in: one in twenty of them is
#: known to 0.7 in a hundred.
VALIDATION_MEMBERS = 1000
#: Share of the whole work that the search is, and the lower bound's rule after it. [-]
_SEARCHED, _ONE_SKY = 0.80, 0.88


@dataclass(frozen=True, slots=True, kw_only=True)
class LowerBound:
    """How good the rule is in one and the same sky, the month's mean, with every load kept on.

    Attributes
    ----------
    bound : Foresight
        The least diesel that perfect foresight could reach, ending as full as `best`.
    best : PolicyEvaluation
        The rule that would be best in this sky, were it known beforehand.
    planned : PolicyEvaluation
        The rule of the plan in this sky.
    """

    bound: Foresight
    best: PolicyEvaluation
    planned: PolicyEvaluation


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plan:
    """An engine-charging plan.

    Attributes
    ----------
    passage : Passage
        As it was given, with the boat's own rule.
    planned : Passage
        With the rule of the plan.
    limits : RuleLimits
        What was asked for.
    found : FoundRule
        The rule, and what it came to in the members that it was judged in.
    own : PolicyEvaluation
        The boat's own rule in the same members.
    lower_bound : LowerBound or None
        None where the engine is not run at all, and where the rule does not hold: litres say
        nothing of that.
    panel : PanelValues or None
        The rule in what the panel shows; None where the engine is not run at all.
    keep_V : float or None
        The least charge to keep, as `panel_values.keep_V` has it. [V]
    result : SimulationResult
        The passage by the rule of the plan in the month's mean sky: the expected timetable.
    help : Help or None
        What would make a rule hold, where none does.
    members, validation_members, seed : int
        Members that the rule was searched in and judged in, and which.
    """

    passage: Passage
    planned: Passage
    limits: RuleLimits
    found: FoundRule
    own: PolicyEvaluation
    lower_bound: LowerBound | None
    panel: PanelValues | None
    keep_V: float | None
    result: SimulationResult
    help: Help | None
    members: int
    validation_members: int
    seed: int

    __repr__ = brief

    @property
    def rule(self) -> ChargingRule:
        """The rule of the plan."""
        return self.found.rule

    @property
    def runs(self) -> pd.DataFrame:
        """pandas.DataFrame, one row for each charging run of the expected timetable."""
        engine = self.result.engine
        return engine[engine["kind"] == "charging"].reset_index(drop=True)


def plan(
    passage: Passage,
    *,
    members: int = PLAN_MEMBERS,
    seed: int = SEED,
    risk_frac: float = RISK_FRAC,
    step_h: float = STEP_h,
    validation_members: int = VALIDATION_MEMBERS,
    progress: Callable[[float], object] | None = None,
) -> Plan:
    """Search the rule, judge it, and hold it against what perfect foresight could do.

    Parameters
    ----------
    passage : Passage
        Without an engine plan: the rule is what is asked for.
    members : int
        Members that the rule is searched in.
    seed : int
        Which members.
    risk_frac : float
        Share of the members in which a limit may be broken. [-]
    step_h : float
        Step of the simulation. [h]
    validation_members : int
        Other members, that the rule is judged in.
    progress : callable, optional
        Called now and then with the share of the work that is done.

    Raises
    ------
    ValueError
        If the passage has an engine plan.
    BalanceError
        If any books do not close.
    InputError
        If a weather file of the passage does not cover the boat and may not be left out.
    """
    if passage.engine_plan is not None:
        raise ValueError("a passage with an engine plan has no rule to search for")
    tell = progress or (lambda done_frac: None)
    boat = passage.boat
    prepared = prepare(passage, step_h=step_h)
    limits, forcing, validation, found = search_for(
        passage,
        prepared,
        members=members,
        validation_members=validation_members,
        seed=seed,
        risk_frac=risk_frac,
        progress=lambda done_frac: tell(_SEARCHED * done_frac),
    )
    planned = with_rule(passage, found.rule)
    runs_engine = found.rule.by_engine and has_charging_alternator(boat)
    made = Plan(
        passage=passage,
        planned=planned,
        limits=limits,
        found=found,
        own=evaluate_policies(
            boat, validation, [boat.charging], counted_from_h=limits.counted_from_h
        ),
        lower_bound=(
            _lower_bound(passage, prepared, found.rule, limits.counted_from_h, tell)
            if runs_engine and found.holds
            else None
        ),
        panel=panel_values(boat, found.rule, prepared) if runs_engine else None,
        keep_V=keep_V(prepared, boat),
        result=simulate(planned, step_h=step_h),
        help=None if found.holds else what_would_help(passage, forcing, found, limits),
        members=members,
        validation_members=validation_members,
        seed=seed,
    )
    tell(1.0)
    return made


def with_rule(passage: Passage, rule: ChargingRule) -> Passage:
    """The same passage by another charging rule."""
    return replace(passage, boat=replace(passage.boat, charging=rule))


def _lower_bound(
    passage: Passage,
    prepared: Prepared,
    rule: ChargingRule,
    counted_from_h: float,
    tell: Callable[[float], object],
) -> LowerBound:
    # To let loads be switched off is no way of saving: all are held to the same service.
    kept_on, alike = serving_all(passage, prepared)
    best = search_one_sky(kept_on, alike, counted_from_h=counted_from_h)
    tell(_ONE_SKY)
    bound = foresight(
        kept_on,
        alike,
        end_soc=float(best.end_soc[0, 0]),
        counted_from_h=counted_from_h,
        progress=lambda done_frac: tell(_ONE_SKY + (0.99 - _ONE_SKY) * done_frac),
    )
    sky = MeanSky(prepared=alike)
    planned = evaluate_policies(kept_on.boat, sky, [rule], counted_from_h=counted_from_h)
    return LowerBound(bound=bound, best=best, planned=planned)
