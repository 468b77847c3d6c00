"""What counts as broken, and how often."""

import math

import numpy as np
import pytest
from builders import boat_of

from powersim.planning.policy_evaluation import PolicyEvaluation
from powersim.planning.rule_limits import broken, floor_margin, limits_of, worst_frac
from powersim.records import ChargingRule

RULE = ChargingRule(start_soc=0.6, stop_soc=0.8)
QUIET = {"lowest_soc": 0.7, "end_soc": 0.9, "below_floor": False, "fuel_left_L": 60.0}


def evaluation_of(*, members=20, **given):
    """One rule in some members; a plain value stands for all of them."""
    names = [name for name in PolicyEvaluation.__dataclass_fields__ if name != "rules"]
    return PolicyEvaluation(
        rules=(RULE,),
        **{
            name: np.array(np.broadcast_to((QUIET | given).get(name, 0.0), (1, members)))
            for name in names
        },
    )


def limits(risk_frac=0.05, **charging):
    return limits_of(boat_of(charging=charging), risk_frac=risk_frac)


def some(count, *, members=20, yes=True, no=False):
    return np.array([[yes] * count + [no] * (members - count)])


def test_a_quiet_passage_breaks_nothing():
    assert not any(where.any() for where in broken(evaluation_of(), limits()).values())


@pytest.mark.parametrize(
    ("given", "which"),
    [
        ({"below_floor": some(2)}, "floor"),
        ({"fuel_left_L": some(2, yes=19.9, no=60.0)}, "reserve"),
        ({"fuel_short_L": some(2, yes=0.1, no=0.0)}, "reserve"),
        ({"longest_since_full_h": some(2, yes=24.0 * 8 + 0.1, no=24.0 * 8)}, "full"),
    ],
)
def test_each_limit_is_counted_by_itself(given, which):
    asked = limits(full_every_days=7.0)
    shares = {name: where.mean() for name, where in broken(evaluation_of(**given), asked).items()}
    assert shares == {"floor": 0.0, "reserve": 0.0, "full": 0.0} | {which: 0.1}
    assert worst_frac(evaluation_of(**given), asked)[0] == pytest.approx(0.1)
    assert worst_frac(evaluation_of(**given), asked, but=which)[0] == 0.0


def test_a_boat_without_an_engine_has_no_reserve_to_break():
    asked = limits_of(boat_of(engine=None), risk_frac=0.05)
    evaluation = evaluation_of(fuel_left_L=0.0, fuel_short_L=1.0)
    assert not broken(evaluation, asked)["reserve"].any()


def test_no_interval_asks_for_no_full_charge():
    assert math.isinf(limits().since_full_h)
    assert not broken(evaluation_of(longest_since_full_h=1e6), limits())["full"].any()


def test_the_margin_is_that_of_the_members_that_may_not_fail():
    # 21 members at 0.40, 0.41 ... 0.60: one in twenty lies at or below 0.41.
    lowest = np.linspace(0.40, 0.60, 21)[None]
    margin = floor_margin(evaluation_of(members=21, lowest_soc=lowest), limits())
    assert margin[0] == pytest.approx(0.41 - 0.50)
