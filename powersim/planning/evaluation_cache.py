"""What charging rules come to in some members, each rule simulated once in each of them.

Evaluate each rule in as few members as the question needs: what a rule comes to in a member depends
on nothing else, so the order is free.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from powersim.planning.policy_evaluation import ARRAYS, PolicyEvaluation, evaluate_policies, joined
from powersim.planning.rule_candidates import never_charge
from powersim.planning.rule_limits import RuleLimits, failing, member_margins
from powersim.planning.signal_blocks import SignalCache
from powersim.records import Boat, ChargingRule
from powersim.simulation.verdict import most_that_may

if TYPE_CHECKING:
    from powersim.simulation.aboard import ForcingAboard
    from powersim.simulation.member_signals import EnsembleForcing


#: Of so many readings a tired skipper sleeps through one (judgement).
SLEEPS_THROUGH = 7


class Failures(NamedTuple):
    """In how many members a rule fails, of any cause, and of those for lack of fuel."""

    any: int
    reserve: int


class EvaluationCache:
    """Evaluates rules in members on request, and keeps what they came to.

    A rule may fail in `allowed` of its `members`; one that fails in no more than `surely_allowed`
    holds in ever more members too. `progress` is called as `policy_evaluation.evaluate_policies`
    does.
    """

    def __init__(
        self,
        boat: Boat,
        forcing: EnsembleForcing | ForcingAboard,
        limits: RuleLimits,
        *,
        progress: Callable | None = None,
    ) -> None:
        self.boat, self.forcing, self.limits = boat, forcing, limits
        self.members, self.progress = forcing.members, progress
        self.allowed = most_that_may(self.members, limits.risk_frac)
        self.surely_allowed = most_that_may(self.members, limits.risk_frac, surely=True)
        self._rows: dict[ChargingRule, _Row] = {}
        self._slept_through: dict[ChargingRule, PolicyEvaluation] = {}
        self._signal_cache = SignalCache()

    @property
    def rules_evaluated(self) -> int:
        """How many rules have been evaluated in at least one member."""
        return len(self._rows)

    def evaluate(
        self, rules: Sequence[ChargingRule], places: np.ndarray | int | None = None
    ) -> None:
        """Evaluate rules in some members, each where it has not been yet.

        `places` says which members, or how many of the first; all if left out.
        """
        chosen = self._places(places)
        together: dict[bytes, tuple[np.ndarray, list[ChargingRule]]] = {}
        for rule in dict.fromkeys(rules):
            row = self._rows.setdefault(rule, _Row(self.members))
            missing = np.sort(chosen[~row.evaluated[chosen]])
            if len(missing):
                together.setdefault(missing.tobytes(), (missing, []))[1].append(rule)
        for missing, those in together.values():
            evaluation = evaluate_policies(
                self.boat,
                self._signal_cache.of(self.forcing, missing),
                those,
                counted_from_h=self.limits.counted_from_h,
                progress=self.progress,
            )
            for place, rule in enumerate(those):
                self._rows[rule].fill(missing, evaluation, place)

    def evaluation(
        self, rules: Sequence[ChargingRule], places: np.ndarray | int | None = None
    ) -> PolicyEvaluation:
        """What rules come to in some members, as `evaluate` takes them; evaluated if need be."""
        places = self._places(places)
        self.evaluate(rules, places)
        return joined([self._rows[rule].evaluation(rule, places) for rule in rules])

    def slept_through(self, rule: ChargingRule) -> PolicyEvaluation:
        """What a rule comes to in all members where of SLEEPS_THROUGH readings one is not taken."""
        if rule not in self._slept_through:
            self._slept_through[rule] = evaluate_policies(
                self.boat,
                self._signal_cache.of(self.forcing, np.arange(self.members)),
                [rule],
                counted_from_h=self.limits.counted_from_h,
                sleeps_through=SLEEPS_THROUGH,
                progress=self.progress,
            )
        return self._slept_through[rule]

    def mean_cost_L(self, rule: ChargingRule, places: np.ndarray | int | None = None) -> float:
        """Mean of what one rule costs in some members. [L]"""
        return float(self.evaluation([rule], places).cost_L.mean())

    def more_L(
        self, rule: ChargingRule, other: ChargingRule, places: np.ndarray | int | None = None
    ) -> np.ndarray:
        """How much more one rule costs than another, in each member. [L]"""
        cost_L = self.evaluation([rule, other], places).cost_L
        return cost_L[0] - cost_L[1]

    def evaluated(self, rule: ChargingRule) -> PolicyEvaluation:
        """What a rule has come to in the members that it has been evaluated in so far."""
        row = self._rows[rule]
        return row.evaluation(rule, np.flatnonzero(row.evaluated))

    def fails_in(self, rule: ChargingRule) -> Failures:
        """In how many members a rule is known to fail, and in how many of them for lack of fuel.

        Members still to come cannot take back what has been counted, so this is certain.
        """
        where = failing(self.evaluated(rule), self.limits)
        return Failures(int(where.any.sum()), int(where.reserve.sum()))

    def lost(self, places: np.ndarray | int | None = None) -> int:
        """In how many members motoring alone eats the reserve: no rule can save these."""
        idle = self.evaluation([never_charge(self.boat)], places)
        return int(failing(idle, self.limits).reserve.sum())

    def margin_soc(self, rule: ChargingRule, allowed: int) -> float:
        """A rule's margin where it may fail in so many, if none still to come is worse.

        As `rule_limits.member_margins` has it: that of the first member that may not fail. [-]
        """
        here = member_margins(self.evaluated(rule), self.limits)[0]
        ranked = np.sort(here)
        return float(ranked[min(allowed, len(ranked) - 1)])

    def hardest(self, count: int, *, like: ChargingRule) -> np.ndarray:
        """The `count` members in which a limit is likeliest to be broken; all if there are fewer.

        They follow from `like`, a rule similar to the one in question, which is evaluated in all
        members. They have its lowest charge, and where some of them run short its least fuel.
        """
        evaluation = self.evaluation([like])
        measures = [evaluation.lowest_soc[0]]
        if failing(evaluation, self.limits).reserve.any():
            measures.append(evaluation.fuel_left_L[0])
        ranks = [np.argsort(np.argsort(one, kind="stable"), kind="stable") for one in measures]
        return np.argsort(np.min(ranks, axis=0), kind="stable")[:count]

    def _places(self, places: np.ndarray | int | None) -> np.ndarray:
        if places is None:
            places = self.members
        return places if isinstance(places, np.ndarray) else np.arange(min(places, self.members))


class _Row:
    """What one rule has come to, and in which members."""

    def __init__(self, members):
        self.evaluated = np.zeros(members, dtype=bool)
        self.arrays = {}

    def fill(self, places, evaluation, row):
        for name in ARRAYS:
            values = getattr(evaluation, name)[row]
            array = self.arrays.setdefault(name, np.zeros(len(self.evaluated), values.dtype))
            array[places] = values
        self.evaluated[places] = True

    def evaluation(self, rule, places) -> PolicyEvaluation:
        arrays = {name: array[places][None] for name, array in self.arrays.items()}
        return PolicyEvaluation(rules=(rule,), **arrays)
