"""What counts as failing, and how far a rule is from it."""

import math

import numpy as np
import pytest
from builders import boat_of

from powersim.planning.policy_evaluation import PolicyEvaluation
from powersim.planning.rule_limits import (
    failing,
    fails_frac,
    holds,
    keeps_full,
    limits_of,
    margin,
    member_margins,
)
from powersim.records import ChargingRule

RULE = ChargingRule(start_soc=0.6, stop_soc=0.8)
QUIET = {
    "lowest_soc": 0.7,
    "end_soc": 0.9,
    "floor_h": math.inf,
    "flat_h": math.inf,
    "fuel_left_L": 60.0,
}


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


def some(count, *, members=20, yes, no, first=0):
    return np.array([[no] * first + [yes] * count + [no] * (members - first - count)])


def test_a_quiet_passage_breaks_nothing():
    assert not failing(evaluation_of(), limits()).any.any()
    assert holds(evaluation_of(), limits()).tolist() == [True]


@pytest.mark.parametrize(
    ("given", "which"),
    [
        ({"floor_h": some(2, yes=9.0, no=math.inf)}, {"floor"}),
        ({"flat_h": some(2, yes=9.0, no=math.inf)}, {"floor", "dark"}),
        ({"fuel_left_L": some(2, yes=19.9, no=60.0)}, {"reserve"}),
        ({"fuel_short_L": some(2, yes=0.1, no=0.0)}, {"reserve"}),
    ],
)
def test_each_cause_is_counted(given, which):
    where = failing(evaluation_of(**given), limits())
    assert {name for name in where._fields if getattr(where, name).any()} == which
    assert fails_frac(evaluation_of(**given), limits())[0] == pytest.approx(0.1)
    assert holds(evaluation_of(**given), limits()).tolist() == [False]


def test_causes_in_different_members_add_up():
    """One of twenty below the floor and another into the reserve: each is within 5 %, both not."""
    both = evaluation_of(
        floor_h=some(1, yes=9.0, no=math.inf), fuel_left_L=some(1, yes=5.0, no=60.0, first=1)
    )
    assert fails_frac(both, limits())[0] == pytest.approx(0.1)
    assert not holds(both, limits())[0]


def test_a_boat_without_an_engine_has_no_reserve_to_break():
    asked = limits_of(boat_of(engine=None), risk_frac=0.05)
    evaluation = evaluation_of(fuel_left_L=0.0, fuel_short_L=1.0)
    assert not failing(evaluation, asked).reserve.any()


def test_full_charges_are_a_promise_of_their_own():
    """Seven days and two of grace, which all but one in twenty keep."""
    asked = limits(full_every_days=7.0)
    late = evaluation_of(longest_since_full_h=some(2, yes=24.0 * 9 + 1.0, no=24.0 * 9))
    assert not keeps_full(late, asked)[0]
    assert holds(late, asked)[0]
    assert keeps_full(evaluation_of(longest_since_full_h=24.0 * 9), asked)[0]
    assert math.isinf(limits().since_full_h)
    assert keeps_full(evaluation_of(longest_since_full_h=1e6), limits())[0]


def test_the_margin_is_that_of_the_members_that_may_not_fail():
    # 21 members at 0.40, 0.41 ... 0.60: one in twenty lies at or below 0.41.
    lowest = np.linspace(0.40, 0.60, 21)[None]
    when = np.where(lowest < 0.50, 9.0, math.inf)
    evaluation = evaluation_of(members=21, lowest_soc=lowest, floor_h=when)
    assert margin(evaluation, limits())[0] == pytest.approx(0.41 - 0.50)


def test_a_member_that_fails_has_no_margin_whatever_it_fails_by():
    """Dark by its voltage at 60 %; 5 L of 20 L reserve left, of what can be burnt of her tank."""
    boat = boat_of()
    asked = limits_of(boat, risk_frac=0.05)
    dark = member_margins(evaluation_of(lowest_soc=0.6, flat_h=9.0), asked)
    assert (dark < 0.0).all()
    short = member_margins(evaluation_of(fuel_left_L=boat.fuel.reserve_L - 5.0), asked)
    assert short == pytest.approx(-5.0 / boat.fuel.usable_L)
    assert member_margins(evaluation_of(), asked) == pytest.approx(0.2)
