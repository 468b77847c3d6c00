"""The validation of rules in members that the search has not seen.

Rules of a family differ only in the level at which the engine starts. The validation finds the
lowest level of each family, in whole per cent, that holds, and takes the cheapest of these. Most
levels fail or burn too much, and a few members show it. The rule that is taken has been evaluated
in all of them.

That a level fails is certain: it is evaluated first where it is likeliest to fail, and is given up
once it has failed in more members than all of them allow. That one family burns more than another
is inferred, at SURE standard errors, from the first members, by which neither was chosen.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from powersim.planning.evaluation_cache import EvaluationCache
from powersim.planning.policy_evaluation import PolicyEvaluation
from powersim.planning.rule_candidates import at_level, gap_of, least_start, never_charge
from powersim.planning.rule_ranking import LITRES_L, in_order, surely_more, surely_worse
from powersim.records import ChargingRule
from powersim.simulation.first_day import HIGHEST_STOP_SOC, always_charge

#: Members that are first compared to see whether a rule is worse; doubled until that is sure.
FIRST = 60
#: Families that are validated if one of them holds; as long as none does, more are.
AT_FIRST = 4
#: How far above the level that was found others are evaluated, in whole per cent: one that ties may
#: be safer, and where none holds the least bad is taken.
TIES_PERCENT = (1, 2, 3, 4)
LEAST_BAD_PERCENT = (-1, 0, 1, 2, 4, 6, 9, 12, 16, 20)
#: Number of families for that: a few members seldom show which of several failing rules is worse.
LEAST_BAD_FAMILIES = 2
#: The hardest members, in which a level must hold before it is evaluated in all, as a multiple of
#: the number in which it may fail.
_HARD = 4
#: Verdicts.
_HOLDS, _TOO_LOW, _TOO_DEAR = "holds", "too low", "too dear"


def validated(cache: EvaluationCache, families: Sequence[ChargingRule]) -> PolicyEvaluation:
    """Evaluate in all members every rule of these families that may be the one to follow.

    The members of `cache` are others than those by which the families were chosen. The evaluation
    is for `rule_ranking.in_order`, and has the rule that never charges too if it may win.
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
        # The search goes by a floor that may be out of reach, and so may miss these.
        return cache.evaluation(
            _least_bad(cache, [never_charge(boat), *rules, always_charge(boat), *own])
        )
    best = min(holding, key=lambda rule: cache.mean_L(rule))
    rules = holding + _ties(cache, best)
    if _idle_may_win(cache, best):
        rules += [never_charge(boat), *_levels(cache, best, TIES_PERCENT)]
    return cache.evaluation(list(dict.fromkeys(rules)))


def needs_no_engine(cache: EvaluationCache) -> bool:
    """Whether the engine may stay off without a single member that falls below the floor."""
    idle = never_charge(cache.boat)
    if cache.limits.counted_from_h:
        return False
    for count in counts(cache):
        if cache.evaluation([idle], count).below_floor.any():
            return False
    return not cache.breaks(idle)


def _lowest_that_hold(cache, families):
    """The lowest level that holds of each of the first families, without those that surely burn
    more; the other families count only as long as none holds."""
    holding, higher = list[ChargingRule](), 0
    # The level of the best family is as good a guess as any, and shows which members are hard.
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
                # These members need so much more than those of the search, for any family.
                higher = _percent(rule) - _percent(family)
                break
    return holding


def _lowest(cache, family, higher, like):
    """The lowest level that holds in the members that are hardest for a rule like it; None if none
    does. The search begins so many per cent above the family's own level."""
    percent = _percent(family) + higher
    gap_soc = gap_of(family)
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
    """What the hardest members show of a level, and its margin above the floor."""
    for count in (hard_count(cache) // 2, hard_count(cache)):
        cache.evaluate([rule], cache.hardest(count, like=like))
        broken = cache.breaks(rule)
        if broken:
            verdict = _TOO_DEAR if broken == ["reserve"] else _TOO_LOW
            return verdict, min(cache.margin_soc(rule), 0.0)
    return _HOLDS, cache.margin_soc(rule)


def hard_count(cache: EvaluationCache) -> int:
    """In how many of the hardest members a level must hold before it is evaluated in all."""
    return max(_HARD * cache.allowed, 40)


def _surely_dearer(cache, rule, holding):
    """Whether it surely burns more than the cheapest of the rules that hold."""
    best = min(holding, key=lambda one: cache.mean_L(one))
    for count in counts(cache):
        more_L = cache.more_L(rule, best, count)
        if surely_more(more_L, least=LITRES_L, members=cache.members):
            return True
        if 2 * count >= cache.members:
            return False
    return False


def _ties(cache, best):
    """Higher levels of the best rule, which may tie with it and be safer."""
    ties = []
    for rule in _levels(cache, best, TIES_PERCENT):
        if _surely_dearer(cache, rule, [best]):
            break
        ties.append(rule)
    return ties


def _idle_may_win(cache, best):
    """Whether never charging may be no worse than the best rule that charges."""
    idle, limits = never_charge(cache.boat), cache.limits
    if limits.counted_from_h:
        return False
    kept = cache.evaluation([best])
    least = (kept.dark_h.sum(), kept.below_floor.sum())
    for count in counts(cache):
        evaluation = cache.evaluation([idle], count)
        # Members still to come can only add to its hours in the dark and below the floor.
        if cache.breaks(idle) or least < (evaluation.dark_h.sum(), evaluation.below_floor.sum()):
            return False
    return True


def _least_bad(cache, rules):
    """The rules that may be the least bad, where none holds."""
    left = list(dict.fromkeys(rules))
    for count in counts(cache):
        evaluation = cache.evaluation(left, count)
        running = [place for place, rule in enumerate(left) if rule.by_engine]
        # A rule that never charges is ranked by more than harm, so it is no measure.
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
    """Numbers of first members to evaluate, each twice the one before, and all in the end."""
    count = FIRST
    while count < cache.members:
        yield count
        count *= 2
    yield cache.members


def _levels(cache, family, percents):
    """The family at levels so many per cent above its own, where it may start there."""
    least_soc, from_percent = least_start(cache.boat), _percent(family)
    return [
        _at_percent(family, from_percent + more)
        for more in percents
        if (from_percent + more) / 100.0 >= least_soc
    ]


def _percent(rule):
    return math.ceil(100.0 * rule.start_soc - 1e-6)


def _at_percent(family, percent):
    """The family at a level in whole per cent, with its stop in whole per cent."""
    rule = at_level(family, percent / 100.0)
    start_soc = round(rule.start_soc, 2)
    if rule.stop_soc is None:
        return replace(rule, start_soc=start_soc)
    stop_soc = max(round(rule.stop_soc, 2), round(start_soc + 0.01, 2))
    return replace(rule, start_soc=start_soc, stop_soc=stop_soc)
