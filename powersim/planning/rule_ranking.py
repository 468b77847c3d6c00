"""Which of several charging rules to follow, whether or not any of them holds.

Of rules that hold, one that surely holds goes first, then one that fills the bank as often as is
asked for where that costs little more, then the cheapest. If none holds, costs come last: first the
hours without electronics, then the share of passages in which the diesel runs out, then hours below
the floor and the reserve. Where rules differ by no more than the noise of the comparison, what
comes next decides, and in the end the safer rule wins.
"""

from __future__ import annotations

import math

import numpy as np

from powersim.planning.policy_evaluation import PolicyEvaluation
from powersim.planning.rule_limits import RuleLimits, failing, keeps_full, margin, runs_dry
from powersim.simulation.verdict import failing_shares, most_that_may, too_often

#: Differences that never count, since they round to nothing on the page.
#: [h], [-], [h], [L]
DARK_h, SHARE_FRAC, BELOW_h, LITRES_L = 0.05, 0.005, 0.05, 0.05
#: Standard errors at which a difference in the first members is taken to hold in all of them: it
#: comes about by chance once in 30,000.
SURE = 4.0
#: What a rule may cost, over the cheapest that holds, for the sake of something else. [-]
MOST_COST = 1.25


def in_order(
    evaluation: PolicyEvaluation,
    limits: RuleLimits,
    *,
    count: int | None = None,
    by: str = "",
) -> list[int]:
    """Places of the rules, or of the first `count`, the one to follow first.

    The safer rule wins where costs tie. With `by`, a field of the evaluation, the least of that
    alone decides between rules that hold: a yardstick goes by litres.
    """
    left, order = list(range(len(evaluation.rules))), list[int]()
    ranking = _Ranking(evaluation, limits, by=by)
    while left and (count is None or len(order) < count):
        order.append(ranking.first_of(left))
        left.remove(order[-1])
    return order


def surely_more(more: np.ndarray, *, least: float, members: float = math.inf) -> bool:
    """Whether one rule surely exceeds another in all members by more than a tie.

    It is inferred from the first members, by which neither rule was chosen: `more` says by how much
    in each of them, shaped (first,). `members` is the number of all; infinity for all that there
    could be. Once all have been evaluated it is certain.
    """
    more = np.asarray(more, dtype=float)
    first = len(more)
    spread = more.std(ddof=1) if first > 1 else 0.0 if members == 1 else math.inf
    unseen = SURE * spread * math.sqrt(1.0 / first - 1.0 / members) if first < members else 0.0
    return bool(more.mean() - unseen > max(least, 0.999 * _error(spread, members)))


def surely_less(values: np.ndarray, others: np.ndarray, *, least: float) -> bool:
    """Whether one rule has less of something than another, member by member, by more than noise."""
    return surely_more(np.asarray(others, dtype=float) - values, least=least, members=len(values))


def surely_worse(
    evaluation: PolicyEvaluation, limits: RuleLimits, place: int, other: int, *, members: int
) -> bool:
    """Whether a rule that does not hold is surely worse than another in all members.

    It is inferred from the first members, and False as well where they cannot show it yet. Two
    rules count as alike in one harm, so that the next decides, only once half of the members have
    been evaluated: what is rare shows late.
    """
    ranking = _Ranking(evaluation, limits)
    first = evaluation.cost_L.shape[1]
    for values, least in (*ranking.harms, (evaluation.cost_L, LITRES_L)):
        more = values[place] - np.asarray(values[other], dtype=float)
        if surely_more(more, least=least, members=members):
            return True
        unseen = SURE * _error(more.std(ddof=1), first)
        if 2 * first < members or abs(more.mean()) + unseen > least:
            return False
        if not (ranking.surely_counted(place) and ranking.surely_counted(other)):
            return False
    return False


class _Ranking:
    """Rules compared with each other, member by member."""

    def __init__(self, evaluation, limits, *, by=""):
        self.evaluation, self.limits, self.by = evaluation, limits, by
        where, risk_frac = failing(evaluation, limits), limits.risk_frac
        self.causes = where
        self.fails_frac = failing_shares(where)
        self.holds = ~too_often(self.fails_frac, risk_frac)
        most = most_that_may(where.any.shape[1], risk_frac, surely=True)
        self.surely = np.count_nonzero(where.any, axis=1) <= most
        self.fills = keeps_full(evaluation, limits)
        self.margin_soc = margin(evaluation, limits)
        self.dark_h = evaluation.dark_h.mean(axis=1)
        self.floor_frac = where.floor.mean(axis=1)
        # What is broken in no more than the risk counts as kept.
        floor_kept, reserve_kept = (
            ~too_often(one.mean(axis=1), risk_frac) for one in (where.floor, where.reserve)
        )
        self.harms = [
            (evaluation.dark_h, DARK_h),
            (_unless(runs_dry(evaluation, limits), reserve_kept), SHARE_FRAC),
            (_unless(evaluation.below_floor_h, floor_kept), BELOW_h),
            (_unless(where.reserve, reserve_kept), SHARE_FRAC),
        ]

    def surely_counted(self, place) -> bool:
        """Whether a rule surely breaks or surely keeps each of the limits."""
        members, risk_frac = self.evaluation.cost_L.shape[1], self.limits.risk_frac
        near = SURE * _error(math.sqrt(risk_frac * (1.0 - risk_frac)), members)
        shares = [float(where[place].mean()) for where in self.causes]
        apart = [abs(share - risk_frac) for share in shares if share > 0.0]
        return all(gap > near for gap in apart)

    def first_of(self, places) -> int:
        places = self._idle_only_if_as_safe(places)
        if holding := [place for place in places if self.holds[place]]:
            if self.by:
                values = getattr(self.evaluation, self.by)
                return min(holding, key=lambda place: values[place].mean())
            places = self._that_fill([one for one in holding if self.surely[one]] or holding)
        else:
            for values, least in self.harms:
                places = _no_worse(values, places, least)
        return min(_no_worse(self.evaluation.cost_L, places, LITRES_L), key=self._risk)

    def _that_fill(self, places):
        """Rules that fill the bank as often as is asked for, if that costs little more."""
        cost_L = self.evaluation.cost_L.mean(axis=1)
        most_L = MOST_COST * min(cost_L[places])
        filling = [one for one in places if self.fills[one]]
        return filling if filling and min(cost_L[filling]) <= most_L else places

    def _risk(self, place):
        """What safety is sorted by, the safest first: darkness, how often it fails, the margin, and
        the costs."""
        return (
            self.dark_h[place],
            self.fails_frac[place],
            -self.margin_soc[place],
            self.evaluation.cost_L[place].mean(),
        )

    def _idle_only_if_as_safe(self, places):
        """Rules without those that never charge, where one that does leaves less darkness or is
        below the floor less often: nobody should let the lights go out, not even within the risk.
        """
        by_engine = [place for place in places if self.evaluation.rules[place].by_engine]
        if self.limits.counted_from_h and by_engine:
            return by_engine  # on the first day, which does not count, it brings the bank up
        return [
            place
            for place in places
            if place in by_engine or not any(self._safer(other, place) for other in by_engine)
        ]

    def _safer(self, place, idle):
        if self.holds[idle] and not self.holds[place]:
            return False
        here, there = ((self.dark_h[one], self.floor_frac[one]) for one in (place, idle))
        return here < there


def _unless(values, kept):
    """Values of the rules that break a limit, and 0 for those that keep it."""
    return np.where(kept[:, None], 0.0, values)


def _no_worse(values, places, least) -> list[int]:
    """Places whose mean exceeds the lowest by no more than the standard error.

    All rules have the same members, so it is the error of their differences member by member.
    """
    best = min(places, key=lambda place: values[place].mean())
    members = values.shape[1]

    def alike(place):
        more = values[place] - np.asarray(values[best], dtype=float)
        error = _error(more.std(ddof=1), members) if members > 1 else 0.0
        return more.mean() <= max(least, 0.999 * error)

    return [place for place in places if alike(place)]


def _error(spread, members):
    """Standard error of a mean."""
    return spread / math.sqrt(members)
