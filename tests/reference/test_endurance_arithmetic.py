"""Endurance with everything off against arithmetic: charge over current.

By hand, with nothing taken from the project but what boat and loads say: a bank at 25 degC that
neither leaks nor is charged, drained by a constant current, is at its floor after

    capacity x health x (charge at the start - floor) / current

and dark from the first step that begins at its flat charge or below.
"""

import math

import pytest
from builders import calm_seas

from powersim.planning.cases import LOAD_SETS
from powersim.planning.endurance import endurance
from powersim.planning.failures import NO_CHARGING, WORKING
from powersim.records import CHEMISTRIES, Load
from powersim.simulation.result import simulate

STEP_h = 0.25
#: name: draw, priority, role. Their sums are 2.5 A, 1.75 A and 0.75 A by sets of loads.
LOADS = (
    Load(name="receiver", draw_A=0.5, priority="essential"),
    Load(name="tricolour", draw_A=0.25, priority="comfort", role="sailing lights"),
    Load(name="pilot", draw_A=1.0, priority="useful", role="pilot"),
    Load(name="music", draw_A=0.75, priority="comfort"),
)
SETS_A = {"all loads": 2.5, "without comfort": 1.75, "essential only": 0.75}


def by_hand(battery, *, capacity_Ah, draw_A):
    """Days to the floor and to flat."""
    held_Ah = capacity_Ah * battery.health_frac
    floor_h = held_Ah * (battery.soc_at_departure - battery.floor_soc) / draw_A
    flat_h = held_Ah * (battery.soc_at_departure - battery.flat_soc) / draw_A
    return floor_h / 24.0, math.ceil(flat_h / STEP_h - 1e-9) * STEP_h / 24.0


def found(table, loss, loads):
    (line,) = [one for one in table.lines if (one.loss, one.loads) == (loss, loads)]
    return line


@pytest.fixture(scope="module", params=CHEMISTRIES)
def table(request):
    """The bank alone at 90 %, its loads never changing, for ten days; and its record."""
    boat = {
        "chemistry": request.param,
        "capacity_Ah": 100.0,
        # No voltage cuts the lights off before the charge does.
        "battery": {"soc_at_departure": 0.9, "cutout_V": 9.0},
    }
    result = simulate(calm_seas(boat=boat, loads=LOADS, days=10.0))
    return endurance(result, without=["music", "pilot"], members=1), result.passage.boat.battery


@pytest.mark.parametrize("loss", [WORKING, NO_CHARGING])
@pytest.mark.parametrize("loads", LOAD_SETS)
def test_days_of_a_constant_current(table, loss, loads):
    """Exact but for rounding, to 1e-6 days: the charge is a sum of equal steps."""
    lines, battery = table
    line = found(lines, loss, loads)
    floor_days, flat_days = by_hand(battery, capacity_Ah=100.0, draw_A=SETS_A[loads])
    assert line.days_to_floor == pytest.approx(floor_days, abs=1e-6)
    assert line.days_to_flat == pytest.approx(flat_days, abs=1e-6)


def test_half_of_the_battery_lasts_half_as_long(table):
    lines, battery = table
    line = found(lines, "battery at half capacity", "all loads")
    floor_days, flat_days = by_hand(battery, capacity_Ah=50.0, draw_A=2.5)
    assert line.days_to_floor == pytest.approx(floor_days, abs=1e-6)
    assert line.days_to_flat == pytest.approx(flat_days, abs=1e-6)


def test_a_pilot_that_draws_double(table):
    lines, battery = table
    line = found(lines, "pilot draw doubled", "all loads")
    assert line.days_to_floor == pytest.approx(
        by_hand(battery, capacity_Ah=100.0, draw_A=3.5)[0], abs=1e-6
    )


def test_loads_left_ashore_by_name_and_by_role(table):
    lines, battery = table
    line = found(lines, "without music and pilot", "all loads")
    assert line.days_to_floor == pytest.approx(
        by_hand(battery, capacity_Ah=100.0, draw_A=0.75)[0], abs=1e-6
    )


def test_what_dropping_a_load_gains(table):
    """The difference of two such quotients, in their order, the protected light in its place."""
    lines, battery = table
    whole_days, _ = by_hand(battery, capacity_Ah=100.0, draw_A=2.5)
    gains = lines.dropping.gains
    assert [gain.load for gain in gains] == ["pilot", "music", "receiver", "tricolour"]
    for gain, draw_A in zip(gains, (1.0, 0.75, 0.5, 0.25), strict=True):
        less_days, _ = by_hand(battery, capacity_Ah=100.0, draw_A=2.5 - draw_A)
        assert gain.days_to_floor == pytest.approx(less_days - whole_days, abs=1e-6)
        assert gain.charge_Ah_per_day == pytest.approx(24.0 * draw_A, abs=1e-9)
    assert [gain.group for gain in gains] == ["useful", "comfort", "essential", "protected"]
