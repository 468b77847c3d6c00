"""Which rule is followed: trials made by hand, so that the order can be checked by eye."""

import math
from dataclasses import replace

import numpy as np
import pytest
from builders import boat_of

from powersim.planning.policy_evaluation import PolicyEvaluation
from powersim.planning.rule_limits import limits_of
from powersim.planning.rule_ranking import in_order
from powersim.records import ChargingRule

MEMBERS = 20
NEVER = math.inf
QUIET = {
    "lowest_soc": 0.7,
    "end_soc": 0.9,
    "floor_h": NEVER,
    "flat_h": NEVER,
    "fuel_left_L": 60.0,
}


def rule_of(start_soc, *, by_engine=True):
    return ChargingRule(start_soc=start_soc, stop_soc=0.9, by_engine=by_engine)


def one_evaluation_of(*rows):
    """A rule a row, what differs from a quiet passage given; a plain value for all members."""
    names = [name for name in PolicyEvaluation.__dataclass_fields__ if name != "rules"]
    rules = tuple(row.get("rule", rule_of(0.5 + 0.01 * place)) for place, row in enumerate(rows))
    # A litre costs a litre here, and an hour nothing.
    rows = [{"cost_L": row.get("charging_L", 0.0)} | row for row in rows]
    arrays = {
        name: np.array([np.broadcast_to((QUIET | row).get(name, 0.0), (MEMBERS,)) for row in rows])
        for name in names
    }
    return PolicyEvaluation(rules=rules, **arrays)


def limits(**given):
    return limits_of(boat_of(**given), risk_frac=0.05)


def in_some(count, *, yes, no=0.0):
    return np.array([yes] * count + [no] * (MEMBERS - count))


def first(*rows, asked=None):
    return in_order(one_evaluation_of(*rows), asked or limits(), count=1)[0]


BROKEN = {"floor_h": 1.0}
IDLE = {"rule": rule_of(0.5, by_engine=False)}


def test_hours_dark_come_before_hours_below_the_floor_and_those_before_litres():
    worst_to_best = (
        BROKEN | {"dark_h": 3.0, "below_floor_h": 9.0, "charging_L": 1.0},
        BROKEN | {"dark_h": 2.0, "below_floor_h": 99.0, "charging_L": 60.0},
        BROKEN | {"below_floor_h": 50.0, "charging_L": 1.0},
        BROKEN | {"below_floor_h": 40.0, "charging_L": 30.0},
        BROKEN | {"below_floor_h": 40.0, "charging_L": 20.0},
    )
    assert in_order(one_evaluation_of(*worst_to_best), limits()) == [4, 3, 2, 1, 0]


def test_the_least_diesel_is_no_reason_to_let_the_lights_go_out():
    """All fail in all members: by share and litres alone the engine would be left alone."""
    idle = IDLE | BROKEN | {"dark_h": 115.0, "below_floor_h": 600.0, "charging_L": 1.3}
    own = BROKEN | {"below_floor_h": 3.0, "charging_L": 16.3}
    assert first(idle, own) == 1


def test_a_tank_run_dry_weighs_more_than_hours_below_the_floor():
    dry = BROKEN | {"below_floor_h": 20.0, "fuel_left_L": 0.0, "charging_L": 100.0}
    lower = BROKEN | {"below_floor_h": 60.0, "charging_L": 40.0}
    assert first(dry, lower) == 1


def test_no_tank_run_dry_weighs_more_than_darkness():
    dry = BROKEN | {"fuel_left_L": 0.0, "charging_L": 100.0}
    dark = BROKEN | {"dark_h": 2.0, "charging_L": 40.0}
    assert first(dark, dry) == 1


def test_a_floor_that_is_kept_within_the_risk_asks_for_no_more_diesel():
    """Both eat into the reserve; one weather of twenty may be below the floor."""
    short = {"fuel_left_L": 5.0}
    kept = short | {"floor_h": in_some(1, yes=1.0, no=NEVER), "charging_L": 20.0}
    more = short | {"charging_L": 50.0}
    assert first(kept | {"below_floor_h": in_some(1, yes=9.0)}, more) == 0


def test_of_rules_that_hold_the_least_diesel_is_taken():
    assert first({"charging_L": 12.0}, {"charging_L": 9.0}, BROKEN) == 1


def test_a_tie_within_the_noise_goes_to_the_safer_rule():
    """Litres differ by 0.1 L in the mean, and by far more from weather to weather."""
    noisy_L = 10.0 + np.tile([1.0, -1.2], MEMBERS // 2)
    cheaper = {"charging_L": noisy_L, "lowest_soc": 0.55}
    safer = {"charging_L": 10.0, "lowest_soc": 0.60}
    assert noisy_L.mean() == pytest.approx(9.9)
    assert first(cheaper, safer) == 1
    # A yardstick is after the least.
    assert in_order(one_evaluation_of(cheaper, safer), limits(), by="charging_L") == [0, 1]
    # The same tenth of a litre in every weather is no noise.
    assert first(cheaper | {"charging_L": 9.9}, safer) == 0


def test_of_two_that_tie_the_one_with_less_risk_goes_before_more_margin():
    risky = {"floor_h": in_some(1, yes=1.0, no=NEVER), "lowest_soc": 0.65}
    assert first(risky, {"lowest_soc": 0.60}) == 1


@pytest.mark.parametrize(
    ("idle", "backed"),
    [
        ({"dark_h": in_some(1, yes=5.0), "floor_h": in_some(1, yes=1.0, no=NEVER)}, {}),
        ({"floor_h": in_some(1, yes=1.0, no=NEVER)}, {}),
    ],
)
def test_the_engine_is_not_left_alone_where_running_it_is_safer_though_both_hold(idle, backed):
    assert first(IDLE | idle, backed | {"charging_L": 4.0}) == 1


def test_the_engine_is_left_alone_where_it_makes_nothing_safer():
    assert first(IDLE, {"charging_L": 4.0}) == 0
    low = BROKEN | {"below_floor_h": 30.0}
    assert first(IDLE | low, low | {"charging_L": 4.0}) == 0


def test_a_day_to_come_up_is_no_day_without_the_engine():
    asked = replace(limits(), counted_from_h=24.0)
    assert first(IDLE, {"charging_L": 4.0}, asked=asked) == 1
    assert first(IDLE, asked=asked) == 0


def test_every_rule_has_its_place():
    rows = [BROKEN | {"dark_h": hours} for hours in (5.0, 1.0, 3.0)]
    assert in_order(one_evaluation_of(*rows), limits()) == [1, 2, 0]
    assert in_order(one_evaluation_of(*rows), limits(), count=2) == [1, 2]


def test_of_rules_that_hold_the_one_that_costs_least_is_taken_and_not_the_one_that_burns_least():
    assert first({"charging_L": 9.0, "cost_L": 15.0}, {"charging_L": 9.5, "cost_L": 12.0}) == 1


def test_a_rule_that_holds_surely_goes_before_one_that_just_holds():
    """Wilson's upper bound of 1 in 200 is 2.8 %, of 9 in 200 8.3 % (his formula, 1927)."""
    many = 200
    late = np.full((2, many), NEVER)
    late[0, :9], late[1, :1] = 1.0, 1.0
    evaluation = one_evaluation_of({}, {})
    arrays = {
        name: np.repeat(getattr(evaluation, name)[:, :1], many, axis=1)
        for name in PolicyEvaluation.__dataclass_fields__
        if name != "rules"
    }
    cost_L = np.repeat([[5.0], [20.0]], many, axis=1)
    evaluation = replace(evaluation, **arrays | {"floor_h": late, "cost_L": cost_L})
    assert in_order(evaluation, limits(), count=1) == [1]


def test_a_bank_is_filled_in_time_where_that_costs_little_more():
    asked = limits(charging={"full_every_days": 10.0})
    late = {"longest_since_full_h": 24.0 * 20.0, "cost_L": 40.0}
    filled = {"longest_since_full_h": 24.0 * 11.0}
    assert first(late, filled | {"cost_L": 49.0}, asked=asked) == 1
    assert first(late, filled | {"cost_L": 51.0}, asked=asked) == 0
