"""What a rule costs, by sums that can be checked in one's head."""

from dataclasses import replace

import numpy as np
import pytest
from builders import boat_of

from powersim.planning.rule_costs import cost_L, is_light
from powersim.records import RuleCosts

#: Two members: 10 L, 20 h, 15 runs, 12 days without a full charge; the second half of all.
CAME = {
    "charging_L": np.array([10.0, 5.0]),
    "charging_h": np.array([20.0, 10.0]),
    "charging_runs": np.array([15.0, 7.5]),
    "longest_since_full_h": np.array([24.0 * 12.0, 24.0 * 6.0]),
}
PRICES = RuleCosts(engine_hour_L=0.3, start_L=0.1, light_load_hour_L=0.1, late_full_day_L=0.2)


def test_hours_starts_and_light_load_are_added_in_litres():
    """10 + 20 * 0.3 + 15 * 0.1 + 20 * 0.1 = 19.5 L: 45 A at 14 V are a twelfth of 14 kW."""
    boat = replace(boat_of(), costs=PRICES)
    assert is_light(boat)
    assert cost_L(boat, **CAME) == pytest.approx([19.5, 9.75])


def test_days_beyond_the_interval_are_late():
    """2 days beyond 10, at 0.2 L each; 6 days are none."""
    boat = replace(boat_of(charging={"full_every_days": 10.0}), costs=PRICES)
    assert cost_L(boat, **CAME) == pytest.approx([19.5 + 0.4, 9.75])


def test_a_small_diesel_that_works_hard_pays_no_light_load():
    """45 A at 14 V and half of it lost: 1.3 kW, over a fifth of 5 kW."""
    boat = replace(boat_of(engine={"rated_kW": 5.0}), costs=PRICES)
    assert not is_light(boat)
    assert cost_L(boat, **CAME) == pytest.approx([17.5, 8.75])


def test_petrol_and_no_alternator_pay_none_either():
    assert not is_light(boat_of(engine={"kind": "petrol"}))
    assert not is_light(boat_of(engine=None))
