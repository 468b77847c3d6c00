"""A search for the lowest start at which a rule keeps the floor, for many rules at once."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from powersim.planning.rule_candidates import at_level, highest_start
from powersim.records import ChargingRule

#: A start is found when the floor's margin is this small. [-]
CLOSE_SOC = 0.004
#: Least step from one start to the next. [-]
_STEP_SOC = 0.01
#: Most points by which a start is raised for each point that the margin lacks.
_MOST_RISE = 4.0
#: Most that a start is raised for that reason: far too high, it runs the tank dry. [-]
_STEEPER_SOC = 0.04


class StartSearch:
    """A search for the lowest safe start of one kind of rule, from the rule's own start on.

    Attributes
    ----------
    best : ChargingRule or None
        The rule at the lowest start known to be safe, or else at the least unsafe one.
    best_margin_soc : float
        Its margin above the floor. [-]
    nearest : ChargingRule or None
        The rule at the start whose margin is nearest to zero, safe or not.
    unsafe : ChargingRule or None
        The rule at the last start that was too low. A safe one starts higher and burns no less.
    closed : bool
        Whether the search is over.
    """

    def __init__(self, rule: ChargingRule, least_soc: float) -> None:
        self.rule, self.least_soc = rule, least_soc
        self.start_soc = max(rule.start_soc, least_soc)
        # Start and margin of the last one that was too low, and of the last that was safe.
        self.low: tuple[float, float] | None = None
        self.high: tuple[float, float] | None = None
        self.best: ChargingRule | None = None
        self.unsafe: ChargingRule | None = None
        self.best_margin_soc, self.closed = -math.inf, False
        self.nearest: ChargingRule | None = None
        self._nearest_soc = math.inf
        self._rise = 1.0

    @property
    def safe(self) -> bool:
        """Whether a safe start is known."""
        return self.best_margin_soc >= 0.0

    def candidate(self) -> ChargingRule:
        """The rule at the start to be evaluated next."""
        return at_level(self.rule, self.start_soc)

    def update(self, rule: ChargingRule, margin_soc: float) -> None:
        """Take in the margin of a rule, and set the next start."""
        here = (rule.start_soc, margin_soc)
        if abs(margin_soc) < self._nearest_soc:
            self.nearest, self._nearest_soc = rule, abs(margin_soc)
        if margin_soc >= 0.0:
            if not self.safe or self.best is None or rule.start_soc <= self.best.start_soc:
                self.best, self.best_margin_soc = rule, margin_soc
            self.high = here
        else:
            if margin_soc > self.best_margin_soc and not self.safe:
                self.best, self.best_margin_soc = rule, margin_soc
            before, self.low, self.unsafe = self.low, here, rule
            self._rise = _rise(before, here)
        self._next(here, margin_soc)

    def _next(self, here, margin_soc):
        highest_soc = highest_start(self.rule)
        if self.low and self.high:
            (low_soc, under), (high_soc, over) = self.low, self.high
            if high_soc - low_soc <= _STEP_SOC or over <= CLOSE_SOC:
                self.closed = True
                return
            part = -under / (over - under)
            # Kept off the ends, so that the bracket shrinks on both sides.
            self.start_soc = low_soc + min(max(part, 0.15), 0.9) * (high_soc - low_soc)
        elif margin_soc >= 0.0:
            if margin_soc <= CLOSE_SOC or here[0] <= self.least_soc:
                self.closed = True
                return
            self.start_soc = max(here[0] - max(margin_soc, _STEP_SOC), self.least_soc)
        else:
            if here[0] >= highest_soc - 1e-9:
                self.closed = True
                return
            # A large lack may have been a flat bank, and says little of how the margin grows.
            steeper_soc = min(-margin_soc * self._rise, _STEEPER_SOC)
            lacks_soc = max(-margin_soc, steeper_soc, _STEP_SOC)
            self.start_soc = min(here[0] + 1.1 * lacks_soc, highest_soc)


def _rise(before, here):
    """How many points a start has to rise for each point that the margin lacks."""
    if before is None or here[1] <= before[1]:
        return 1.0
    rise = (here[0] - before[0]) / (here[1] - before[1])
    return min(max(rise, 1.0), _MOST_RISE)


def lowest_safe_starts(
    rules: Sequence[ChargingRule],
    margins_of: Callable,
    *,
    least_soc: float,
    rounds: int,
    drop: Callable | None = None,
) -> list[StartSearch]:
    """Search each rule's lowest start at which the floor holds, in so many rounds at most.

    `margins_of` gives the margins of some rules at once. The margin grows with the start, so each
    round raises or lowers the start by what the margin lacks or has to spare; between a start that
    is too low and one that is safe it interpolates. After each round `drop`, if given, takes all
    searches and returns those worth continuing.
    """
    searches = [StartSearch(rule, least_soc) for rule in rules]
    for _ in range(rounds):
        going = [search for search in searches if not search.closed]
        if not going:
            break
        evaluation = [search.candidate() for search in going]
        for search, rule, margin_soc in zip(going, evaluation, margins_of(evaluation), strict=True):
            search.update(rule, float(margin_soc))
        searches = drop(searches) if drop else searches
    return searches
