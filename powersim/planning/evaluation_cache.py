"""Rules heard in as many of some members as it takes to know what is asked of them.

What a rule comes to in a weather hangs on nothing else, so it is carried through each weather once,
and in whatever order is quickest to tell.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from powersim.planning.policy_evaluation import ARRAYS, PolicyEvaluation, evaluate_policies, joined
from powersim.planning.rule_limits import RuleLimits, broken
from powersim.planning.signal_blocks import SignalCache
from powersim.records import ChargingRule
from powersim.simulation.bands import quantiles


class EvaluationCache:
    """Members, and what rules have come to in some of them.

    Parameters
    ----------
    boat : Boat
    forcing : EnsembleForcing or ForcingAboard
    limits : RuleLimits
    progress : callable, optional
        Called with how much is done, as `policy_evaluation.evaluate_policies` does.

    Attributes
    ----------
    members : int
        How many members.
    allowed : int
        In how many of them a limit may be broken.
    """

    def __init__(self, boat, forcing, limits: RuleLimits, *, progress: Callable | None = None):
        self.boat, self.forcing, self.limits = boat, forcing, limits
        self.members, self.progress = forcing.members, progress
        shares = np.arange(self.members + 1) / self.members
        self.allowed = int(np.count_nonzero(shares <= limits.risk_frac)) - 1
        self._rows: dict[ChargingRule, _Row] = {}
        self._signal_cache = SignalCache()

    @property
    def rules_evaluated(self) -> int:
        """How many rules have been heard."""
        return len(self._rows)

    def evaluate(
        self, rules: Sequence[ChargingRule], places: np.ndarray | int | None = None
    ) -> None:
        """Try rules in some members, each where it has not been tried.

        Parameters
        ----------
        places : ndarray of int, or int, optional
            Which members, or how many of the first; all if left out.
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
        """What rules come to in some members, tried there if need be."""
        places = self._places(places)
        self.evaluate(rules, places)
        return joined([self._rows[rule].evaluation(rule, places) for rule in rules])

    def evaluated(self, rule: ChargingRule) -> PolicyEvaluation:
        """What a rule has come to wherever it was tried so far."""
        row = self._rows[rule]
        return row.evaluation(rule, np.flatnonzero(row.evaluated))

    def breaks(self, rule: ChargingRule) -> list[str]:
        """Limits that a rule is known to break in more of all the members than is allowed.

        Returns
        -------
        list of str
            As `rule_limits.broken` names them. What has been counted cannot be taken back by
            members that are still to come: this is no guess.
        """
        counts = {
            name: np.count_nonzero(where)
            for name, where in broken(self.evaluated(rule), self.limits).items()
        }
        return [name for name, count in counts.items() if count > self.allowed]

    def margin_soc(self, rule: ChargingRule) -> float:
        """How far above the floor a rule is known to keep the bank in all but the share allowed.

        Returns
        -------
        float
            As `rule_limits.floor_margin` has it, the members still to come taken to be kinder than
            those. [-]
        """
        here = self.evaluated(rule).lowest_soc[0]
        lowest_soc = np.full(self.members, np.inf)
        lowest_soc[: len(here)] = here
        return float(quantiles(lowest_soc, (self.limits.risk_frac,))[0] - self.limits.floor_soc)

    def hardest(self, count: int, *, like: ChargingRule) -> np.ndarray:
        """Members in which a limit is likeliest to be broken.

        Parameters
        ----------
        like : ChargingRule
            A rule that is like the one to be tried, or that one; it is tried in all members.

        Returns
        -------
        ndarray of int
            So many, or all if there are fewer: those of the lowest charge, and of what is left or
            how long no full charge came where that is broken in half as many as are allowed.
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
    """What one rule has come to, and where."""

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
