"""Which of several charging rules to follow, whether or not any of them holds.

If rules hold, it is the one of least diesel. If none holds, diesel comes last: first the hours
without electronics, then the share of passages in which the diesel runs out, then hours below the
floor, reserve and full charges, and only then litres. Where rules differ by no more than the noise
of the comparison, what comes next decides, and in the end the safer rule wins.
"""

from __future__ import annotations

import math

import numpy as np

from powersim.planning.policy_evaluation import PolicyEvaluation
from powersim.planning.rule_limits import RuleLimits, broken, floor_margin, runs_dry, worst_frac

#: Differences that never count, since they round to nothing on the page.
#: [h], [-], [h], [L]
DARK_h, SHARE_FRAC, BELOW_h, LITRES_L = 0.05, 0.005, 0.05, 0.05
#: Standard errors at which a difference in the first members is taken to hold in all of them: it
#: comes about by chance once in 30,000.
SURE = 4.0


def in_order(
    evaluation: PolicyEvaluation,
    limits: RuleLimits,
    *,
    count: int | None = None,
    safer_of_ties: bool = True,
) -> list[int]:
    """Places of the rules, or of the first `count`, the one to follow first.

    With `safer_of_ties` the safer rule wins where litres tie. A search goes by litres alone, since
    its candidates are validated in the end.
    """
    left, order = list(range(len(evaluation.rules))), list[int]()
    ranking = _Ranking(evaluation, limits, safer_of_ties=safer_of_ties)
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


def surely_worse(
    evaluation: PolicyEvaluation, limits: RuleLimits, place: int, other: int, *, members: int
) -> bool:
    """Whether a rule that does not hold is surely worse than another in all members.

    It is inferred from the first members, and False as well where they cannot show it yet. Two
    rules count as alike in one harm, so that the next decides, only once half of the members have
    been evaluated: what is rare shows late.
    """
    ranking = _Ranking(evaluation, limits, safer_of_ties=False)
    first = evaluation.charging_L.shape[1]
    for values, least in (*ranking.harms, (evaluation.charging_L, LITRES_L)):
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

    def __init__(self, evaluation, limits, *, safer_of_ties):
        self.evaluation, self.limits, self.safer_of_ties = evaluation, limits, safer_of_ties
        self.worst_frac = worst_frac(evaluation, limits)
        self.holds = self.worst_frac <= limits.risk_frac
        self.margin_soc = floor_margin(evaluation, limits)
        self.broken = broken(evaluation, limits)
        self.dark_h = evaluation.dark_h.mean(axis=1)
        self.floor_frac = self.broken["floor"].mean(axis=1)
        # What is broken in no more than the risk counts as kept.
        kept = {name: where.mean(axis=1) <= limits.risk_frac for name, where in self.broken.items()}
        self.harms = [
            (evaluation.dark_h, DARK_h),
            (_unless(runs_dry(evaluation, limits), kept["reserve"]), SHARE_FRAC),
            (_unless(evaluation.below_floor_h, kept["floor"]), BELOW_h),
            (_unless(self.broken["reserve"], kept["reserve"]), SHARE_FRAC),
            (_unless(self.broken["full"], kept["full"]), SHARE_FRAC),
        ]

    def surely_counted(self, place) -> bool:
        """Whether a rule surely breaks or surely keeps each of the limits."""
        members, risk_frac = self.evaluation.charging_L.shape[1], self.limits.risk_frac
        near = SURE * _error(math.sqrt(risk_frac * (1.0 - risk_frac)), members)
        shares = [float(where[place].mean()) for where in self.broken.values()]
        return all(share == 0.0 or abs(share - risk_frac) > near for share in shares)

    def first_of(self, places) -> int:
        places = self._idle_only_if_as_safe(places)
        holding = [place for place in places if self.holds[place]]
        if holding:
            places = holding
        else:
            for values, least in self.harms:
                places = _no_worse(values, places, least)
        if not self.safer_of_ties:
            return min(places, key=lambda place: self.evaluation.charging_L[place].mean())
        return min(_no_worse(self.evaluation.charging_L, places, LITRES_L), key=self._risk)

    def _risk(self, place):
        """What safety is sorted by, the safest first: darkness, the limit broken most often, the
        margin above the floor, and diesel."""
        return (
            self.dark_h[place],
            self.worst_frac[place],
            -self.margin_soc[place],
            self.evaluation.charging_L[place].mean(),
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
