"""The summary: strict JSON, and sums that agree with one another."""

import json
import math

import hand_worked
import pytest
from builders import boat_of, calm_seas, passage_of

from powersim.records import Fuel, Load
from powersim.simulation.result import simulate
from powersim.simulation.summary import PART_DAYS, parts, worst_part

PER_DAY = (
    "solar_Ah",
    "alternator_Ah",
    "loads_Ah",
    "surplus_Ah",
    "unserved_Ah",
)


@pytest.fixture(scope="module")
def long_result():
    """Seventeen days: two whole weeks and a part of one."""
    return simulate(passage_of(days=17.0, leg={"motoring_start_h": 3.0}))


def test_a_summary_is_strict_json(result, long_result):
    for one in (result, long_result):
        assert json.loads(json.dumps(one.summary, allow_nan=False)) == one.summary


def test_time_below_the_floor_is_counted_from_where_it_is_crossed():
    """1 A from 100 Ah is one point an hour: from 55.25 % the floor of 50 % is reached after 5.25 h,
    which leaves 18.75 of 24, whatever the step.
    """
    battery = {"soc_at_departure": 0.5525, "health_frac": 1.0}
    load = Load(name="instruments", draw_A=1.0)
    passage = calm_seas(boat={"capacity_Ah": 100.0, "battery": battery}, loads=(load,), days=1.0)
    for step_h in (0.25, 1.0):
        charge = simulate(passage, step_h=step_h).summary["average"]["charge"]
        assert charge["below_floor_h"] == pytest.approx(18.75, abs=0.01)
        assert charge["days_to_floor"] == pytest.approx(5.25 / 24.0, abs=0.001)


def test_the_charge_at_departure_is_the_lowest_where_it_only_rises():
    result = simulate(
        passage_of(
            boat=boat_of(
                battery={"soc_at_departure": 0.45},
                charging={"start_soc": 0.9, "stop_soc": 0.95, "hours_h": (0.0, 24.0)},
            ),
            days=0.25,
        )
    )
    charge = result.summary["average"]["charge"]
    assert result.flow.soc.min() > 0.45
    assert (charge["lowest_soc"], charge["soc_at_departure"]) == (0.45, 0.45)
    assert charge["lowest_soc_at"]["time_utc"] == result.summary["passage"]["depart_utc"]
    assert charge["floor_broken"]


def test_times_that_never_come_are_null(result):
    assert result.summary["average"]["charge"]["days_to_flat"] is None


def test_a_boat_without_engine_panels_or_loads_has_a_summary():
    """At rest: nothing flows but self-discharge, nothing is infinite."""
    summary = simulate(passage_of(boat=boat_of(engine=None, panel_W=()), loads=())).summary
    text = json.dumps(summary, allow_nan=False)
    assert "Infinity" not in text
    assert summary["holds"]
    assert summary["average"]["fuel"]["left_L"] == summary["average"]["fuel"]["reserve_L"] == 0.0
    assert summary["totals"]["loads_Ah"] == 0.0
    assert summary["without_charging"] == {"days_to_floor": None, "days_to_flat": None}


def test_parts_add_up_to_the_totals(long_result):
    summary = long_result.summary
    assert [part["days"] for part in summary["parts"]] == [7.0, 7.0, pytest.approx(3.0, abs=0.1)]
    for name in PER_DAY:
        total = sum(part[f"{name}_per_day"] * part["days"] for part in summary["parts"])
        assert total == pytest.approx(summary["totals"][name], abs=1e-6), name
    minutes = sum(part["charging_min_per_day"] * part["days"] for part in summary["parts"])
    assert minutes == pytest.approx(60.0 * summary["average"]["engine"]["charging_h"], abs=1e-6)
    lowest = min(part["lowest_soc"] for part in summary["parts"])
    assert lowest == summary["average"]["charge"]["lowest_soc"]
    assert PART_DAYS == 7


def test_the_worst_part_is_that_which_the_sun_leaves_shortest():
    """By hand: 40, 30 and, of three days only, 60 Ah a day short: 280, 210 and 180 Ah."""
    week = {"solar_Ah_per_day": 20.0, "unserved_Ah_per_day": 5.0, "days": 7.0}
    weeks = [
        week | {"loads_Ah_per_day": 55.0},
        week | {"loads_Ah_per_day": 45.0},
        week | {"loads_Ah_per_day": 75.0, "days": 3.0},
    ]
    assert worst_part(weeks) == 0
    assert worst_part(weeks[1:]) == 0
    assert worst_part([weeks[1], weeks[2] | {"days": 4.0}]) == 1


def test_a_part_is_of_its_own_hours(long_result):
    hourly = long_result.hourly
    second = parts(hourly)[1]
    week = hourly.iloc[168:336]
    assert second["start_utc"] == week.index[0].isoformat()
    assert second["lat_from_deg"] == week["lat_deg"].iloc[0]
    assert second["solar_Ah_per_day"] == pytest.approx(week["solar_Ah"].sum() / 7.0)


def test_engine_fuel_and_charge_agree_with_the_tables(long_result):
    summary, engine = long_result.summary, long_result.engine
    charging = engine[engine["kind"] == "charging"]
    assert summary["average"]["engine"]["charging_runs"] == len(charging) > 0
    assert summary["average"]["engine"]["charging_h"] == pytest.approx(charging["run_h"].sum())
    assert summary["average"]["engine"]["charging_L"] == pytest.approx(charging["fuel_L"].sum())
    assert summary["average"]["engine"]["longest_run_h"] == charging["run_h"].max()
    assert summary["average"]["engine"]["motoring_h"] == 3.0
    first_week = long_result.hourly["charging_h"].iloc[:168].sum()
    assert summary["average"]["engine"]["charging_min_per_day_now"] == pytest.approx(
        first_week * 60.0 / 7.0
    )
    fuel = summary["average"]["fuel"]
    burnt_L = sum(
        fuel[name] for name in ("charging_L", "motoring_L", "alternator_motoring_L", "heater_L")
    )
    assert fuel["left_L"] == pytest.approx(
        fuel["aboard_L"] - fuel["unusable_L"] - burnt_L + fuel["wanted_and_not_there_L"]
    )
    cycles = summary["totals"]["from_battery_Ah"] / 187.0
    assert summary["average"]["charge"]["equivalent_full_cycles"] == pytest.approx(cycles)
    assert summary["average"]["charge"]["lowest_soc"] == long_result.flow.soc.min()


def test_the_lowest_charge_is_placed_in_time_and_space(long_result):
    """The hour that holds the lowest step of the run."""
    lowest = long_result.summary["average"]["charge"]["lowest_soc_at"]
    hour = int(long_result.flow.soc.argmin()) // 4
    assert lowest["time_utc"] == long_result.hourly.index[hour].isoformat()
    assert lowest["lat_deg"] == long_result.hourly["lat_deg"].iloc[hour]


def test_where_and_how_far(long_result):
    passage = long_result.summary["passage"]
    assert passage["depart_utc"] == "2026-09-05T09:00:00+00:00"
    assert (passage["from"], passage["to"], passage["step_h"]) == ("A", "B", 0.25)
    # 34 degrees of latitude of the ellipsoid, which are a little shorter near the equator.
    assert passage["distance_nm"] == pytest.approx(34.0 * 60.0, rel=0.005)
    assert passage["days"] == pytest.approx(passage["distance_nm"] / 5.0 / 24.0)


@pytest.mark.parametrize(
    ("draw_A", "holds", "broken"), [(1.0, True, False), (4.0, False, True), (10.0, False, True)]
)
def test_a_passage_holds_if_floor_and_reserve_do(draw_A, holds, broken):
    """By hand: 187 Ah lose 72, 288 and 720 Ah in three days; the floor is at 93.5 Ah."""
    summary = simulate(calm_seas(loads=(Load(name="all", draw_A=draw_A),))).summary
    assert summary["holds"] == holds
    assert summary["average"]["charge"]["floor_broken"] == broken
    if broken:
        days = 93.5 / draw_A / 24.0
        assert summary["average"]["charge"]["days_to_floor"] == pytest.approx(days, abs=1e-9)
        assert summary["without_charging"]["days_to_floor"] == pytest.approx(days, abs=1e-9)
        below_h = summary["average"]["charge"]["below_floor_h"]
        assert below_h == pytest.approx(72.0 - 24.0 * days, abs=0.5)
    else:
        assert math.isclose(
            summary["average"]["charge"]["soc_at_landfall"], 1.0 - 72.0 / 187.0, rel_tol=0.01
        )


def test_motoring_that_the_diesel_does_not_reach_for_is_missed_and_breaks_the_reserve():
    """By hand: 3 h planned at 2 L/h; 4 L aboard less 2 L out of reach last for one hour, to the
    very edge of a step, so that no step wants more than there is.
    """
    fuel = Fuel(tank_L=40.0, aboard_L=4.0, reserve_L=0.0)
    summary = simulate(hand_worked.passage_of(boat=hand_worked.boat_of(fuel=fuel))).summary
    assert summary["average"]["engine"]["motoring_h"] == pytest.approx(1.0)
    assert summary["average"]["engine"]["motoring_missed_h"] == pytest.approx(2.0)
    assert summary["average"]["fuel"]["left_L"] == 0.0
    assert summary["average"]["fuel"]["reserve_broken"]
    assert not summary["holds"]


def test_a_boat_without_an_engine_breaks_no_reserve():
    heater = Load(name="heater", draw_A=0.5, fuel_L_per_h=0.1)
    passage = hand_worked.passage_of(boat=hand_worked.without_engine(), loads=(heater,))
    fuel = simulate(passage).summary["average"]["fuel"]
    assert fuel["heater_L"] > 4.0
    assert not fuel["reserve_broken"]
    assert fuel["wanted_and_not_there_L"] == 0.0


def test_a_passage_that_goes_dark_above_its_floor_does_not_hold():
    """A winch of 60 A pulls the bank below its cut-out voltage with more than half of the charge
    left, as in test_endurance.py: the floor is kept, and all the same everything is dark.
    """
    winch = Load(name="winch", draw_A=60.0, on_frac=0.05)
    summary = simulate(calm_seas(loads=(winch,), days=3.0), step_h=1.0).summary
    assert summary["average"]["charge"]["lowest_soc"] > summary["average"]["charge"]["floor_soc"]
    assert not summary["average"]["charge"]["floor_broken"]
    assert summary["average"]["charge"]["dark_h"] > 0.0
    assert not summary["holds"]
