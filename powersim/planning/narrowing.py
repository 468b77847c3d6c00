"""From all kinds of charging rules to the few families that are worth validating.

Rules of a family differ only in the level at which the engine starts, which is set as low as the
floor allows. A family is dropped when it burns more than another by far more than the noise of
their differences, member by member, or when enough of the others are cheaper.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from powersim.planning.evaluation_cache import EvaluationCache
from powersim.planning.rule_candidates import gap_of, kinds, least_start, neighbours
from powersim.planning.rule_limits import floor_margin, worst_frac
from powersim.planning.rule_ranking import LITRES_L, in_order, surely_more
from powersim.planning.start_search import lowest_safe_starts
from powersim.planning.validation import FIRST, counts, hard_count
from powersim.records import Boat, ChargingRule

if TYPE_CHECKING:
    from powersim.voyage.track import Track

#: Members in which all kinds are evaluated at first.
FEW = 60
#: Kinds that are evaluated in more members, and the best whose neighbours are evaluated too.
BEST_KINDS, BEST_PARENTS = 8, 2
#: Families that are validated, and others in case none of these holds.
FAMILIES, FALLBACKS = 4, 2
#: Rounds of the search for a start, in few members and in all.
FEW_ROUNDS, ALL_ROUNDS = 5, 6
#: Share of the members in which a rule may break a limit and still be near to one that holds. [-]
FAR_FRAC = 0.5
#: How far below the floor a start counts as safe, and as about safe, so that the other limits are
#: looked at. [-]
_SAFE_SOC, _ABOUT_SOC = 0.003, 0.03
#: Share of the litres by which rules may differ only since their starts are not exact: in all
#: members, and in few, where one member more or less moves a start by points. [-]
NEAR_FRAC, FEW_NEAR_FRAC = 0.02, 0.20


def families(cache: EvaluationCache, track: Track) -> list[ChargingRule]:
    """Families to be validated, each at the lowest start that was safe.

    The best FAMILIES by litres come first, since their levels are validated anew; then some that
    have been dropped, in case none of these holds.
    """
    narrowing = _Narrowing(cache)
    best = narrowing.raced({rule: rule for rule in narrowing.screened(kinds(cache.boat, track))})
    for again in (False, True):
        # The best of the first pass may have new neighbours. Their gap is not moved again: the
        # nearer stop and start, the less a rule burns, but nobody can follow it.
        parents = {
            one: rule
            for rule in narrowing.parents(best)
            for one in neighbours(rule, cache.boat)
            if not (again and _gap(one) != _gap(rule))
        }
        best += narrowing.raced(parents, known=best)
    best = narrowing.ranked(best, cache.members)
    # Neighbours burn about the same: the first with another daily run is validated as well.
    unlike = next((rule for rule in best if rule.daily != best[0].daily), best[-1])
    first = list(dict.fromkeys([*best[: FAMILIES - 2], unlike, *best]))[:FAMILIES]
    return [*first, *narrowing.dropped(best)[:FALLBACKS]]


def passages_about(boat: Boat, track: Track, *, members: int) -> float:
    """About how many passages are simulated, for progress."""
    few = min(FEW, members)
    return 3 * len(kinds(boat, track)) * few + (BEST_KINDS + 10 * BEST_PARENTS) * (
        few + 0.5 * members
    )


class _Narrowing:
    """The families that have been raced, and the cache that evaluates them."""

    def __init__(self, cache):
        self.cache, self.limits = cache, cache.limits
        self.least_soc, self.few = least_start(cache.boat), min(FEW, cache.members)
        self.met, self.entrants = set(), []

    def screened(self, rules: Sequence[ChargingRule]) -> list[ChargingRule]:
        """The best kinds, at about safe starts, from a search in few members."""
        searches = self._search_in_few([rule for rule in rules if not rule.daily], [])
        searches += self._search_in_few([rule for rule in rules if rule.daily], searches)
        best = self._cheapest([search.best for search in searches if search.safe], self.few)
        # A start that was raised too far says little of what the kind is worth.
        found = [search.nearest for search in searches]
        found = self._without_dearer(found, best, self.few, near_frac=FEW_NEAR_FRAC)
        return self.ranked(found, self.few, few=BEST_KINDS)

    def _search_in_few(self, rules, known):
        def margins_of(some):
            return floor_margin(self.cache.evaluation(some, self.few), self.limits)

        def worth_more(search, best):
            if search.safe or best is None:
                return True
            # A safe start is higher and burns no less.
            if self._surely_dearer(search.unsafe, best, self.few, near_frac=FEW_NEAR_FRAC):
                return False
            return search.best_margin_soc < -_ABOUT_SOC or not self._far_off(search.best, self.few)

        def drop(searches):
            best = self._cheapest([one.best for one in (*known, *searches) if one.safe], self.few)
            return [search for search in searches if worth_more(search, best)]

        return lowest_safe_starts(
            rules, margins_of, least_soc=self.least_soc, rounds=FEW_ROUNDS, drop=drop
        )

    def raced(self, parents: dict, known=()) -> list[ChargingRule]:
        """New families at starts that are safe in all members, without those that surely cannot
        become the best. Each rule comes with one that is like it, which shows the hard members."""
        rules = [rule for rule in _first_of_each(parents, _family) if _family(rule) not in self.met]
        like = {_family(rule): parents[rule] for rule in rules}
        self.met |= set(like)
        searches = self._search_in_all(rules, like)
        left = [search.best for search in searches if search.best_margin_soc > -_SAFE_SOC]
        self.entrants += left
        if not left:
            return [search.best for search in searches]
        for count in counts(self.cache):
            self.cache.evaluate([*left, *known], count)
            left = self._without_dearer(left, self._cheapest([*left, *known], count), count)
            if count > FIRST:
                left = self.ranked(left, count, few=max(2 * FAMILIES, math.ceil(len(left) / 2)))
        # Other members may be hard for them than for the rules that they are like.
        low = [rule for rule in left if self.cache.margin_soc(rule) < -_SAFE_SOC]
        again = self._search_in_all(low, {_family(rule): rule for rule in low})
        return [rule for rule in left if rule not in low] + [search.best for search in again]

    def _search_in_all(self, rules, like):
        count = hard_count(self.cache)

        def margins_of(some):
            together: dict[ChargingRule, list[ChargingRule]] = {}
            for rule in some:
                together.setdefault(like[_family(rule)], []).append(rule)
            # At first a rule is like itself only, and is evaluated in all members.
            self.cache.evaluate(list(together))
            for one, those in together.items():
                self.cache.evaluate(those, self.cache.hardest(count, like=one))
            return [self.cache.margin_soc(rule) for rule in some]

        return lowest_safe_starts(rules, margins_of, least_soc=self.least_soc, rounds=ALL_ROUNDS)

    def _without_dearer(self, rules, best, count, *, near_frac=NEAR_FRAC):
        """Rules without those that surely burn more than the best or are far from a limit."""
        if best is None:
            return rules
        return [
            rule
            for rule in rules
            if not self._far_off(rule, count)
            and not self._surely_dearer(rule, best, count, near_frac=near_frac)
        ]

    def parents(self, rules) -> list[ChargingRule]:
        """The rules whose neighbours are worth evaluating: the best, the next that is unlike it,
        and the first that breaks a limit and burns less, since a neighbour of it may keep it."""
        first, nearly, others = self._in_classes(rules, self.cache.members)
        return _first_of_each(first or others, _gap_and_daily)[:BEST_PARENTS] + nearly[:1]

    def ranked(self, rules, count, *, few=None) -> list[ChargingRule]:
        """Rules, the best first; if few are wanted, some of them nearly keep all limits."""
        first, nearly, others = self._in_classes(rules, count)
        if few is None:
            return first + nearly + others
        nearly = nearly[: math.ceil(few / 3)]
        return (first[: few - len(nearly)] + nearly + others)[:few]

    def _in_classes(self, rules, count):
        """Rules that may keep all limits, by litres; those that nearly do and burn less, nearest
        first; and the others in the order of rule_ranking.py."""
        if not rules:
            return [], [], []
        evaluation = self.cache.evaluation(rules, count)
        margins_soc = floor_margin(evaluation, self.limits)
        shares = worst_frac(evaluation, self.limits, but="floor")
        litres = evaluation.charging_L.mean(axis=1)
        risk_frac = self.limits.risk_frac
        noise = 2.0 * math.sqrt(risk_frac * (1.0 - risk_frac) / evaluation.charging_L.shape[1])
        safe = margins_soc > -_ABOUT_SOC
        keeps = safe & (shares <= risk_frac + noise)
        least_L = litres[keeps].min() if keeps.any() else math.inf
        near = safe & ~keeps & (shares <= FAR_FRAC) & (litres < least_L)
        places = range(len(rules))
        first = sorted((one for one in places if keeps[one]), key=lambda one: litres[one])
        nearly = sorted((one for one in places if near[one]), key=lambda one: shares[one])
        order = in_order(evaluation, self.limits, safer_of_ties=False)
        others = [one for one in order if not keeps[one] and not near[one]]
        return tuple([rules[one] for one in some] for some in (first, nearly, others))

    def dropped(self, rules) -> list[ChargingRule]:
        """Rules that have been raced and are not among these, the cheapest first."""
        others = [rule for rule in self.entrants if rule not in rules]
        others = [rule for rule in others if self._keeps(rule, self.few)]
        return sorted(others, key=lambda rule: self.cache.mean_L(rule, self.few))

    def _cheapest(self, rules, count):
        """The cheapest of some rules with safe starts that keep the other limits, if any."""
        keeping = [rule for rule in rules if self._keeps(rule, count)]
        return min(keeping, key=lambda rule: self.cache.mean_L(rule, count), default=None)

    def _keeps(self, rule, count):
        """Whether a rule keeps all limits but the floor, which its start sees to."""
        return self._worst_frac(rule, count) <= self.limits.risk_frac

    def _far_off(self, rule, count):
        """Whether it breaks one of them so often that no neighbour of it may hold."""
        return self._worst_frac(rule, count) > max(FAR_FRAC, self.limits.risk_frac)

    def _worst_frac(self, rule, count):
        return worst_frac(self.cache.evaluation([rule], count), self.limits, but="floor")[0]

    def _surely_dearer(self, rule, best, count, *, near_frac=NEAR_FRAC):
        """Whether it burns more than the best by more than inexact starts explain."""
        if rule == best:
            return False
        least_L = max(LITRES_L, near_frac * self.cache.mean_L(best, count))
        return surely_more(self.cache.more_L(rule, best, count), least=least_L)


def _first_of_each(rules, key):
    """The first of the rules that share a key."""
    first: dict[tuple, ChargingRule] = {}
    for rule in rules:
        first.setdefault(key(rule), rule)
    return list(first.values())


def _gap_and_daily(rule):
    """What decides the neighbours of a rule."""
    return _gap(rule), rule.daily


def _family(rule):
    return _gap(rule), rule.daily, rule.hours_h, rule.full_every_days


def _gap(rule):
    return round(gap_of(rule), 4)
