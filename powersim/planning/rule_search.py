"""The search for the charging rule of least diesel that keeps the limits in enough weathers.

Every trial is the real simulation. For each kind of rule the lowest start that is safe is sought,
at first in a few weathers, then for the best kinds and their kin in all of them. The levels of the
best are rounded to whole per cent and judged in weathers that the search has not seen: a rule that
is chosen among many looks better than it is in those that it was chosen by. Which is the best,
and the least bad where none holds, is rule_ranking.py's word.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from powersim.planning.first_day import counted_from_h, eager
from powersim.planning.rule_candidates import (
    HIGHEST_STOP_SOC,
    at_level,
    kin,
    kinds,
    least_start,
    never,
)
from powersim.planning.rule_limits import Limits, broken, floor_margin, limits_of, worst_frac
from powersim.planning.rule_ranking import in_order
from powersim.planning.trials import Tried, joined, try_rules
from powersim.records import ChargingRule
from powersim.simulation.plant import has_charging_alternator
from powersim.simulation.weathers import Weathers, weathers_of

#: Weathers that all kinds are tried in, at first.
FEW = 60
#: Kinds that are tried in all weathers, and how many of them have their kin tried.
BEST_KINDS, BEST_OF_KIN = 8, 2
#: How often each start is set anew, in few weathers and in all.
FEW_ROUNDS, ALL_ROUNDS = 5, 3
#: How far above the starts that were found rules are judged: the cheapest that holds is taken. If
#: none does, the search was in kinder weathers, and higher ones are judged too. [-]
JUDGED_ABOVE_SOC = (-0.01, 0.0, 0.01, 0.02, 0.04)
HIGHER_SOC = (0.06, 0.09, 0.12, 0.16, 0.20)
#: A start is found when the floor's margin is this small. [-]
_CLOSE_SOC = 0.004
#: Least step of a start while it is sought. [-]
_STEP_SOC = 0.01


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Found:
    """The rule that the search returns.

    Attributes
    ----------
    rule : ChargingRule
        Levels in whole per cent.
    judged : Tried
        The rule alone, in weathers that the search has not seen.
    worst_frac : float
        Share of those in which it fails. [-]
    holds : bool
        Whether that is within the risk. If not, no rule that was tried holds, and this one is the
        least bad.
    rules_tried : int
        How many the search has tried.
    """

    rule: ChargingRule
    judged: Tried
    worst_frac: float
    holds: bool
    rules_tried: int


class Searched(NamedTuple):
    """A search, and what it was made in: all weathers, and those of them that it was judged in."""

    limits: Limits
    weathers: Weathers
    judging: Weathers
    found: Found


def search_for(
    passage,
    prepared,
    *,
    members: int,
    judges: int,
    seed: int,
    risk_frac: float,
    progress: Callable | None = None,
) -> Searched:
    """Draw weathers for a passage, search its rule in the first, and judge it in the others.

    Parameters
    ----------
    passage : Passage
    prepared : Prepared
        The same in the mean sky.
    members, judges : int
        Weathers to search in, and others to judge in.
    seed : int
        Which weathers.
    risk_frac : float
        Share of the weathers in which a limit may be broken. [-]
    progress : callable, optional
        Called now and then with the share that is done.

    Returns
    -------
    Searched
    """
    weathers = weathers_of(passage, prepared, members=members + judges, seed=seed)
    judging = weathers.between(members, members + judges)
    limits = limits_from(passage.boat, judging, risk_frac=risk_frac)
    few = weathers.between(0, members)
    found = search(passage.boat, few, judging, limits, progress=progress)
    return Searched(limits, weathers, judging, found)


def limits_from(boat, weathers, *, risk_frac: float) -> Limits:
    """The limits that a boat's files set, and from when on the floor counts in some weathers.

    Parameters
    ----------
    boat : Boat
    weathers : Weathers or WeathersAboard
        That rules are judged in.
    risk_frac : float
        Share of the weathers in which a limit may be broken. [-]

    Returns
    -------
    Limits
    """
    limits = limits_of(boat, risk_frac=risk_frac)
    return replace(limits, counted_from_h=counted_from_h(boat, weathers, limits))


def search(boat, weathers, judges, limits: Limits, *, progress: Callable | None = None) -> Found:
    """The rule of least expected diesel that keeps the limits; the least bad if none does.

    Parameters
    ----------
    boat : Boat
        Her charging rule says in which hours the engine may run, how short and how long, and how
        often the bank must be full. Where nothing holds it is judged too.
    weathers : Weathers
        To search in.
    judges : Weathers
        Other weathers of the same passage, to judge in.
    limits : Limits
    progress : callable, optional
        Called now and then with the share that is done.

    Returns
    -------
    Found
    """
    trials = _Trials(boat, limits, weathers, judges, progress)
    idle = trials.judge([never(boat)])
    if not trials.can_charge or trials.needs_no_engine(idle):
        return trials.found(idle)
    few = trials.lowest_safe(trials.kinds(), trials.few, rounds=FEW_ROUNDS)
    best = trials.best_of(few, BEST_KINDS)
    all_told = trials.lowest_safe(best, weathers, rounds=ALL_ROUNDS)
    near = [one for rule in trials.best_of(all_told, BEST_OF_KIN) for one in kin(rule, boat)]
    if near:
        all_told = joined([all_told, trials.lowest_safe(near, weathers, rounds=ALL_ROUNDS)])
    chosen = trials.best_of(all_told, BEST_OF_KIN)
    judged = idle
    for above_soc in (JUDGED_ABOVE_SOC, HIGHER_SOC):
        rules = _about(chosen, above_soc, trials.least_soc)
        judged = joined([judged, trials.judge(rules)]) if rules else judged
        if trials.any_holds(judged):
            return trials.found(judged)
    return trials.found(joined([judged, trials.judge(_last_resorts(boat))]))


class _Trials:
    """Rules tried so far, and the share of all the work that is done."""

    def __init__(self, boat, limits, weathers, judges, progress):
        self.boat, self.limits, self.judges = boat, limits, judges
        self.few = weathers.between(0, min(FEW, weathers.members))
        self.can_charge = has_charging_alternator(boat)
        self.least_soc, self.tried, self.done = least_start(boat), 0, 0.0
        self.progress = progress
        n_kinds, n_judged = len(self.kinds()), BEST_OF_KIN * len(JUDGED_ABOVE_SOC) + 1
        self.expected = (
            n_kinds * self.few.members * FEW_ROUNDS
            + (BEST_KINDS + 10 * BEST_OF_KIN) * weathers.members * ALL_ROUNDS
            + n_judged * judges.members
        )

    def kinds(self) -> list[ChargingRule]:
        return kinds(self.boat, self.judges.prepared.track)

    def judge(self, rules: Sequence[ChargingRule]) -> Tried:
        return self._try(rules, self.judges)

    def lowest_safe(self, rules, weathers, *, rounds) -> Tried:
        """Each rule at the lowest start at which the floor holds, as nearly as it was found.

        The floor's margin grows with the start, nearly in step with it, so each round goes by what
        the margin lacks; once a start is known on either side, between the two.
        """
        seeks = [_Seek(rule, self.least_soc) for rule in rules]
        for round_no in range(rounds):
            # Those that are found are not tried again.
            open_seeks = [seek for seek in seeks if not seek.closed]
            if not open_seeks:
                break
            tried = self._try([seek.at() for seek in open_seeks], weathers)
            margins = floor_margin(tried, self.limits)
            for place, seek in enumerate(open_seeks):
                seek.take(tried.only(place), float(margins[place]), last=round_no == rounds - 1)
        return joined([seek.best for seek in seeks])

    def best_of(self, tried: Tried, count: int) -> list[ChargingRule]:
        """Some of the rules, the cheapest of those that hold first."""
        order = in_order(tried, self.limits, count=count, safer_of_ties=False)
        return [tried.rules[place] for place in order]

    def needs_no_engine(self, idle: Tried) -> bool:
        """Whether the engine may be left alone without a single weather to regret it in."""
        if self.limits.counted_from_h or broken(idle, self.limits)["floor"].any():
            return False
        return self.any_holds(idle)

    def any_holds(self, judged: Tried) -> bool:
        """Whether one of the judged rules keeps within the risk."""
        return bool((worst_frac(judged, self.limits) <= self.limits.risk_frac).any())

    def found(self, judged: Tried) -> Found:
        """What the judged rules come to."""
        (place,) = in_order(judged, self.limits, count=1)
        frac = float(worst_frac(judged, self.limits)[place])
        if self.progress is not None:
            self.progress(1.0)
        return Found(
            rule=judged.rules[place],
            judged=judged.only(place),
            worst_frac=frac,
            holds=frac <= self.limits.risk_frac,
            rules_tried=self.tried,
        )

    def _try(self, rules, weathers) -> Tried:
        self.tried += len(rules)
        return try_rules(
            self.boat,
            weathers,
            rules,
            counted_from_h=self.limits.counted_from_h,
            progress=self._tell,
        )

    def _tell(self, passages):
        self.done += passages
        if self.progress is not None:
            self.progress(min(self.done / self.expected, 0.99))


class _Seek:
    """The lowest safe start of one kind of rule, while it is sought."""

    def __init__(self, rule, least_soc):
        self.rule, self.least_soc = rule, least_soc
        self.start_soc = max(rule.start_soc, least_soc)
        self.low = self.high = None  # (start, margin) known to be too low, and to be safe
        self.best, self.best_margin, self.closed = None, -math.inf, False

    def at(self) -> ChargingRule:
        return at_level(self.rule, self.start_soc)

    def take(self, tried, margin, *, last):
        """Learn from one trial, and set the next start."""
        here = (tried.rules[0].start_soc, margin)
        if margin >= 0.0:
            if self.best_margin < 0.0 or here[0] <= self.best.rules[0].start_soc:
                self.best, self.best_margin = tried, margin
            self.high = here
        else:
            if margin > self.best_margin and self.best_margin < 0.0:
                self.best, self.best_margin = tried, margin
            self.low = here
        self._next(here, margin)
        if last:
            self.closed = True

    def _next(self, here, margin):
        highest_soc = HIGHEST_STOP_SOC - (self.rule.stop_soc - self.rule.start_soc)
        if self.low and self.high:
            (low_soc, under), (high_soc, over) = self.low, self.high
            if high_soc - low_soc <= _STEP_SOC or over <= _CLOSE_SOC:
                self.closed = True
                return
            part = -under / (over - under)
            # Kept off the ends, so that the bracket shrinks on both sides.
            self.start_soc = low_soc + min(max(part, 0.15), 0.9) * (high_soc - low_soc)
        elif margin >= 0.0:
            if margin <= _CLOSE_SOC or here[0] <= self.least_soc:
                self.closed = True
                return
            self.start_soc = max(here[0] - max(margin, _STEP_SOC), self.least_soc)
        else:
            if here[0] >= highest_soc - 1e-9:
                self.closed = True
                return
            self.start_soc = min(here[0] + max(-margin, _STEP_SOC) * 1.1, highest_soc)


def _about(rules, above_soc, least_soc) -> list[ChargingRule]:
    """Rules with levels in whole per cent, so far above the starts that were found."""
    return [
        _whole(at_level(rule, start_soc))
        for rule in rules
        for more_soc in above_soc
        if (start_soc := math.ceil(100.0 * rule.start_soc - 1e-6) / 100.0 + more_soc) >= least_soc
    ]


def _last_resorts(boat) -> list[ChargingRule]:
    """What else to judge where nothing holds: the boat's own rule, and to charge all that can be
    charged. The search goes by a floor that may be out of reach, and may pass them by."""
    own = [boat.charging] if boat.charging.by_engine else []
    return [eager(boat), *own]


def _whole(rule):
    start_soc = round(rule.start_soc, 2)
    stop_soc = max(round(rule.stop_soc, 2), round(start_soc + 0.01, 2))
    return replace(rule, start_soc=start_soc, stop_soc=stop_soc)
