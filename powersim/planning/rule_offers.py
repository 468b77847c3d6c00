"""The rule to follow and others that a sailor might rather have, where they differ from it.

Nobody else can say what a quiet boat is worth, or a litre kept. So beside the rule that costs least
stand the one of least diesel, the one with the fewest runs and the one with the most margin.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from powersim.planning.policy_evaluation import PolicyEvaluation
from powersim.planning.rule_limits import RuleLimits, failing, holds, late_by_h, lowest
from powersim.planning.rule_ranking import LITRES_L, MOST_COST, surely_less
from powersim.records import ChargingRule
from powersim.simulation.verdict import Verdict, verdict_of

#: Merits of a rule, each with what it is judged by: the less the better.
DIESEL, RUNS, MARGIN, COST = "least fuel", "fewest runs", "most margin", "least cost"
#: Of the rule that fills the bank in time, or comes nearest to it, whatever it costs.
FULL = "soonest full"
#: Differences that are worth a line of their own. [L], [runs], [-]
_RUNS, _MARGIN_SOC = 1.0, 0.02


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Offer:
    """A rule that holds, and what speaks for it.

    Attributes
    ----------
    merits : tuple of str
        What it is best at, of DIESEL, RUNS, MARGIN, COST and FULL; empty for a rule that is the
        best compromise and the best at none.
    validated : PolicyEvaluation
        What it comes to in the members that it was validated in.
    verdict : Verdict
        How often it fails there.
    """

    merits: tuple[str, ...]
    validated: PolicyEvaluation
    verdict: Verdict

    @property
    def rule(self) -> ChargingRule:
        """The rule."""
        return self.validated.rules[0]


def verdict_on(
    evaluation: PolicyEvaluation, place: int, limits: RuleLimits, *, seed: int | None
) -> Verdict:
    """The verdict on one of some rules, in the members that they were evaluated in."""
    return verdict_of(
        failing(evaluation.only(place), limits).only(0),
        risk_frac=limits.risk_frac,
        seed=seed,
        counted_from_h=limits.counted_from_h,
    )


def offers_of(
    evaluation: PolicyEvaluation, limits: RuleLimits, best: int, *, seed: int | None
) -> tuple[Offer, ...]:
    """The rule to follow, and those that beat it at something without costing much more.

    Parameters
    ----------
    evaluation : PolicyEvaluation
        Of the rules that may be offered, in all members of the validation.
    limits : RuleLimits
        What they have to keep.
    best : int
        Place of the rule to follow.
    seed : int or None
        Of the members.

    Returns
    -------
    tuple of Offer
        The rule to follow first.
    """
    verdicts = [
        verdict_on(evaluation, place, limits, seed=seed) for place in range(len(evaluation.rules))
    ]
    cost_L = evaluation.cost_L.mean(axis=1)
    places = [
        place
        for place, (rule, verdict) in enumerate(zip(evaluation.rules, verdicts, strict=True))
        if rule.by_engine
        and verdict.holds
        and (verdict.sure or not verdicts[best].sure)
        and cost_L[place] <= MOST_COST * cost_L[best]
    ]
    if best not in places:
        return (_offer(evaluation, best, verdicts, ()),)
    lowest_soc = lowest(evaluation, limits)
    winners = {
        COST: _less(evaluation.cost_L, places, best, LITRES_L),
        DIESEL: _less(evaluation.charging_L, places, best, LITRES_L),
        RUNS: _less(evaluation.charging_runs, places, best, _RUNS),
        MARGIN: max(places, key=lambda place: lowest_soc[place]),
    }
    if lowest_soc[winners[MARGIN]] - lowest_soc[best] < _MARGIN_SOC:
        winners[MARGIN] = best
    # That it costs least needs no saying of another: it is what the first is chosen by.
    places = [best, *(place for name, place in winners.items() if name != COST)]
    if (soonest := fullest_of(evaluation, limits)) is not None:
        winners[FULL] = soonest
        places.append(soonest)
    chosen = dict.fromkeys(places)
    return tuple(
        _offer(
            evaluation,
            place,
            verdicts,
            tuple(name for name, winner in winners.items() if winner == place),
        )
        for place in chosen
    )


def fullest_of(evaluation: PolicyEvaluation, limits: RuleLimits) -> int | None:
    """Place of the rule that holds and fills the bank soonest; of those in time the cheapest.

    Parameters
    ----------
    evaluation : PolicyEvaluation
        Of some rules.
    limits : RuleLimits
        What they have to keep, and how often the bank is to be full.

    Returns
    -------
    int or None
        None where none holds, or the bank is not asked to be full.
    """
    places = np.flatnonzero(holds(evaluation, limits)).tolist()
    if not places or limits.full_every_days is None:
        return None
    late_h = late_by_h(evaluation, limits)
    return min(places, key=lambda one: (late_h[one], evaluation.cost_L[one].mean()))


def _less(values: np.ndarray, places, best, least) -> int:
    """The place with the least of something, or the best rule where that is no more than noise."""
    place = min(places, key=lambda one: values[one].mean())
    return place if surely_less(values[place], values[best], least=least) else best


def _offer(evaluation, place, verdicts, merits):
    return Offer(merits=merits, validated=evaluation.only(place), verdict=verdicts[place])
