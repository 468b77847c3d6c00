"""The search for the charging rule of least diesel that keeps the limits in enough members.

Every trial is the real simulation. For each kind of rule the lowest start that is safe is sought,
at first in a few members, then for the best kinds and their kin in all of them (narrowing.py). The
levels of the best are rounded to whole per cent and judged in members that the search has not seen
(validation.py): a rule that is chosen among many looks better than it is in those that it was
chosen by. Which is the best, and the least bad where none holds, is rule_ranking.py's word.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

from powersim.planning.evaluation_cache import EvaluationCache
from powersim.planning.first_day import counted_from_h
from powersim.planning.narrowing import families, passages_about
from powersim.planning.policy_evaluation import PolicyEvaluation
from powersim.planning.rule_candidates import never_charge
from powersim.planning.rule_limits import RuleLimits, limits_of, worst_frac
from powersim.planning.rule_ranking import in_order
from powersim.planning.validation import needs_no_engine, validated
from powersim.records import Boat, ChargingRule, Passage
from powersim.simulation.ensemble_forcing import EnsembleForcing, draw_ensemble
from powersim.simulation.plant import has_charging_alternator
from powersim.simulation.prepare import prepare

if TYPE_CHECKING:
    from powersim.simulation.aboard import ForcingAboard
    from powersim.simulation.prepare import Prepared

#: Shortest step that is searched at: rules are judged at the step that is asked for. [h]
SEARCH_STEP_h = 0.5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FoundRule:
    """The rule that the search returns.

    Attributes
    ----------
    rule : ChargingRule
        Levels in whole per cent.
    validated : PolicyEvaluation
        The rule alone, in members that the search has not seen.
    worst_frac : float
        Share of those in which it fails. [-]
    holds : bool
        Whether that is within the risk. If not, no rule that was tried holds, and this one is the
        least bad.
    rules_evaluated : int
        How many the search has tried.
    """

    rule: ChargingRule
    validated: PolicyEvaluation
    worst_frac: float
    holds: bool
    rules_evaluated: int


class Searched(NamedTuple):
    """A search, and what it was made in: all members, and those of them that it was judged in."""

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
    """Draw members for a passage, search its rule in the first, and judge it in the others.

    Parameters
    ----------
    members, validation_members : int
        Members to search in, and others to judge in.
    risk_frac : float
        Share of the members in which a limit may be broken. [-]
    progress : callable, optional
        Called now and then with the share that is done.
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
    """The limits that a boat's files set, and from when on the floor counts in some members.

    Parameters
    ----------
    risk_frac : float
        Share of the members in which a limit may be broken. [-]
    """
    limits = limits_of(boat, risk_frac=risk_frac)
    return replace(limits, counted_from_h=counted_from_h(boat, forcing, limits))


def search(
    boat: Boat,
    forcing: EnsembleForcing | ForcingAboard,
    validation: EnsembleForcing | ForcingAboard,
    limits: RuleLimits,
    *,
    progress: Callable | None = None,
) -> FoundRule:
    """The rule of least expected diesel that keeps the limits; the least bad if none does.

    Parameters
    ----------
    boat : Boat
        Her charging rule says in which hours the engine may run, how short and how long, and how
        often the bank must be full. Where nothing holds it is judged too.
    validation : EnsembleForcing
        Other members of the same passage, to judge in.
    progress : callable, optional
        Called now and then with the share that is done.
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
    """What the judged rules come to."""
    (place,) = in_order(evaluation, limits, count=1)
    frac = float(worst_frac(evaluation, limits)[place])
    return FoundRule(
        rule=evaluation.rules[place],
        validated=evaluation.only(place),
        worst_frac=frac,
        holds=frac <= limits.risk_frac,
        rules_evaluated=rules_evaluated,
    )
