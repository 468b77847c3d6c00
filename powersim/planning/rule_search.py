"""The search for the charging rule of least cost that keeps the limits in enough members.

Every evaluation is a whole simulation. The search finds the lowest safe start for each kind of
rule, at first in a few members, then for the best kinds and their neighbours in all (narrowing.py).
The best are rounded to whole per cent and validated in members that the search has not seen
(validation.py), since the best of many rules looks better than it is in the members that chose it.
rule_ranking.py says which is the best, and which is the least bad where none holds.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

from powersim.planning.evaluation_cache import EvaluationCache
from powersim.planning.narrowing import families, family_of, passages_about
from powersim.planning.policy_evaluation import PolicyEvaluation
from powersim.planning.rule_candidates import (
    at_level,
    at_percent,
    highest_start,
    kinds,
    least_start,
    never_charge,
    percent_of,
)
from powersim.planning.rule_limits import (
    RuleLimits,
    limits_of,
)
from powersim.planning.rule_offers import Offer, fullest_of, offers_of, verdict_on
from powersim.planning.rule_ranking import in_order
from powersim.planning.validation import needs_no_engine, validated
from powersim.records import Boat, ChargingRule, Passage
from powersim.simulation.ensemble_forcing import EnsembleForcing, draw_ensemble
from powersim.simulation.first_day import counted_from_h
from powersim.simulation.plant import has_charging_alternator
from powersim.simulation.prepare import prepare
from powersim.simulation.verdict import Verdict

if TYPE_CHECKING:
    from powersim.simulation.aboard import ForcingAboard
    from powersim.simulation.prepared import Prepared

#: Shortest step of the search; the validation takes the step that is asked for. [h]
SEARCH_STEP_h = 0.5
#: How far the start is moved, to show how much hangs on it, in whole per cent.
MOVED_POINTS = (-2, 2)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FoundRule:
    """The rule that the search returns.

    Attributes
    ----------
    validated : PolicyEvaluation
        What it comes to in members that the search has not seen.
    verdict : Verdict
        How often it fails there. If it does not hold no rule does, and this one is the least bad.
    offers : tuple of Offer
        The rule, and others that hold and beat it at something (rule_offers.py); none where no rule
        holds.
    moved : dict of int to Verdict
        The same rule with its start so many points lower or higher, in the same members.
    slept_through : Verdict or None
        The same rule where of SLEEPS_THROUGH readings one is slept through, in the same members;
        None for a rule that has none.
    fullest : PolicyEvaluation or None
        The cheapest rule that holds and fills the bank in time, or else the one that holds and
        comes nearest to it; None where no rule holds, or none is asked to fill it.
    rules_evaluated : int
        Number of rules that were evaluated.
    """

    validated: PolicyEvaluation
    verdict: Verdict
    offers: tuple[Offer, ...]
    moved: dict[int, Verdict]
    slept_through: Verdict | None
    fullest: PolicyEvaluation | None
    rules_evaluated: int

    @property
    def rule(self) -> ChargingRule:
        """The rule, with levels in whole per cent."""
        return self.validated.rules[0]

    @property
    def holds(self) -> bool:
        """Whether it fails no more often than it may."""
        return self.verdict.holds

    @property
    def fails_frac(self) -> float:
        """Share of the members in which it fails. [-]"""
        return self.verdict.fails.frac


class Searched(NamedTuple):
    """A rule that was searched, its limits, and the members of the validation."""

    limits: RuleLimits
    validation: EnsembleForcing
    found: FoundRule


def search_for(
    passage: Passage,
    prepared: Prepared,
    *,
    members: int,
    validation_members: int,
    seed: int,
    risk_frac: float,
    progress: Callable | None = None,
) -> Searched:
    """Draw members for a passage, validate its rule in the first, and search it in the others.

    `simulate` shows the first as well, and so says of the rule what is said here. `progress` is
    called now and then with the share that is done.
    """
    drawn = members + validation_members
    forcing = draw_ensemble(passage, prepared, members=drawn, seed=seed)
    validation = forcing.between(0, validation_members)
    limits = limits_from(passage.boat, validation, risk_frac=risk_frac)
    if prepared.track.step_h < SEARCH_STEP_h:
        coarser = prepare(passage, step_h=SEARCH_STEP_h)
        searched = draw_ensemble(passage, coarser, members=drawn, seed=seed)
    else:
        searched = forcing
    few = searched.between(validation_members, drawn)
    found = search(passage, few, validation, limits, progress=progress)
    return Searched(limits, validation, found)


def limits_from(
    boat: Boat, forcing: EnsembleForcing | ForcingAboard, *, risk_frac: float
) -> RuleLimits:
    """The limits that a boat's files set, with the time from which on the floor counts."""
    limits = limits_of(boat, risk_frac=risk_frac)
    return replace(limits, counted_from_h=counted_from_h(boat, forcing, risk_frac=risk_frac))


def search(
    passage: Passage,
    forcing: EnsembleForcing | ForcingAboard,
    validation: EnsembleForcing | ForcingAboard,
    limits: RuleLimits,
    *,
    progress: Callable | None = None,
) -> FoundRule:
    """The rule of least expected cost that keeps the limits; the least bad if none does.

    The boat's charging rule sets the hours in which the engine may run, its shortest and longest
    run and how often the bank is to be full; where no rule holds it is a candidate itself.
    `validation` has other members of the same passage. `progress` is called now and then with the
    share that is done.
    """
    tell, boat = progress or (lambda done_frac: None), passage.boat
    done = 0.0
    first = kinds(passage, validation.prepared) if has_charging_alternator(boat) else []
    expected = passages_about(len(first), members=forcing.members) + 8 * validation.members

    def count(passages):
        nonlocal done
        done += passages
        tell(min(done / expected, 0.99))

    cache = EvaluationCache(boat, validation, limits, progress=count)
    searched = EvaluationCache(boat, forcing, limits, progress=count)
    if not first or needs_no_engine(cache):
        evaluation = cache.evaluation([never_charge(boat)])
    else:
        allowed = cache.allowed if cache.surely_allowed < 0 else cache.surely_allowed
        lost = cache.lost()
        share = (allowed if allowed > lost else max(cache.allowed, lost)) - lost
        best = families(searched, first, share=share / cache.members)
        evaluation = validated(cache, best, _others(first, best))
    found = _found(cache, evaluation, searched.rules_evaluated)
    tell(1.0)
    return found


def _others(first: Sequence[ChargingRule], best: Sequence[ChargingRule]) -> list[ChargingRule]:
    """All other kinds, from the start of the best on."""
    known = {family_of(rule) for rule in best}
    from_soc = best[0].start_soc if best else 0.0
    others = (rule for rule in first if family_of(rule) not in known)
    return [at_level(rule, max(rule.start_soc, from_soc)) for rule in others]


def _found(cache, evaluation, rules_evaluated) -> FoundRule:
    """The best of the validated rules, and what else is to be said of them."""
    limits, seed = cache.limits, cache.forcing.seed
    (best,) = in_order(evaluation, limits, count=1)
    rule, verdict = evaluation.rules[best], verdict_on(evaluation, best, limits, seed=seed)
    moved = _moved(cache, rule) if rule.by_engine else {}
    fullest = fullest_of(evaluation, limits)
    return FoundRule(
        validated=evaluation.only(best),
        verdict=verdict,
        offers=offers_of(evaluation, limits, best, seed=seed) if verdict.holds else (),
        moved={
            points: verdict_on(cache.evaluation([one]), 0, limits, seed=seed)
            for points, one in moved.items()
        },
        slept_through=(
            verdict_on(cache.slept_through(rule), 0, limits, seed=seed)
            if rule.by_engine and rule.read_at_h
            else None
        ),
        fullest=None if fullest is None else evaluation.only(fullest),
        rules_evaluated=rules_evaluated + cache.rules_evaluated,
    )


def _moved(cache, rule) -> dict[int, ChargingRule]:
    """The rule at starts so many points lower and higher, where it may start there."""
    starts = {points: percent_of(rule) + points for points in MOVED_POINTS}
    least_soc, most_soc = least_start(cache.boat), highest_start(rule)
    return {
        points: at_percent(rule, percent)
        for points, percent in starts.items()
        if least_soc - 1e-9 <= percent / 100.0 <= most_soc + 1e-9
    }
