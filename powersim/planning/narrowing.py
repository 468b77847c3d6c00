"""From all kinds of charging rules to the few families that are worth validating.

Rules of a family differ only in the level at which the engine starts, which is set as low as the
limits allow. Kept are the families that cost least, and those that burn least, are started least
often, or fill the bank as often as is asked for, where they cost little more.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from powersim.planning.evaluation_cache import EvaluationCache
from powersim.planning.rule_candidates import (
    gap_of,
    least_start,
    neighbours,
    wait_gap_of,
)
from powersim.planning.rule_limits import failing, late_by_h
from powersim.planning.rule_ranking import MOST_COST, in_order
from powersim.planning.start_search import lowest_safe_starts
from powersim.planning.validation import hard_count
from powersim.records import ChargingRule

#: Members in which all kinds are evaluated at first.
FEW = 60
#: Families that are kept from few members for all, and from all for the validation: the cheapest,
#: and of each other merit.
KEPT_FEW, KEPT_ALL = (5, 2), (2, 1)
#: The cheapest families that wait for one more reading are kept besides.
WAITING_KEPT = 2
#: The best families whose neighbours are evaluated too.
PARENTS = 2
#: Rounds of the search for a start, in few members and in all.
FEW_ROUNDS, ALL_ROUNDS = 5, 6
#: In how many more members than it may a rule may fail and still be kept, as these are not those
#: of the validation.
_BY_LUCK = 1
#: The same for a rule that fills the bank in time, as a share of the members. [-]
_NEARLY_FRAC = 0.02
#: What a rule may cost, over the cheapest, so as to be kept: in few members, where one more or less
#: moves a start by points, and in all. [-]
_DEAR_FEW, _DEAR = 1.5, 1.05 * MOST_COST


def families(
    cache: EvaluationCache, rules: Sequence[ChargingRule], *, share: float
) -> list[ChargingRule]:
    """Families to be validated, each at the lowest start that keeps the limits in the search.

    Parameters
    ----------
    cache : EvaluationCache
        Of the members of the search.
    rules : sequence of ChargingRule
        A rule of each kind.
    share : float
        Of the members that may fail, beside those that fail for lack of fuel though the engine
        never charges. [-]

    Returns
    -------
    list of ChargingRule
        The cheapest first.
    """
    narrowing = _Narrowing(cache, share)
    found = narrowing.settled(narrowing.screened(rules))
    parents = narrowing.kept(found, (PARENTS, 0), cache.members, dear=_DEAR)
    near = [one for rule in parents for one in neighbours(rule, cache.boat)]
    if narrowing.new(near):
        found += narrowing.settled(near)
    return narrowing.kept(found, KEPT_ALL, cache.members, dear=_DEAR)


def passages_about(kinds: int, *, members: int) -> float:
    """About how many passages are simulated for so many kinds, for progress."""
    return 3 * kinds * min(FEW, members) + 12 * members


class _Narrowing:
    """The families that have been met, and the cache that evaluates them."""

    def __init__(self, cache, share):
        self.cache, self.share = cache, share
        self.least_soc, self.few = least_start(cache.boat), min(FEW, cache.members)
        self.met = set()

    def new(self, rules) -> list[ChargingRule]:
        """One rule of each family that has not been met."""
        first = {family_of(rule): rule for rule in reversed(rules)}
        return [rule for family, rule in first.items() if family not in self.met]

    def screened(self, rules) -> list[ChargingRule]:
        """The best kinds, at about safe starts, from a search in few members."""
        allowed = self._allowed(self.few)

        def margins_of(some):
            self.cache.evaluate(some, self.few)
            return [self.cache.margin_soc(rule, allowed) for rule in some]

        def cost_L(rule):
            return self.cache.mean_cost_L(rule, self.few)

        def drop(searches):
            safe = [cost_L(one.best) for one in searches if one.safe]
            # A safe start is higher than one that is not, and costs no less.
            most_L = _DEAR_FEW * min(safe, default=math.inf)
            return [one for one in searches if one.safe or cost_L(one.unsafe) <= most_L]

        searches = lowest_safe_starts(
            rules, margins_of, least_soc=self.least_soc, rounds=FEW_ROUNDS, drop=drop
        )
        # A start that was raised too far says little of what the kind is worth.
        found = [search.best if search.safe else search.nearest for search in searches]
        return self.kept(found, KEPT_FEW, self.few, dear=_DEAR_FEW)

    def settled(self, rules) -> list[ChargingRule]:
        """New families at starts that are safe in all members."""
        rules = self.new(rules)
        self.met |= {family_of(rule) for rule in rules}
        like = {family_of(rule): rule for rule in rules}
        count, allowed = hard_count(self.cache), self._allowed(self.cache.members)

        def margins_of(some):
            # At first a rule is like itself only, and is evaluated in all members.
            self.cache.evaluate([like[family_of(rule)] for rule in some])
            for rule in some:
                hard = self.cache.hardest(count, like=like[family_of(rule)])
                self.cache.evaluate([rule], hard)
            return [self.cache.margin_soc(rule, allowed) for rule in some]

        searches = lowest_safe_starts(
            rules, margins_of, least_soc=self.least_soc, rounds=ALL_ROUNDS
        )
        found = [search.best for search in searches if search.best is not None]
        self.cache.evaluate(found)
        return found

    def kept(self, rules, how_many, count, *, dear) -> list[ChargingRule]:
        """The cheapest of some rules, and of those that cost little more the best of each merit.

        Rules that wait come beside the others, the cheapest alone, and take nobody's place: it
        shows only in the validation whether they are as safe.
        """
        at_once = [rule for rule in rules if rule.wait_below_soc is None]
        waiting = [rule for rule in rules if rule.wait_below_soc is not None]
        cheapest = self._kept(waiting, (WAITING_KEPT, 0), count, dear=dear)
        return self._kept(at_once, how_many, count, dear=dear) + cheapest

    def _kept(self, rules, how_many, count, *, dear) -> list[ChargingRule]:
        """Some of the rules of either sort. Where none is safe, those that do least harm."""
        if not rules:
            return []
        cheapest, others = how_many
        evaluation = self.cache.evaluation(rules, count)
        allowed = self._allowed(count)
        fails = failing(evaluation, self.cache.limits).any.sum(axis=1)
        safe = fails <= allowed + _BY_LUCK
        cost_L = evaluation.cost_L.mean(axis=1)
        if not safe.any():
            order = in_order(evaluation, self.cache.limits, count=cheapest + others)
            return [rules[place] for place in order]
        most_L = dear * min(cost_L[safe])
        places = [place for place in np.argsort(cost_L) if safe[place] and cost_L[place] <= most_L]
        # What it would cost to fill the bank in time is told even where that is dear, or a rule
        # that does it holds less surely; and if none does, how near one comes to it.
        nearly = fails <= allowed + max(_BY_LUCK, _NEARLY_FRAC * count)
        late_h = late_by_h(evaluation, self.cache.limits)
        asking = [place for place, rule in enumerate(rules) if rule.full_every_days is not None]
        filling = [place for place in asking if nearly[place]]
        merits = (
            ()
            if not others
            else (
                sorted(places, key=lambda place: evaluation.charging_L[place].mean()),
                sorted(places, key=lambda place: evaluation.charging_runs[place].mean()),
                sorted(filling, key=lambda place: (late_h[place], cost_L[place])),
            )
        )
        chosen = [*places[:cheapest], *(place for merit in merits for place in merit[:others])]
        return [rules[place] for place in dict.fromkeys(chosen)]

    def _allowed(self, count):
        return self.cache.lost(count) + math.floor(self.share * count + 1e-9)


def family_of(rule: ChargingRule) -> ChargingRule:
    """What rules that differ in their start alone have in common, as a rule at charge 0."""
    if rule.wait_below_soc is not None:
        wait_soc = round(wait_gap_of(rule), 4)
        return replace(family_of(replace(rule, wait_below_soc=None)), wait_below_soc=wait_soc)
    if rule.stop_soc is None:
        return replace(rule, start_soc=0.0)
    return replace(rule, start_soc=0.0, stop_soc=round(gap_of(rule), 4))
