"""The endurance table against arithmetic, against the simulated passage, and against itself."""

import math
from itertools import product

import pytest
from builders import boat_of, calm_seas, passage_of

from powersim.planning.cases import LOAD_SETS
from powersim.planning.endurance import endurance
from powersim.planning.failures import NO_CHARGING, NO_ENGINE, WORKING
from powersim.records import CHEMISTRIES, Load
from powersim.simulation.milestones import days_to_flat, days_to_floor
from powersim.simulation.result import simulate


def line(table, loss, loads="all loads"):
    (found,) = [one for one in table.lines if (one.loss, one.loads) == (loss, loads)]
    return found


@pytest.fixture(scope="module")
def table(result_of_five_days):
    return endurance(result_of_five_days)


@pytest.fixture(scope="module")
def result_of_five_days():
    """Short of sun and charged by engine, motoring at both ends."""
    return simulate(
        passage_of(
            boat=boat_of(panel_W=(60.0,), battery={"soc_at_departure": 0.9}),
            leg={"motoring_start_h": 2.0, "motoring_end_h": 2.0},
            days=5.0,
        )
    )


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
@pytest.mark.parametrize("draw_A", [0.8, 2.5])
def test_days_to_the_floor_of_a_constant_current(chemistry, draw_A):
    """Capacity x (1 - floor) / current / 24, by hand, to 1e-6: nothing leaks, nothing charges."""
    boat = {"chemistry": chemistry, "capacity_Ah": 100.0}
    result = simulate(calm_seas(boat=boat, loads=(Load(name="all", draw_A=draw_A),), days=7.0))
    battery = result.passage.boat.battery
    hours = 100.0 * battery.health_frac * (1.0 - battery.floor_soc) / draw_A
    found = line(endurance(result), NO_CHARGING)
    assert found.days_to_floor == pytest.approx(hours / 24.0, abs=1e-6)
    assert result.without_charging[0] == pytest.approx(hours / 24.0, abs=1e-6)


def test_days_to_flat_of_a_constant_current():
    """80 % of 187 Ah at 2.5 A are 59.84 h: dark from the first step that begins at 20 %."""
    result = simulate(calm_seas(loads=(Load(name="all", draw_A=2.5),), days=4.0))
    found = line(endurance(result), NO_CHARGING)
    assert found.days_to_flat == pytest.approx(60.0 / 24.0)
    assert result.without_charging[1] == found.days_to_flat


def test_everything_working_is_the_simulated_passage(result_of_five_days, table):
    flow, battery = result_of_five_days.flow, result_of_five_days.passage.boat.battery
    found = line(table, WORKING)
    (floor_days,) = days_to_floor(
        flow.soc, soc_start=battery.soc_at_departure, floor_soc=battery.floor_soc, step_h=0.25
    )
    assert math.isfinite(floor_days)
    assert found.days_to_floor == pytest.approx(floor_days, abs=1e-12)
    assert found.days_to_flat == days_to_flat(flow.dark, step_h=0.25)[0]
    assert table.soc == pytest.approx(0.9)
    assert table.days_to_landfall == result_of_five_days.summary["passage"]["days"]


def test_nothing_charging_is_what_the_summary_says(result_of_five_days, table):
    found = line(table, NO_CHARGING)
    summary = result_of_five_days.summary["without_charging"]
    assert found.days_to_floor == pytest.approx(summary["days_to_floor"], abs=1e-12)
    assert math.isinf(found.days_to_flat) == (summary["days_to_flat"] is None)


@pytest.mark.parametrize("from_h", [0.0, 30.0, 77.1])
def test_a_table_has_every_case_once_and_fewer_loads_last_as_long(result_of_five_days, from_h):
    lines = endurance(result_of_five_days, from_h=from_h).lines
    losses = list(dict.fromkeys(one.loss for one in lines))
    assert losses == [
        WORKING,
        "alternator lost",
        NO_ENGINE,
        "tank fuel fouled",
        "solar lost",
        NO_CHARGING,
        "battery at half capacity",
    ]
    assert [(one.loss, one.loads) for one in lines] == list(product(losses, LOAD_SETS))
    everything, plain, essential = (one for one in lines if one.loss == NO_CHARGING)
    # Under a charging rule this need not be so; without charging it is.
    assert everything.days_to_floor < plain.days_to_floor < essential.days_to_floor
    assert everything.days_to_flat <= plain.days_to_flat <= essential.days_to_flat


def test_losses_shorten_what_they_should(table):
    working, no_engine, nothing = (line(table, loss) for loss in (WORKING, NO_ENGINE, NO_CHARGING))
    assert nothing.days_to_floor < no_engine.days_to_floor <= working.days_to_floor
    assert nothing.days_to_flat <= no_engine.days_to_flat <= working.days_to_flat


@pytest.mark.parametrize("from_h", [30.0, 30.1, 30.24])
def test_counting_from_a_later_hour_goes_on_from_its_state(result_of_five_days, from_h):
    """The rest of the simulated passage, from the step's edge before that hour."""
    later = endurance(result_of_five_days, from_h=from_h)
    soc = result_of_five_days.flow.soc
    assert later.from_h == 30.0
    assert later.soc == pytest.approx(soc[119, 0], abs=1e-12)
    assert later.days_to_landfall == pytest.approx(
        result_of_five_days.summary["passage"]["days"] - 30.0 / 24.0
    )
    (floor_days,) = days_to_floor(soc[120:], soc_start=soc[119], floor_soc=0.5, step_h=0.25)
    assert line(later, WORKING).days_to_floor == pytest.approx(floor_days, abs=1e-12)


@pytest.mark.parametrize("from_h", [-1.0, 1000.0, math.nan])
def test_hours_outside_the_passage_are_refused(result_of_five_days, from_h):
    with pytest.raises(ValueError, match=r"^from_h must be 0 to below 119\.807, got "):
        endurance(result_of_five_days, from_h=from_h)


def test_a_bank_that_goes_dark_above_its_floor_is_no_better_than_its_floor():
    """A 60 A winch pulls the voltage down long before half of the charge is gone: the floor is of
    no use any more, so it counts as reached, and landfall does not come first.
    """
    winch = Load(name="winch", draw_A=60.0, on_frac=0.05)
    result = simulate(calm_seas(loads=(winch,), days=3.0))
    found = line(endurance(result), NO_CHARGING)
    assert result.flow.soc.min() > 0.5
    assert math.isfinite(found.days_to_flat)
    assert found.days_to_floor == found.days_to_flat
    assert result.without_charging == (found.days_to_floor, found.days_to_flat)
