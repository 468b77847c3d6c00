"""The day of grace in which a bank that is low at the start may come up to its floor.

`plan`, `underway` and `size` all take it from here. A rule cannot be blamed for what the bank held
before it was followed, and where every rule fails a search cannot tell them apart.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from powersim.planning.policy_evaluation import evaluate_policies
from powersim.planning.rule_candidates import HIGHEST_STOP_SOC, at_level, never_charge
from powersim.planning.rule_limits import RuleLimits
from powersim.records import Boat, ChargingRule
from powersim.simulation.aboard import aboard_of
from powersim.simulation.plant import has_charging_alternator

if TYPE_CHECKING:
    from powersim.simulation.aboard import ForcingAboard
    from powersim.simulation.member_signals import EnsembleForcing

#: Time for a low bank to come up: a morning's run, a day's sun and an evening's run (common
#: practice, no source). [h]
DAY_h = 24.0
#: About what a night takes (common practice, no source). [-]
NIGHT_SOC = 0.10


def counted_from_h(
    boat: Boat, forcing: EnsembleForcing | ForcingAboard, limits: RuleLimits
) -> float:
    """When the floor begins to count: 0, or DAY_h where the bank is low at the start. [h]

    It is low if, in a larger share of the members than the risk, it begins at its floor or below
    it, or so little above it that no rule keeps it above on the first day.
    """
    start_soc = np.broadcast_to(aboard_of(forcing, boat.battery).soc, forcing.members)
    above_soc = start_soc - limits.floor_soc
    if np.mean(above_soc <= 0.0) > limits.risk_frac:
        return DAY_h
    if np.mean(above_soc <= NIGHT_SOC) <= limits.risk_frac:
        return 0.0
    rule = always_charge(boat) if has_charging_alternator(boat) else never_charge(boat)
    first_day = evaluate_policies(boat, forcing, [rule], until_h=DAY_h)
    # Not PolicyEvaluation.below_floor: darkness is excused on no day.
    below_frac = np.mean(first_day.lowest_soc < limits.floor_soc)
    return DAY_h if below_frac > limits.risk_frac else 0.0


def always_charge(boat: Boat) -> ChargingRule:
    """The rule that charges whenever the hours allow it."""
    return at_level(replace(boat.charging, by_engine=True, daily=()), HIGHEST_STOP_SOC)
