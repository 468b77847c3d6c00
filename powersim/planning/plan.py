"""The engine-charging plan of a passage: the rule, its timetable, and how good it is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, cast

from powersim.defaults import PLAN_MEMBERS, RISK_FRAC, SEED, STEP_h
from powersim.planning.foresight import Foresight, foresight, serving_all
from powersim.planning.hour_in_gear import EngineHour, engine_hours
from powersim.planning.panel_values import PanelValues, keep_V, panel_values, shown_V
from powersim.planning.policy_evaluation import PolicyEvaluation, evaluate_policies
from powersim.planning.rule_limits import RuleLimits
from powersim.planning.rule_one_sky import search_one_sky
from powersim.planning.rule_search import FoundRule, search_for
from powersim.planning.scenario import changed
from powersim.planning.what_would_help import Help, what_would_help
from powersim.records import ChargingRule, Passage
from powersim.records.brief import brief
from powersim.simulation.ensemble import run_ensemble
from powersim.simulation.mean_sky import MeanSky
from powersim.simulation.plant import has_charging_alternator
from powersim.simulation.prepare import prepare
from powersim.simulation.prepared import Prepared
from powersim.simulation.result import SimulationResult, simulate

if TYPE_CHECKING:
    import pandas as pd

    from powersim.simulation.ensemble_forcing import EnsembleForcing
    from powersim.simulation.ensemble_weeks import EnsembleWeeks

#: Members of the validation, beside those of the search: they give a share of one in twenty with a
#: standard error of 0.7 in a hundred.
VALIDATION_MEMBERS = 1000
#: Members in which what each week asks for is told.
WEEKS_MEMBERS = 200
#: Share of the work that is done after the search, and after the lower bound's rule. [-]
_SEARCHED, _ONE_SKY = 0.80, 0.88


@dataclass(frozen=True, slots=True, kw_only=True)
class LowerBound:
    """How good the rule is in the month's mean sky, with every load kept on.

    Attributes
    ----------
    bound : Foresight
        The least diesel that perfect foresight could reach, with the same charge at landfall as
        `best`.
    best : PolicyEvaluation
        The rule that is best in this sky if it is known beforehand.
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
        The passage as given, with the boat's own rule.
    planned : Passage
        The passage with the rule of the plan.
    limits : RuleLimits
        What the rule has to keep.
    found : FoundRule
        The rule, and what it comes to in the validation members.
    own : PolicyEvaluation
        The boat's own rule in the same members.
    lower_bound : LowerBound or None
        How good the rule is; None where the engine does not charge, and where the rule does not
        hold, since litres say little then.
    panel : PanelValues or None
        The rule as the panel shows it; None where the engine does not charge.
    keep_V : float or None
        Voltage of the least charge to keep, as in `panel_values.keep_V`. [V]
    result : SimulationResult
        The passage by the rule of the plan in the month's mean sky: the expected timetable.
    help : Help or None
        What would make a rule hold, where none does.
    weeks : EnsembleWeeks or None
        What the rule asks for in each week, in the first members of the validation; None where the
        engine does not charge.
    engine_hours : tuple of EngineHour
        What an hour in gear puts into the bank, and one at rest.
    members, validation_members, seed : int
        Number of members of the search and of the validation, and their seed.
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
    weeks: EnsembleWeeks | None
    engine_hours: tuple[EngineHour, ...]
    members: int
    validation_members: int
    seed: int

    __repr__ = brief

    @property
    def rule(self) -> ChargingRule:
        """The rule of the plan."""
        return self.found.rule

    @property
    def passage_days(self) -> float:
        """How long the passage is. [days]"""
        track = self.result.prepared.track
        return track.n_steps * track.step_h / 24.0

    def shown_V(self, soc: float) -> float:
        """What the voltmeter shows at a state of charge, as `panel_values.shown_V`. [V]"""
        return shown_V(self.result.prepared, soc)

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
    """Search a rule, validate it, and compare it with what perfect foresight could do.

    Parameters
    ----------
    passage : Passage
        A passage without an engine plan.
    members : int
        Number of members of the search.
    seed : int
        Seed of all members.
    risk_frac : float
        Share of the members in which a limit may be broken. [-]
    step_h : float
        Step of the simulation. [h]
    validation_members : int
        Number of other members, for the validation.
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
    limits, validation, found = search_for(
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
        help=None if found.holds else what_would_help(passage, validation, found, limits),
        weeks=_weeks(planned, validation) if runs_engine else None,
        engine_hours=engine_hours(passage, prepared),
        members=members,
        validation_members=validation_members,
        seed=seed,
    )
    tell(1.0)
    return made


def with_rule(passage: Passage, rule: ChargingRule) -> Passage:
    """The same passage with another charging rule."""
    return replace(passage, boat=replace(passage.boat, charging=rule))


def _weeks(planned: Passage, validation: EnsembleForcing) -> EnsembleWeeks:
    few = validation.between(0, min(WEEKS_MEMBERS, validation.members))
    forcing = cast("EnsembleForcing", changed(few, planned))
    ensemble = run_ensemble(
        planned, forcing.prepared, members=few.members, seed=few.seed, forcing=forcing
    )
    return ensemble.weeks


def _lower_bound(
    passage: Passage,
    prepared: Prepared,
    rule: ChargingRule,
    counted_from_h: float,
    tell: Callable[[float], object],
) -> LowerBound:
    # Shedding loads is no way of saving: all rules serve the same loads. How often the bank is full
    # is a promise of the rule's, which nothing that is to lie below it has to keep.
    charging = replace(passage.boat.charging, full_every_days=None)
    kept_on, alike = serving_all(with_rule(passage, charging), prepared)
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
