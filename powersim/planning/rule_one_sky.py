"""The best charging rule for one sky that is known beforehand, with the bank read exactly.

It stands between the rule of the plan and perfect foresight. What it burns beyond foresight is the
price of following a rule at all; what the rule of the plan burns beyond it is the price of caution.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from powersim.planning.one_sky_candidates import kinds, neighbours
from powersim.planning.policy_evaluation import PolicyEvaluation, evaluate_policies, joined
from powersim.planning.rule_candidates import (
    HIGHEST_STOP_SOC,
    at_level,
    least_start,
    never_charge,
)
from powersim.planning.rule_limits import limits_of
from powersim.planning.rule_ranking import in_order
from powersim.records import Passage
from powersim.simulation.mean_sky import MeanSky
from powersim.simulation.plant import has_charging_alternator

if TYPE_CHECKING:
    from powersim.simulation.prepared import Prepared

#: Step between the starts of a kind. [-]
_GRID_SOC = 0.01
#: Rules whose neighbours are evaluated, in how many rounds, and how far about their start. [-]
_BEST, _ROUNDS, _ABOUT_SOC = 3, 3, 0.04


def search_one_sky(
    passage: Passage, prepared: Prepared, *, counted_from_h: float = 0.0
) -> PolicyEvaluation:
    """The rule of least diesel that keeps floor and reserve in the mean sky.

    Where none keeps them it is the least bad by rule_ranking.py. The floor counts from
    `counted_from_h` on.
    """
    boat, sky = passage.boat, MeanSky(prepared=prepared)
    limits = replace(limits_of(boat, risk_frac=0.0), counted_from_h=counted_from_h)
    evaluated = partial(evaluate_policies, boat, sky, counted_from_h=counted_from_h)
    least_soc = least_start(boat)

    def best_of(evaluation, count):
        order = in_order(evaluation, limits, count=count, by="charging_L")
        return joined([evaluation.only(place) for place in order])

    rules = [never_charge(boat)]
    if has_charging_alternator(boat):
        starts = np.arange(least_soc, HIGHEST_STOP_SOC, _GRID_SOC)
        rules += _distinct(
            at_level(kind, float(soc)) for kind in kinds(boat, prepared.track) for soc in starts
        )
    best = best_of(evaluated(rules), _BEST)
    for _ in range(_ROUNDS):
        near = _distinct(
            at_level(one, max(one.start_soc + float(off_soc), least_soc))
            for rule in best.rules
            if rule.by_engine
            for one in (rule, *neighbours(rule, boat))
            for off_soc in np.arange(-_ABOUT_SOC, _ABOUT_SOC + 1e-9, _GRID_SOC / 2.0)
        )
        if not near:
            break
        better = best_of(joined([best, evaluated(near)]), _BEST)
        if better.rules[0] == best.rules[0]:
            break
        best = better
    return best.only(0)


def _distinct(rules):
    """Rules without those that differ by rounding alone."""
    rounded = (
        replace(
            rule,
            start_soc=round(rule.start_soc, 4),
            stop_soc=None if rule.stop_soc is None else round(rule.stop_soc, 4),
        )
        for rule in rules
    )
    return list(dict.fromkeys(rounded))
