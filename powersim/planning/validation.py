"""The validation of rules in members that the search has not seen.

Rules of a family differ only in the level at which the engine starts. The validation finds the
lowest level of each family, in whole per cent, that holds. Most levels fail or cost too much, and a
few members show it. The rules that may be taken are evaluated in all of them.

That a level fails is certain: it is evaluated first where it is likeliest to fail, and is given up
once it has failed in more members than all of them allow. That one family costs more than another
is inferred, at SURE standard errors, from the first members, by which neither was chosen.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from powersim.planning.evaluation_cache import EvaluationCache
from powersim.planning.policy_evaluation import PolicyEvaluation
from powersim.planning.rule_candidates import (
    at_percent,
    highest_start,
    least_start,
    never_charge,
    percent_of,
)
from powersim.planning.rule_limits import failing, late_by_h
from powersim.planning.rule_ranking import (
    LITRES_L,
    MOST_COST,
    in_order,
    surely_more,
    surely_worse,
)
from powersim.records import ChargingRule
from powersim.simulation.first_day import always_charge

#: Members that are first compared to see whether a rule is worse; doubled until that is sure.
FIRST = 60
#: How far above the level that was found others are evaluated, in whole per cent: one that ties may
#: be safer, and where none holds the least bad is taken.
TIES_PERCENT = (1, 2, 3, 4)
MARGIN_PERCENT = (4, 8, 12, 16)
LEAST_BAD_PERCENT = (-1, 0, 1, 2, 4, 6, 9, 12, 16, 20)
#: Number of families for that: a few members seldom show which of several failing rules is worse.
LEAST_BAD_FAMILIES = 2
#: The hardest members, in which a level must hold before it is evaluated in all, as a multiple of
#: the number in which it may fail.
_HARD = 4
#: Verdicts.
_HOLDS, _TOO_LOW, _TOO_DEAR = "holds", "too low", "too dear"


def validated(
    cache: EvaluationCache,
    families: Sequence[ChargingRule],
    others: Sequence[ChargingRule] = (),
) -> PolicyEvaluation:
    """Evaluate in all members every rule of these families that may be the one to follow.

    The members of `cache` are others than those by which the families were chosen. Rules that hold
    surely are looked for first, then those with half of that room, and rules that just hold only
    where there are none. Where none of these families holds, the others are tried: they looked
    dearer where few members were seen, and nobody is told that no rule holds before all kinds have
    been tried. The evaluation is for `rule_ranking.in_order`, and has the rule that never charges
    too if it may win.
    """
    boat = cache.boat
    middle = (cache.surely_allowed + cache.allowed) // 2
    for allowed in dict.fromkeys((cache.surely_allowed, middle, cache.allowed)):
        if allowed < 0:
            continue
        holding = _lowest_that_hold(cache, families, allowed)
        holding = holding or _lowest_that_hold(cache, others, allowed)
        if holding:
            break
    else:
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
    holding = _steady(cache, holding + _that_fill(cache, families, holding))
    (first,) = in_order(cache.evaluation(holding), cache.limits, count=1)
    best = holding[first]
    rules = holding + _ties(cache, best) + _with_most_margin(cache, best)
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
    return cache.fails_in(idle).any <= cache.allowed


def _lowest_that_hold(cache, families, allowed):
    """The lowest level of each family that fails in no more members than allowed, without those
    that surely cost far more than the cheapest."""
    holding, higher = list[ChargingRule](), 0
    # The level of the best family is as good a guess as any, and shows which members are hard.
    for family in families[:1]:
        like = at_percent(family, percent_of(family))
    for family in families:
        while (rule := _lowest(cache, family, higher, like, allowed)) is not None:
            if holding and _far_dearer(cache, rule, holding):
                break
            cache.evaluate([rule])
            like = rule
            if cache.fails_in(rule).any <= allowed:
                holding.append(rule)
                # These members need so much more than those of the search, for any family.
                higher = percent_of(rule) - percent_of(family)
                break
    return holding


def _lowest(cache, family, higher, like, allowed):
    """The lowest level that holds in the members that are hardest for a rule like it; None if none
    does. The search begins so many per cent above the family's own level."""
    percent = percent_of(family) + higher
    low = math.ceil(100.0 * least_start(cache.boat) - 1e-6) - 1
    high = max(math.floor(100.0 * highest_start(family) + 1e-6), low + 1) + 1
    holds, stride = None, 1
    while high - low > 1:
        percent = min(max(percent, low + 1), high - 1)
        rule = at_percent(family, percent)
        verdict, margin_soc = _verdict(cache, rule, like, allowed)
        if verdict == _TOO_LOW:
            low = percent
            percent += max(stride, math.ceil(-100.0 * margin_soc))
            stride *= 2
        else:
            high = percent
            holds = rule if verdict == _HOLDS else holds
            percent -= max(1, math.floor(100.0 * margin_soc) if verdict == _HOLDS else 1)
    return holds


def _verdict(cache, rule, like, allowed):
    """What the hardest members show of a level, and its margin."""
    for count in (hard_count(cache) // 2, hard_count(cache)):
        cache.evaluate([rule], cache.hardest(count, like=like))
        failures = cache.fails_in(rule)
        if failures.any > allowed:
            # More charge takes more diesel: where that alone runs short, a higher start is no help.
            verdict = _TOO_DEAR if failures.reserve > allowed else _TOO_LOW
            return verdict, min(cache.margin_soc(rule, allowed), 0.0)
    return _HOLDS, cache.margin_soc(rule, allowed)


def hard_count(cache: EvaluationCache) -> int:
    """In how many of the hardest members a level must hold before it is evaluated in all."""
    allowed = cache.allowed if cache.surely_allowed < 0 else cache.surely_allowed
    return max(_HARD * allowed, 40)


def _that_fill(cache, families, holding):
    """A rule that fills the bank as often as is asked for and holds, where none of these does; or
    the one that comes nearest to it.

    What that costs is told even where it is dear, and where the rule holds less surely.
    """

    def late_h(rules):
        return late_by_h(cache.evaluation(rules), cache.limits).min()

    nearest, nearest_h = [], late_h(holding)
    for family in families:
        if nearest_h > 0.0 and family.full_every_days is not None:
            found = _lowest_that_hold(cache, [family], cache.allowed)
            if found and late_h(found) < nearest_h:
                nearest, nearest_h = found, late_h(found)
    return nearest


def _steady(cache, rules):
    """Rules without those that wait and are less safe where readings are slept through.

    A rule that waits acts one reading later, so each that is missed counts for more. It may fail in
    no more members then than the cheapest that does not wait, and those that may fail by luck.
    """
    at_once = [rule for rule in rules if rule.wait_below_soc is None]
    if not at_once or len(at_once) == len(rules):
        return rules
    (first,) = in_order(cache.evaluation(at_once), cache.limits, count=1)
    most = _fails_slept(cache, at_once[first]) + cache.allowed
    return [
        rule for rule in rules if rule.wait_below_soc is None or _fails_slept(cache, rule) <= most
    ]


def _fails_slept(cache, rule):
    """In how many members a rule fails if of some readings one is slept through."""
    return int(failing(cache.slept_through(rule), cache.limits).any.sum())


def _far_dearer(cache, rule, holding):
    """Whether it surely costs far more than the cheapest of the rules that hold."""
    best = min(holding, key=lambda one: cache.mean_cost_L(one))
    least_L = (MOST_COST - 1.0) * cache.mean_cost_L(best)
    return _surely_dearer(cache, rule, best, least_L=least_L)


def _surely_dearer(cache, rule, best, *, least_L):
    """Whether a rule surely costs so much more than another that holds."""
    for count in counts(cache):
        more_L = cache.more_L(rule, best, count)
        if surely_more(more_L, least=least_L, members=cache.members):
            return True
        if 2 * count >= cache.members:
            return False
    return False


def _ties(cache, best):
    """Higher levels of the best rule, which may tie with it and be safer."""
    ties = []
    for rule in _levels(cache, best, TIES_PERCENT):
        if _surely_dearer(cache, rule, best, least_L=LITRES_L):
            break
        ties.append(rule)
    return ties


def _with_most_margin(cache, best):
    """The highest level of the best rule that costs little more, if any."""
    least_L, found = (MOST_COST - 1.0) * cache.mean_cost_L(best), []
    for rule in _levels(cache, best, MARGIN_PERCENT):
        if cache.more_L(rule, best, FIRST).mean() > least_L:
            break
        found = [rule]
    return found


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
        failed = cache.fails_in(idle).any > cache.allowed
        if failed or least < (evaluation.dark_h.sum(), evaluation.below_floor.sum()):
            return False
    return True


def _least_bad(cache, rules):
    """The rules that may be the least bad, where none holds."""
    left = list(dict.fromkeys(rules))
    for count in counts(cache):
        evaluation = cache.evaluation(left, count)
        running = [place for place, rule in enumerate(left) if rule.by_engine]
        # A rule that never charges is ranked by more than harm, so it is no measure.
        order = in_order(evaluation, cache.limits)
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
    least_soc, most_soc = least_start(cache.boat), highest_start(family)
    levels = [percent_of(family) + more for more in percents]
    return [
        at_percent(family, percent)
        for percent in levels
        if least_soc - 1e-9 <= percent / 100.0 <= most_soc + 1e-9
    ]
