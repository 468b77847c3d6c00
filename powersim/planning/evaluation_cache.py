"""What charging rules come to in some members, each rule simulated once in each of them.

Evaluate each rule in as few members as the question needs: what a rule comes to in a member depends
on nothing else, so the order is free.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from powersim.planning.policy_evaluation import ARRAYS, PolicyEvaluation, evaluate_policies, joined
from powersim.planning.rule_limits import RuleLimits, broken
from powersim.planning.signal_blocks import SignalCache
from powersim.records import Boat, ChargingRule
from powersim.simulation.bands import quantiles

if TYPE_CHECKING:
    from powersim.simulation.aboard import ForcingAboard
    from powersim.simulation.member_signals import EnsembleForcing


class EvaluationCache:
    """Evaluates rules in members on request, and keeps what they came to.

    A limit may be broken in `allowed` of its `members`. `progress` is called as
    `policy_evaluation.evaluate_policies` does.
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
        shares = np.arange(self.members + 1) / self.members
        self.allowed = int(np.count_nonzero(shares <= limits.risk_frac)) - 1
        self._rows: dict[ChargingRule, _Row] = {}
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

    def mean_L(self, rule: ChargingRule, places: np.ndarray | int | None = None) -> float:
        """Mean diesel for the bank by one rule in some members. [L]"""
        return float(self.evaluation([rule], places).charging_L.mean())

    def more_L(
        self, rule: ChargingRule, other: ChargingRule, places: np.ndarray | int | None = None
    ) -> np.ndarray:
        """How much more diesel for the bank one rule burns than another, in each member. [L]"""
        charging_L = self.evaluation([rule, other], places).charging_L
        return charging_L[0] - charging_L[1]

    def evaluated(self, rule: ChargingRule) -> PolicyEvaluation:
        """What a rule has come to in the members that it has been evaluated in so far."""
        row = self._rows[rule]
        return row.evaluation(rule, np.flatnonzero(row.evaluated))

    def breaks(self, rule: ChargingRule) -> list[str]:
        """Names of the limits that a rule is known to break in more members than is allowed.

        Members still to come cannot take back what has been counted, so this is certain.
        """
        counts = {
            name: np.count_nonzero(where)
            for name, where in broken(self.evaluated(rule), self.limits).items()
        }
        return [name for name, count in counts.items() if count > self.allowed]

    def margin_soc(self, rule: ChargingRule) -> float:
        """A rule's margin above the floor, if no member still to come is worse than those so far.

        It is that of `rule_limits.floor_margin`, as a number for the one rule. [-]
        """
        here = self.evaluated(rule).lowest_soc[0]
        lowest_soc = np.full(self.members, np.inf)
        lowest_soc[: len(here)] = here
        return float(quantiles(lowest_soc, (self.limits.risk_frac,))[0] - self.limits.floor_soc)

    def hardest(self, count: int, *, like: ChargingRule) -> np.ndarray:
        """The `count` members in which a limit is likeliest to be broken; all if there are fewer.

        They follow from `like`, a rule similar to the one in question, which is evaluated in all
        members. They have its lowest charge; also its least fuel, or its longest time without a
        full charge, where it breaks that limit in more than half as many members as are allowed.
        """
        evaluation = self.evaluation([like])
        near = {
            name: np.count_nonzero(where) > self.allowed / 2
            for name, where in broken(evaluation, self.limits).items()
        }
        measures = [evaluation.lowest_soc[0]]
        measures += [evaluation.fuel_left_L[0]] if near["reserve"] else []
        measures += [-evaluation.longest_since_full_h[0]] if near["full"] else []
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
