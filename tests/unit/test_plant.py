"""A boat in constants."""

import math

import pytest
from builders import boat_of

from powersim.records import Controller, Shedding
from powersim.simulation.plant import plant_of


def test_constants_of_a_whole_boat():
    """187 Ah are 85 % of 220; 2 % of them the tail; 5 % in 720 h leak; 96 of 100 L can be burnt."""
    plant = plant_of(boat_of(), step_h=0.25)
    assert plant.bank.capacity_Ah == pytest.approx(187.0)
    assert plant.tail_A == pytest.approx(3.74)
    assert plant.self_discharge_per_h == pytest.approx(0.05 / 720.0)
    assert plant.idle_A == 0.015
    assert plant.usable_L == 96.0
    assert plant.start_above_soc == -math.inf
    assert (plant.flat_soc, plant.cutout_V) == (0.20, 11.5)
    assert plant.charging_slope_L_per_kWh == plant.slope_L_per_kWh == 0.246


def test_each_controller_idles():
    boat = boat_of(
        panel_W=(50.0, 50.0), controllers=(Controller(name="a"), Controller(name="b", idle_A=0.02))
    )
    assert plant_of(boat, step_h=0.25).idle_A == pytest.approx(0.035)


def test_a_boat_without_an_engine_never_has_fuel():
    plant = plant_of(boat_of(engine=None), step_h=0.25)
    assert plant.usable_L == 0.0
    assert plant.alternator.charging_A == plant.alternator.motoring_A == 0.0
    assert not plant.charges_flat_bank
    assert plant.rule.start_soc == -math.inf


def test_a_shared_battery_sets_the_level_below_which_nothing_starts():
    plant = plant_of(boat_of(engine={"start_battery": "shared"}), step_h=0.25)
    assert plant.start_above_soc == 0.40


def test_a_burn_measured_with_the_alternator_at_work_is_not_added_to():
    plant = plant_of(boat_of(engine={"charging_burn_loaded": True}), step_h=0.25)
    assert (plant.charging_slope_L_per_kWh, plant.slope_L_per_kWh) == (0.0, 0.246)


def test_never_is_a_level_out_of_reach_and_an_endless_interval():
    rule = plant_of(boat_of(), step_h=0.25).rule
    assert math.isinf(rule.full_every_h)
    assert max(rule.comfort_below_soc, rule.useful_below_soc) < 0.0
    by_sun = plant_of(
        boat_of(charging={"by_engine": False, "full_every_days": 3.0}), step_h=0.25
    ).rule
    assert by_sun.start_soc < 0.0
    assert math.isinf(by_sun.full_every_h)


def test_habits_are_taken_over():
    boat = boat_of(
        charging={"full_every_days": 3.0, "shortest_h": 1.0},
        shedding=Shedding(comfort_below_soc=0.6, useful_below_soc=0.0, restore_above_frac=0.1),
    )
    rule = plant_of(boat, step_h=0.25).rule
    levels, runs = (rule.start_soc, rule.stop_soc), (rule.shortest_h, rule.longest_h)
    assert (*levels, *runs, rule.full_every_h) == (0.55, 0.8, 1.0, 4.0, 72.0)
    assert (rule.full_shortest_h, rule.full_longest_h) == (1.0, 8.0)
    shed = rule.comfort_below_soc, rule.useful_below_soc, rule.restore_frac
    assert shed == (0.6, 0.0, 0.1)
    assert (rule.at_readings, rule.ends_A, rule.little_Ah) == (0.0, -math.inf, math.inf)


@pytest.mark.parametrize(
    ("charging", "expected"),
    [
        ({"read_at_h": (6.0, 18.0), "run_h": 2.0}, (1.0, math.inf, 2.0, 2.0, -math.inf)),
        ({"stop_below_A": 18.0}, (0.0, math.inf, 0.5, 4.0, 18.0)),
    ],
)
def test_a_run_ends_by_the_clock_or_by_amperes(charging, expected):
    rule = plant_of(boat_of(charging={"stop_soc": None} | charging), step_h=0.25).rule
    ends = rule.at_readings, rule.stop_soc, rule.shortest_h, rule.longest_h, rule.ends_A
    assert ends == expected


def test_the_tenth_day_after_a_full_charge_is_one_of_the_calendar():
    """By hand: full at 23:00, read at 06:00 on the tenth day: 9 x 24 + 7 = 223 h later, and due.

    On the ninth day it is 199 h. Full at 01:00: 245 h on the tenth, 221 on the ninth. So it is due
    from 222 h on: nine days and six hours.
    """
    charging = {"full_every_days": 10.0, "read_at_h": (6.0,)}
    rule = plant_of(boat_of(charging=charging), step_h=0.25).rule
    assert rule.full_every_h == 222.0
