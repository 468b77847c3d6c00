"""When members fail: of each cause, of any, and that the last day says what the verdict says."""

import numpy as np
import pytest
from made_ensemble import ensemble_of

from powersim.records import Fuel
from powersim.simulation.ensemble_summary import ensemble_summary
from powersim.simulation.fails_by import first_fails, risk_by_day
from powersim.simulation.verdict import failing_of

NEVER = np.inf
FUEL = Fuel(tank_L=60.0, aboard_L=53.0, reserve_L=20.0)


@pytest.fixture
def made():
    """Fifty hours are two days and two hours. Four members are below the floor after 1, 24, 24.5
    and 49.9 hours; the second is dark after 30 and the sixth after 40; diesel is below 20 L in
    member 1 from the 26th hour on, in member 8 from the 50th, and member 9 went short of some.
    """
    left_L = np.full((50, 10), 30.0)
    left_L[25:, 0] = 19.0
    left_L[49:, 7] = 19.9
    return ensemble_of(
        hours=50,
        floor_h=np.array([1.0, 24.0, 24.5, 49.9, *[NEVER] * 6]),
        flat_h=np.array([NEVER, 30.0, NEVER, NEVER, NEVER, 40.0, *[NEVER] * 4]),
        hour_fuel_left_L=left_L,
        fuel_left_L=left_L[-1],
        fuel_short_L=np.array([0.0] * 8 + [0.5, 0.0]),
    )


def test_when_each_member_fails_first(made):
    first = first_fails(made, FUEL)
    assert first.floor_h.tolist() == [1.0, 24.0, 24.5, 49.9, NEVER, 40.0, *[NEVER] * 4]
    assert first.reserve_h.tolist() == [26.0, *[NEVER] * 6, 50.0, 50.0, NEVER]
    assert first.any_h.tolist() == [1.0, 24.0, 24.5, 49.9, NEVER, 40.0, NEVER, 50.0, 50.0, NEVER]
    assert first_fails(made, None).reserve_h.tolist() == [NEVER] * 10


def test_risk_by_day(made):
    """Counted by hand: by 24 h members 1 and 2; by 48 h members 3 and 6 too; then 4, 8 and 9."""
    found = {name: column.tolist() for name, column in risk_by_day(made, FUEL).items()}
    assert found == {
        "days": [1.0, 2.0, 50.0 / 24.0],
        "fails_frac": [0.2, 0.4, 0.7],
        "floor_frac": [0.2, 0.4, 0.5],
        "flat_frac": [0.0, 0.2, 0.2],
        "reserve_frac": [0.0, 0.1, 0.3],
    }
    by_day = ensemble_summary(made, fuel=FUEL)["by_day"]
    assert by_day[1] == {name: column[1] for name, column in found.items()}


def test_at_landfall_it_is_what_the_verdict_counts(made):
    for fuel in (FUEL, None):
        failing = failing_of(
            floor_h=made.floor_h, flat_h=made.flat_h, fuel_left_L=made.fuel_left_L,
            fuel_short_L=made.fuel_short_L, fuel=fuel,
        )  # fmt: skip
        assert np.isfinite(first_fails(made, fuel).any_h).tolist() == failing.any.tolist()
        assert risk_by_day(made, fuel)["fails_frac"][-1] == failing.any.mean()


@pytest.mark.parametrize(("hours", "days"), [(24, [1.0]), (25, [1.0, 25 / 24]), (1, [1 / 24])])
def test_the_last_day_ends_at_landfall(hours, days):
    assert risk_by_day(ensemble_of(hours=hours), FUEL)["days"].tolist() == days
