"""What "holds" means, on members counted by hand; and that it is decided in one place."""

import ast
import math
from pathlib import Path

import numpy as np
import pytest

import powersim
from powersim.records import Fuel
from powersim.simulation.verdict import (
    Failing,
    failing_of,
    failing_shares,
    reserve_eaten,
    too_often,
    verdict_of,
)

PACKAGE = Path(powersim.__file__).parent
NEVER = np.inf
FUEL = Fuel(tank_L=60.0, aboard_L=53.0, reserve_L=20.0)  # 3 L of it out of reach


def failing(count, members):
    """The first members below their floor, all others well."""
    none = np.zeros(members, dtype=bool)
    return Failing(floor=np.arange(members) < count, dark=none, reserve=none)


def verdict(count, members, *, risk_frac=0.05):
    return verdict_of(failing(count, members), risk_frac=risk_frac, seed=1)


def test_each_member_is_counted_once_whatever_it_fails_of():
    """Eight members, all the ways to fail; a bank that is dark (3) is below its floor too.

    member   1  2  3  4  5  6  7  8
    floor    -  x  x  x  x  x  -  -    5
    dark     -  -  x  -  x  -  -  -    2
    reserve  -  -  -  x  -  x  x  -    3
    any      -  x  x  x  x  x  x  -    6
    """
    made = failing_of(
        floor_h=np.array([NEVER, 30.0, NEVER, 30.0, 30.0, 30.0, NEVER, NEVER]),
        flat_h=np.array([NEVER, NEVER, 2.0, NEVER, 40.0, NEVER, NEVER, NEVER]),
        # less than the reserve, none left, some missing; and the reserve itself, which is not less
        fuel_left_L=np.array([50.0, 50.0, 50.0, 19.9, 50.0, 0.0, 30.0, 20.0]),
        fuel_short_L=np.array([0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.1, 0.0]),
        fuel=FUEL,
    )
    assert made.any.tolist() == [False, True, True, True, True, True, True, False]
    found = verdict_of(made, risk_frac=0.75, seed=7, counted_from_h=24.0)
    told = (found.fails.frac, found.floor.frac, found.dark.frac, found.reserve.frac)
    assert told == (6 / 8, 5 / 8, 2 / 8, 3 / 8)
    assert found.holds
    assert (found.members, found.seed, found.counted_from_h) == (8, 7, 24.0)
    # No single cause is too many at a risk of 5 in 8; all of them together are.
    assert not verdict_of(made, risk_frac=5 / 8, seed=7).holds


def test_no_engine_keeps_no_reserve_and_an_empty_locker_eats_none():
    left_L, short_L = np.array([0.0, 0.1]), np.zeros(2)
    told = {"fuel_left_L": left_L, "fuel_short_L": short_L}
    assert reserve_eaten(**told, fuel=None).tolist() == [False, False]
    none_kept = Fuel(tank_L=60.0, aboard_L=53.0, reserve_L=0.0)
    assert reserve_eaten(**told, fuel=none_kept).tolist() == [True, False]
    none_aboard = Fuel(tank_L=60.0, aboard_L=0.0, reserve_L=0.0)
    assert reserve_eaten(**told, fuel=none_aboard).tolist() == [False, False]


def test_rules_side_by_side():
    """Two rules in four members: the first fails in 1 and 2 of two causes, the second in 4."""
    made = Failing(
        floor=np.array([[True, False, False, False], [False] * 4]),
        dark=np.zeros((2, 4), dtype=bool),
        reserve=np.array([[True, True, False, False], [False, False, False, True]]),
    )
    assert failing_shares(made).tolist() == [0.5, 0.25]
    assert too_often(failing_shares(made), 0.25).tolist() == [True, False]


@pytest.mark.parametrize(
    ("count", "members", "holds", "sure"),
    [
        (10, 200, True, False),  # as many as may; between 2.7 and 9.0 %
        (11, 200, False, False),
        (3, 200, True, True),  # at most 4.3 %
        (4, 200, True, False),  # at most 5.03 %
        (17, 200, False, True),  # at least 5.4 %
        (16, 200, False, False),  # at least 4.98 %
        (36, 1000, True, True),  # at most 4.95 %
        (37, 1000, True, False),
        (0, 1, True, False),
        (1, 1, False, False),
    ],
)
def test_how_sure_a_verdict_is(count, members, holds, sure):
    """The bounds by hand from Wilson (1927), z = 1.96: 36 of 1,000 is 0.036, z2/n = 0.0038415;
    (0.036 + 0.0019207 + sqrt(0.0038415 * (0.036 * 0.964 + 0.0009604))) / 1.0038415 = 0.0494.
    """
    found = verdict(count, members)
    assert (found.holds, found.sure) == (holds, sure)


def test_a_bound_worked_by_hand():
    """36 of 1,000, the steps of above: root = sqrt(0.0038415 * 0.0356644) = 0.011705."""
    root = math.sqrt(0.0038415 * (0.036 * 0.964 + 0.0009604))
    most = (0.036 + 0.0019207 + root) / 1.0038415
    assert root == pytest.approx(0.011705, abs=2e-6)
    assert verdict(36, 1000).fails.most_frac == pytest.approx(most, abs=1e-6)


def test_a_risk_of_nothing_and_of_all():
    assert verdict(0, 200, risk_frac=0.0).holds
    assert not verdict(1, 200, risk_frac=0.0).holds
    assert verdict(200, 200, risk_frac=1.0).holds
    # Rounding took the upper bound of 14 in 14 to a whisker above all of them.
    assert [verdict(n, n).fails.most_frac for n in (14, 16, 200)] == [1.0, 1.0, 1.0]
    assert verdict(14, 14, risk_frac=1.0).sure
    assert verdict(0, 200).fails.least_frac == 0.0


def test_another_seed_says_the_same_of_what_is_sure():
    """Were the true share the upper bound of 3 in 200, a draw as low would come in 1 of 40."""
    from scipy.stats import binom

    most = verdict(3, 200).fails.most_frac
    assert binom.cdf(3, 200, most) == pytest.approx(0.025, abs=0.006)


def test_it_is_told_in_plain_numbers():
    told = verdict(10, 200).as_dict()
    assert list(told) == [
        *("holds", "sure", "members", "seed", "risk_frac", "counted_from_h"),
        *("fails", "floor", "dark", "reserve"),
    ]
    assert told["holds"] is True
    assert told["fails"] == told["floor"]
    assert told["dark"]["frac"] == 0.0


def compared(source):
    """Lines that hold something against a risk: comparisons, and sums that come before one."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Compare):
            sides = [one for side in (node.left, *node.comparators) for one in ast.walk(side)]
            named = {getattr(one, "id", getattr(one, "attr", None)) for one in sides}
            keys = {one.value for one in sides if isinstance(one, ast.Constant)}
            if "risk_frac" in named | keys:
                yield node.lineno


def test_the_reader_sees_a_comparison():
    assert list(compared("if frac <= limits.risk_frac:\n    pass")) == [1]
    assert list(compared("x = told['risk_frac'] < 1")) == [1]
    assert not list(compared("x = f(risk_frac=risk_frac)"))


def test_nothing_else_holds_a_share_against_the_risk():
    found = {
        path.relative_to(PACKAGE).as_posix()
        for path in PACKAGE.rglob("*.py")
        if any(compared(path.read_text(encoding="utf-8")))
    }
    assert found == {"simulation/verdict.py"}
