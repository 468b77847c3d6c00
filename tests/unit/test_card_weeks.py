"""The card's weeks and limits: each printed number read back from what the members came to."""

from dataclasses import replace

import numpy as np
import pytest
from hand_worked import bank_of, boat_of, passage_of, waypoints_of, without_engine
from made_ensemble import ensemble_of, weeks_of

import powersim
from powersim.physics.tank import sounding
from powersim.planning.panel_values import shown_V
from powersim.records import Fuel, Tank, TankPart
from powersim.report.card_limits import limits, stick_m
from powersim.report.card_weeks import card_weeks, days_lowest, first_week, weeks_heading
from powersim.report.week_runs import run_length_h, week_runs
from powersim.simulation.usual_load import usual_load_A

KEEL = TankPart(shape="wedge", length_m=0.9, width_m=0.55, bottom_m=0.15, height_m=0.27)
SHAPE = Tank(parts=(KEEL,))
VOLTS = replace(bank_of("flooded"), reading="volts")


def heads_of(table):
    return [(column.over, column.head.replace("\n", " ")) for column in table.columns]


@pytest.fixture(scope="module")
def nine_days():
    boat = boat_of(fuel=Fuel(tank_L=60.0, jerrycans_L=20.0, aboard_L=80.0, reserve_L=20.0))
    passage = passage_of(boat=boat, waypoints=waypoints_of(days=9))
    return powersim.simulate(passage, step_h=1.0, members=1)


def test_the_weeks_are_those_of_the_members(nine_days):
    """Eleven members, so that median and tenths are members: the 6th, the 2nd and the 10th."""
    result, members, hours = nine_days, 11, len(nine_days.hourly)
    usable_L = result.passage.boat.fuel.usable_L
    ranks = np.arange(members)
    soc = np.tile(0.50 + 0.02 * ranks, (hours, 1))
    left_L = usable_L - np.outer(np.arange(1, hours + 1) / 24.0, 1.0 + ranks)
    ensemble = ensemble_of(hours=hours, members=members, hour_soc=soc, hour_fuel_left_L=left_L)
    weeks = weeks_of(
        hours=hours,
        members=members,
        runs=np.array([ranks, np.zeros(members)]),
        charging_h=np.array([2.0 * ranks, np.zeros(members)]),
        lowest_soc=np.array([0.3 + 0.01 * ranks, np.full(members, 0.6)]),
    )
    table = card_weeks(replace(result, ensemble=replace(ensemble, weeks=weeks)))
    assert heads_of(table) == [
        ("", "from"),
        ("", "at"),
        ("before dawn", "median"),
        ("before dawn", "1 in 10 below"),
        ("lowest", "1 in 10 below"),
        ("runs", "median"),
        ("runs", "1 in 10 above"),
        ("diesel, L", "median"),
        ("diesel, L", "1 in 10 above"),
    ]
    first, second = ([str(cell) for cell in row] for row in table.rows)
    assert first == ["1 May", "50°N", "60 %", "52 %", "31 %", "5", "9", "42.0", "70.0"]
    days = (hours - 168) / 24.0
    diesel = [f"{day * days:.1f}" for day in (6.0, 10.0)]
    assert second[0] == "8 May"
    assert second[4:] == ["60 %", "0", "0", *diesel]
    assert weeks_heading(result) == "What to expect each week, in average weather alone"
    assert table.caption == "What to expect each week, in 11 simulated passages"


def test_mornings_are_taken_together(nine_days):
    """Two days a member at 40 and 80 %: half of all mornings below 60 %, whoever has them."""
    hours = len(nine_days.hourly)
    soc = np.full((hours, 2), 0.8)
    soc[5, 0] = soc[30, 1] = 0.4
    lowest = days_lowest(soc[:48])
    assert lowest.tolist() == [[0.4, 0.8], [0.8, 0.4]]
    assert days_lowest(soc[:7]).tolist() == [[0.4, 0.8]]


def test_the_first_week_in_words(nine_days):
    assert first_week(nine_days) is None
    weeks = weeks_of(hours=200, members=3, runs=4.0, charging_h=8.0)
    ensemble = replace(ensemble_of(hours=200, members=3), weeks=weeks)
    assert str(first_week(replace(nine_days, ensemble=ensemble))) == (
        "First week: about 4 runs of 2 h."
    )


@pytest.mark.parametrize(
    ("runs", "charging_h", "words"),
    [
        ((4, 4, 4), (6.4, 6.0, 6.2), "about 4 runs of 1 h 30 min"),
        ((1, 1, 1), (0.1, 0.1, 0.1), "about 1 run of 15 min"),
        ((0, 0, 1), (0.0, 0.0, 2.0), "mostly no run"),
        ((0, 0, 0, 3), (0.0, 0.0, 0.0, 3.0), "mostly no run; 1 passage in 10 has 2 or more"),
        ((0, 0, 0), (0.0, 0.0, 0.0), "no run"),
    ],
)
def test_a_week_that_a_person_can_act_on(runs, charging_h, words):
    assert str(week_runs(np.array(runs, float), np.array(charging_h))) == words


def test_a_run_is_as_long_as_all_runs_together():
    """3 runs in 4 h and 1 in 2 h: 6 h in 4 runs, an hour and a half."""
    assert run_length_h(np.array([3.0, 1.0]), np.array([4.0, 2.0])) == 1.5


def test_average_weather_has_the_runs_and_litres_of_the_log(nine_days):
    result = nine_days
    table = card_weeks(result)
    assert heads_of(table)[2:] == [
        ("", "before dawn"),
        ("", "lowest charge"),
        ("", "runs"),
        ("", "diesel, L"),
    ]
    runs = sum(int(str(row[-2])) for row in table.rows)
    assert runs == result.summary["average"]["engine"]["charging_runs"] > 0
    litres = sum(float(str(row[-1])) for row in table.rows)
    burnt_L = result.passage.boat.fuel.usable_L - result.summary["average"]["fuel"]["left_L"]
    assert litres == pytest.approx(burnt_L, abs=0.11)
    for row, part in zip(table.rows, result.summary["parts"], strict=True):
        assert str(row[3]) == f"{100 * part['lowest_soc']:.0f} %"


def limits_of(**changes):
    return powersim.simulate(passage_of(boat=boat_of(**changes)), step_h=1.0, members=1)


def test_the_floor_is_in_volts_where_volts_tell():
    result = limits_of(battery=VOLTS)
    floor, *_ = map(str, limits(result))
    volts = shown_V(result.prepared, 0.5)
    load_A = usual_load_A(result.prepared)
    assert floor == (
        f"Floor: {volts:.2f} V before dawn, with the usual {load_A:.1f} A on and nothing charging "
        "(50 %)."
    )


def test_the_floor_of_lithium_is_on_the_counter():
    battery = replace(bank_of(), floor_soc=0.3)
    floor, *_ = map(str, limits(limits_of(battery=battery)))
    assert floor == "Floor: 30 % on the counter; volts do not show it."


@pytest.mark.parametrize("wet_m", [0.0, 0.006])
def test_the_reserve_in_litres_and_on_the_stick(wet_m):
    """The lowest half centimetre that shows it: half a centimetre less does not."""
    shape = Tank(parts=(KEEL,), wet_m=wet_m)
    fuel = Fuel(tank_L=85.0, jerrycans_L=20.0, aboard_L=105.0, reserve_L=20.0, shape=shape)
    _, reserve = map(str, limits(limits_of(fuel=fuel)))
    in_tank_L = 20.0 + 0.05 * 85.0
    mark = stick_m(shape, in_tank_L)
    assert 100.0 * mark * 2.0 == pytest.approx(round(200.0 * mark))
    assert sounding(shape, mark).litres >= in_tank_L - 1e-6
    assert sounding(shape, mark - 0.005).litres < in_tank_L
    assert reserve == (
        f"Reserve: 20.0 L above the pick-up, 24.2 L in the tank, {100 * mark:g} cm on the stick, "
        "cans empty."
    )


@pytest.mark.parametrize(
    ("fuel", "words"),
    [
        (
            Fuel(tank_L=40.0, jerrycans_L=20.0, aboard_L=60.0, reserve_L=20.0),
            "Reserve: 20.0 L above the pick-up, 22.0 L in the tank, cans empty.",
        ),
        (
            Fuel(tank_L=20.0, jerrycans_L=40.0, aboard_L=60.0, reserve_L=30.0),
            "Reserve: 30.0 L above the pick-up, a full tank and 11.0 L in cans.",
        ),
        (Fuel(tank_L=40.0, aboard_L=40.0, reserve_L=0.0), "No reserve of diesel is kept."),
    ],
)
def test_the_reserve_wherever_it_is(fuel, words):
    assert str(limits(limits_of(fuel=fuel))[1]) == words


def test_a_boat_without_an_engine_keeps_no_reserve():
    result = powersim.simulate(passage_of(boat=without_engine()), step_h=1.0, members=1)
    assert len(limits(result)) == 1
    assert "runs" not in [over for over, _ in heads_of(card_weeks(result))]
