"""The search for the charging rule of least diesel that keeps the limits in enough members.

Every evaluation is a whole simulation. The search finds the lowest safe start for each kind of
rule, at first in a few members, then for the best kinds and their neighbours in all (narrowing.py).
The best are rounded to whole per cent and validated in members that the search has not seen
(validation.py), since the best of many rules looks better than it is in the members that chose it.
rule_ranking.py says which is the best, and which is the least bad where none holds.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

from powersim.planning.evaluation_cache import EvaluationCache
from powersim.planning.narrowing import families, passages_about
from powersim.planning.policy_evaluation import PolicyEvaluation
from powersim.planning.rule_candidates import never_charge
from powersim.planning.rule_limits import RuleLimits, limits_of, worst_frac
from powersim.planning.rule_ranking import in_order
from powersim.planning.validation import needs_no_engine, validated
from powersim.records import Boat, ChargingRule, Passage
from powersim.simulation.ensemble_forcing import EnsembleForcing, draw_ensemble
from powersim.simulation.first_day import counted_from_h
from powersim.simulation.plant import has_charging_alternator
from powersim.simulation.prepare import prepare

if TYPE_CHECKING:
    from powersim.simulation.aboard import ForcingAboard
    from powersim.simulation.prepared import Prepared

#: Shortest step of the search; the validation takes the step that is asked for. [h]
SEARCH_STEP_h = 0.5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FoundRule:
    """The rule that the search returns.

    Attributes
    ----------
    rule : ChargingRule
        The rule, with levels in whole per cent.
    validated : PolicyEvaluation
        What it comes to in members that the search has not seen.
    worst_frac : float
        Share of those in which it breaks the limit that it breaks most often. [-]
    holds : bool
        Whether that is within the risk. If not, no rule holds, and this one is the least bad.
    rules_evaluated : int
        Number of rules that were evaluated.
    """

    rule: ChargingRule
    validated: PolicyEvaluation
    worst_frac: float
    holds: bool
    rules_evaluated: int


class Searched(NamedTuple):
    """A rule that was searched, its limits, all members, and those of the validation."""

    limits: RuleLimits
    forcing: EnsembleForcing
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
    """Draw members for a passage, search its rule in the first, and validate it in the others.

    `progress` is called now and then with the share that is done.
    """
    forcing = draw_ensemble(passage, prepared, members=members + validation_members, seed=seed)
    validation = forcing.between(members, members + validation_members)
    limits = limits_from(passage.boat, validation, risk_frac=risk_frac)
    if prepared.track.step_h < SEARCH_STEP_h:
        coarser = prepare(passage, step_h=SEARCH_STEP_h)
        few = draw_ensemble(passage, coarser, members=members, seed=seed)
    else:
        few = forcing.between(0, members)
    found = search(passage.boat, few, validation, limits, progress=progress)
    return Searched(limits, forcing, validation, found)


def limits_from(
    boat: Boat, forcing: EnsembleForcing | ForcingAboard, *, risk_frac: float
) -> RuleLimits:
    """The limits that a boat's files set, with the time from which on the floor counts."""
    limits = limits_of(boat, risk_frac=risk_frac)
    return replace(limits, counted_from_h=counted_from_h(boat, forcing, risk_frac=risk_frac))


def search(
    boat: Boat,
    forcing: EnsembleForcing | ForcingAboard,
    validation: EnsembleForcing | ForcingAboard,
    limits: RuleLimits,
    *,
    progress: Callable | None = None,
) -> FoundRule:
    """The rule of least expected diesel that keeps the limits; the least bad if none does.

    The boat's charging rule sets the hours in which the engine may run, its shortest and longest
    run and how often the bank must be full; where no rule holds it is a candidate itself.
    `validation` has other members of the same passage. `progress` is called now and then with the
    share that is done.
    """
    tell = progress or (lambda done_frac: None)
    done, track = 0.0, validation.prepared.track
    expected = passages_about(boat, track, members=forcing.members) + 4 * validation.members

    def count(passages):
        nonlocal done
        done += passages
        tell(min(done / expected, 0.99))

    cache = EvaluationCache(boat, validation, limits, progress=count)
    searched = EvaluationCache(boat, forcing, limits, progress=count)
    if not has_charging_alternator(boat) or needs_no_engine(cache):
        evaluation = cache.evaluation([never_charge(boat)])
    else:
        evaluation = validated(cache, families(searched, track))
    tell(1.0)
    return _found(
        evaluation, limits, rules_evaluated=searched.rules_evaluated + cache.rules_evaluated
    )


def _found(evaluation: PolicyEvaluation, limits: RuleLimits, *, rules_evaluated: int) -> FoundRule:
    """The best of the validated rules."""
    (place,) = in_order(evaluation, limits, count=1)
    frac = float(worst_frac(evaluation, limits)[place])
    return FoundRule(
        rule=evaluation.rules[place],
        validated=evaluation.only(place),
        worst_frac=frac,
        holds=frac <= limits.risk_frac,
        rules_evaluated=rules_evaluated,
    )
