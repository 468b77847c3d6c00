"""The last word of the search: rules in members that it has not seen.

Of each family of rules, alike but for the level at which the engine is started, the lowest level
in whole per cent that holds is wanted, and of those the cheapest. Most levels fail or are too dear,
and need not be tried in all members to be known for it. The rule that is taken always is.

That a level fails is never guessed: it is tried first where it is likeliest to fail, and is given
up when it has failed more often than all the members allow, whatever the others would have said.
That one family burns more than another is told from differences in the first of the members, which
neither was chosen by, at SURE standard errors.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from powersim.planning.evaluation_cache import EvaluationCache
from powersim.planning.first_day import always_charge
from powersim.planning.policy_evaluation import PolicyEvaluation
from powersim.planning.rule_candidates import HIGHEST_STOP_SOC, at_level, least_start, never_charge
from powersim.planning.rule_ranking import LITRES_L, in_order, surely_more, surely_worse
from powersim.records import ChargingRule

#: Members from which it is told that a rule is worse than another, doubled until it is sure.
FIRST = 60
#: Families that are judged if one of them holds; as long as none does, others are.
AT_FIRST = 4
#: How far above the level that was found others are judged, in whole per cent: one that ties may be
#: safer, and where none holds the least bad of them is taken.
TIES_PERCENT = (1, 2, 3, 4)
LEAST_BAD_PERCENT = (-1, 0, 1, 2, 4, 6, 9, 12, 16, 20)
#: Of how many families: rules that all fail can seldom be told apart in few members.
LEAST_BAD_FAMILIES = 2
#: Members in which a level is tried before it is believed to hold, as a multiple of how many may
#: be broken: the hardest.
_HARD = 4
#: Verdicts.
_HOLDS, _TOO_LOW, _TOO_DEAR = "holds", "too low", "too dear"


def validated(cache: EvaluationCache, families: Sequence[ChargingRule]) -> PolicyEvaluation:
    """Rules in all members, the best of the families among them.

    Parameters
    ----------
    cache : EvaluationCache
        Of members that the families were not chosen by.

    Returns
    -------
    PolicyEvaluation
        For `rule_ranking.in_order` to choose from: every rule that it could choose of all levels of
        these families, and of leaving the engine alone.
    """
    boat = cache.boat
    holding = _lowest_that_hold(cache, families)
    if not holding:
        own = [boat.charging] if boat.charging.by_engine else []
        rules = [
            rule
            for family in families[:LEAST_BAD_FAMILIES]
            for rule in _levels(cache, family, LEAST_BAD_PERCENT)
        ]
        # The search goes by a floor that may be out of reach, and may pass these by.
        return cache.evaluation(
            _least_bad(cache, [never_charge(boat), *rules, always_charge(boat), *own])
        )
    best = min(holding, key=lambda rule: _litres(cache, rule))
    rules = holding + _ties(cache, best)
    if _idle_may_win(cache, best):
        rules += [never_charge(boat), *_levels(cache, best, TIES_PERCENT)]
    return cache.evaluation(list(dict.fromkeys(rules)))


def needs_no_engine(cache: EvaluationCache) -> bool:
    """Whether the engine may be left alone without a single weather to regret it in."""
    idle = never_charge(cache.boat)
    if cache.limits.counted_from_h:
        return False
    for count in counts(cache):
        if cache.evaluation([idle], count).below_floor.any():
            return False
    return not cache.breaks(idle)


def _lowest_that_hold(cache, families):
    """Of the first families the lowest level that holds, without those that surely burn more; of
    the others only as long as none holds."""
    holding, higher = list[ChargingRule](), 0
    # Of the best the first level is as likely as any to be the one, and shows which are hard.
    like = _at_percent(families[0], _percent(families[0]))
    for place, family in enumerate(families):
        if place >= AT_FIRST and holding:
            break
        while (rule := _lowest(cache, family, higher, like)) is not None:
            if holding and _surely_dearer(cache, rule, holding):
                break
            cache.evaluate([rule])
            like = rule
            if not cache.breaks(rule):
                holding.append(rule)
                # These members ask for so much more than those of the search, of any family.
                higher = _percent(rule) - _percent(family)
                break
    return holding


def _lowest(cache, family, higher, like):
    """The lowest level that holds as far as it is known, sought from so far above the family's
    own, first in the members that were hardest for a rule like it; None where none does."""
    percent = _percent(family) + higher
    gap_soc = family.stop_soc - family.start_soc
    low = math.ceil(100.0 * least_start(cache.boat) - 1e-6) - 1
    high = max(math.floor(100.0 * (HIGHEST_STOP_SOC - gap_soc) + 1e-6), low + 1) + 1
    holds, stride = None, 1
    while high - low > 1:
        percent = min(max(percent, low + 1), high - 1)
        rule = _at_percent(family, percent)
        verdict, margin_soc = _verdict(cache, rule, like)
        if verdict == _TOO_LOW:
            low = percent
            percent += max(stride, math.ceil(-100.0 * margin_soc))
            stride *= 2
        else:
            high = percent
            holds = rule if verdict == _HOLDS else holds
            percent -= max(1, math.floor(100.0 * margin_soc) if verdict == _HOLDS else 1)
    return holds


def _verdict(cache, rule, like):
    """What is known of a level from the hardest members, and its margin above the floor."""
    for count in (hard_count(cache) // 2, hard_count(cache)):
        cache.evaluate([rule], cache.hardest(count, like=like))
        broken = cache.breaks(rule)
        if broken:
            verdict = _TOO_DEAR if broken == ["reserve"] else _TOO_LOW
            return verdict, min(cache.margin_soc(rule), 0.0)
    return _HOLDS, cache.margin_soc(rule)


def hard_count(cache: EvaluationCache) -> int:
    """Of how many members a level is believed to hold, the hardest of them."""
    return max(_HARD * cache.allowed, 40)


def _surely_dearer(cache, rule, holding):
    """Whether it burns more than one of the holding, told as soon as it is sure."""
    best = min(holding, key=lambda one: _litres(cache, one))
    for count in counts(cache):
        more_L = _more_L(cache, rule, best, count)
        if surely_more(more_L, least=LITRES_L, members=cache.members):
            return True
        if 2 * count >= cache.members:
            return False
    return False


def _ties(cache, best):
    """Higher levels of the best rule that may tie with it, and be safer."""
    ties = []
    for rule in _levels(cache, best, TIES_PERCENT):
        if _surely_dearer(cache, rule, [best]):
            break
        ties.append(rule)
    return ties


def _idle_may_win(cache, best):
    """Whether to leave the engine alone may be no worse than the best rule that runs it."""
    idle, limits = never_charge(cache.boat), cache.limits
    if limits.counted_from_h:
        return False
    kept = cache.evaluation([best])
    least = (kept.dark_h.sum(), kept.below_floor.sum())
    for count in counts(cache):
        evaluation = cache.evaluation([idle], count)
        # Members still to come can only add to what the engine left alone has to answer for.
        if cache.breaks(idle) or least < (evaluation.dark_h.sum(), evaluation.below_floor.sum()):
            return False
    return True


def _least_bad(cache, rules):
    """Those of the rules, none of which holds, that may be the least bad."""
    left = list(dict.fromkeys(rules))
    for count in counts(cache):
        evaluation = cache.evaluation(left, count)
        running = [place for place, rule in enumerate(left) if rule.by_engine]
        # What leaves the engine alone is held to more than harm, and is no measure.
        order = in_order(evaluation, cache.limits, safer_of_ties=False)
        front = next((place for place in order if place in running), order[0])
        left = [
            rule
            for place, rule in enumerate(left)
            if place == front
            or not surely_worse(evaluation, cache.limits, place, front, members=cache.members)
        ]
    return left


def counts(cache: EvaluationCache) -> Iterator[int]:
    """How many of the first members are asked, in turn; all in the end.

    Yields
    ------
    int
    """
    count = FIRST
    while count < cache.members:
        yield count
        count *= 2
    yield cache.members


def _levels(cache, family, percents):
    """The family at levels so far above its own, where it may start there."""
    least_soc, from_percent = least_start(cache.boat), _percent(family)
    return [
        _at_percent(family, from_percent + more)
        for more in percents
        if (from_percent + more) / 100.0 >= least_soc
    ]


def _percent(rule):
    return math.ceil(100.0 * rule.start_soc - 1e-6)


def _at_percent(family, percent):
    """The family at a level in whole per cent, its stop too."""
    rule = at_level(family, percent / 100.0)
    start_soc = round(rule.start_soc, 2)
    stop_soc = max(round(rule.stop_soc, 2), round(start_soc + 0.01, 2))
    return replace(rule, start_soc=start_soc, stop_soc=stop_soc)


def _more_L(cache, rule, other, count):
    evaluation = cache.evaluation([rule, other], count)
    return evaluation.charging_L[0] - evaluation.charging_L[1]


def _litres(cache, rule):
    return float(cache.evaluation([rule]).charging_L.mean())
