"""An ensemble in numbers, on members made by hand."""

import numpy as np
import pytest
from made_ensemble import ensemble_of, weeks_of

from powersim.records import Fuel
from powersim.simulation.ensemble_summary import (
    RISK_FRAC,
    ensemble_summary,
    failing_in,
    verdict_on,
)

NEVER = np.inf
FUEL = Fuel(tank_L=60.0, aboard_L=53.0, reserve_L=20.0)  # 3 L of it out of reach


def some(count, value, otherwise, members=20):
    """The value for the first members, something else for the others."""
    return np.where(np.arange(members) < count, value, otherwise)


@pytest.mark.parametrize(("broken", "holds"), [(0, True), (1, True), (2, False), (20, False)])
def test_it_holds_if_no_more_than_the_risk_fail(broken, holds):
    """One of twenty is the risk of 5 % itself."""
    made = ensemble_of(members=20, floor_h=some(broken, 30.0, NEVER))
    found = verdict_on(made, fuel=FUEL)
    assert RISK_FRAC == 0.05
    assert (found.holds, found.fails.frac) == (holds, broken / 20)
    assert found.floor == found.fails
    assert found.dark.frac == found.reserve.frac == 0.0
    assert (found.members, found.seed) == (20, 1)


def test_a_risk_of_ones_own():
    made = ensemble_of(members=20, floor_h=some(2, 30.0, NEVER))
    assert verdict_on(made, fuel=FUEL, risk_frac=0.1).holds is True
    assert verdict_on(made, fuel=FUEL, risk_frac=0.0).holds is False


def test_each_way_to_fail_counts_once():
    """Members 1 and 2 below the floor, 2 dark too, 3 into the reserve, 4 without what it wanted."""
    made = ensemble_of(
        members=20,
        floor_h=some(2, 30.0, NEVER),
        flat_h=np.where(np.arange(20) == 1, 40.0, NEVER),
        fuel_left_L=np.where(np.arange(20) == 2, 19.9, 20.0),
        fuel_short_L=np.where(np.arange(20) == 3, 0.1, 0.0),
    )
    assert failing_in(made, FUEL).any.nonzero()[0].tolist() == [0, 1, 2, 3]
    found = verdict_on(made, fuel=FUEL)
    shares = [getattr(found, key).frac for key in ("fails", "floor", "dark", "reserve")]
    assert shares == [0.2, 0.1, 0.05, 0.1]
    without_engine = verdict_on(made, fuel=None)
    assert (without_engine.fails.frac, without_engine.reserve.frac) == (0.1, 0.0)


def test_bands():
    """Of eleven members 1, 2, ... the second, the sixth and the tenth, and their mean, 6; at a risk
    of 1 in 20, half way from the first to the second.
    """
    counted = np.arange(1.0, 12.0)
    made = ensemble_of(
        members=11,
        lowest_soc=counted / 100.0,
        charging_h=counted[::-1],
        floor_h=np.where(counted < 3.0, 24.0 * counted, NEVER),
        longest_since_full_h=48.0 * counted,
    )
    found = ensemble_summary(made, fuel=FUEL)
    assert found["lowest_soc"] == pytest.approx(
        {"p10": 0.02, "p50": 0.06, "p90": 0.1, "mean": 0.06, "at_risk": 0.015, "least": 0.01}
    )
    assert found["charging_h"] == {"p10": 2.0, "p50": 6.0, "p90": 10.0, "mean": 6.0}
    assert found["days_to_floor"] == {"p10": 2.0, "p50": None, "p90": None, "mean": None}
    assert found["longest_gap_between_full_days"]["p90"] == 20.0


def test_weeks_in_numbers():
    """Nine days are a week and two days: 140 Ah in one are 20 a day, 10 Ah in the other 5."""
    made = ensemble_of(
        hours=9 * 24,
        members=4,
        weeks=weeks_of(
            hours=9 * 24,
            members=4,
            solar_Ah=np.array([[140.0], [10.0]]),
            runs=np.array([[0.0, 2.0, 4.0, 6.0], [1.0] * 4]),
        ),
    )
    first, last = ensemble_summary(made, fuel=FUEL)["weeks"]
    assert (first["days"], last["days"]) == (7.0, 2.0)
    assert (first["solar_Ah_per_day"], last["solar_Ah_per_day"]) == (20.0, 5.0)
    assert (first["runs"]["p50"], first["runs"]["mean"], last["runs"]["p50"]) == (3.0, 3.0, 1.0)
