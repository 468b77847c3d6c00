"""Days of diesel by hand: an engine that charges an hour a day, whatever the bank holds."""

import math

import numpy as np
import pytest
from builders import boat_of, passage_of

from powersim.planning.endurance import endurance
from powersim.planning.fuel_lasts import FuelCourse
from powersim.records import DailyRun, Load
from powersim.simulation.bands import quantiles
from powersim.simulation.result import simulate

INSTRUMENTS = (Load(name="instruments", draw_A=1.0),)
AN_HOUR_A_DAY = {
    # The belt's share is in the burn, so that an hour of charging is half a litre and no more.
    "engine": {"charging_burn_loaded": True},
    "charging": {
        "start_soc": 0.0,
        "stop_soc": 0.1,
        "daily": (DailyRun(at_h=12.0, run_h=1.0),),
    },
}
MOTORING = {"motoring_start_h": 2.0, "motoring_end_h": 1.0}


def courses_of(boat, *, days=8.0, leg=(), from_h=0.0, members=1, loads=INSTRUMENTS):
    passage = passage_of(boat=boat_of(**boat), loads=loads, days=days, leg=leg)
    return endurance(simulate(passage, step_h=0.5), from_h=from_h, members=members).fuel


def test_what_motoring_and_the_reserve_leave_for_charging():
    """80 L in the tank, of which 4 cannot be reached, and 20 in cans: 96 L. Three hours of motoring
    at 2 L/h and a reserve of 20 L leave 70 L; half a litre a day makes that 140 days.
    """
    planned, longer = courses_of(AN_HOUR_A_DAY | {"alternator": {"motoring_A": 0.0}}, leg=MOTORING)
    assert planned.usable_L == pytest.approx(96.0)
    assert planned.motoring_L == pytest.approx(6.0)
    assert planned.heater_L == 0.0
    assert planned.for_charging_L == pytest.approx(70.0)
    assert planned.charging_L == pytest.approx(0.5 * 8)
    assert planned.left_L == pytest.approx(96.0 - 6.0 - 4.0)
    assert planned.hungriest_L_per_day == pytest.approx(0.5)
    assert planned.days_at(planned.hungriest_L_per_day) == pytest.approx(140.0)
    # Half as long again: twelve noons in place of eight, and as many hours under engine.
    assert longer.days_to_landfall == pytest.approx(1.5 * planned.days_to_landfall, abs=1e-3)
    assert longer.motoring_L == pytest.approx(6.0)
    assert longer.charging_L == pytest.approx(0.5 * 12)
    assert longer.left_L == pytest.approx(96.0 - 6.0 - 6.0)


def test_from_a_later_moment_what_is_burnt_is_gone():
    """After two days: 96 L less two hours of motoring and two runs; an hour of motoring to come."""
    boat = AN_HOUR_A_DAY | {"alternator": {"motoring_A": 0.0}}
    planned, longer = courses_of(boat, leg=MOTORING, from_h=48.0)
    assert planned.usable_L == pytest.approx(96.0 - 4.0 - 1.0)
    assert longer.usable_L == planned.usable_L
    assert planned.motoring_L == longer.motoring_L == pytest.approx(2.0)
    assert longer.days_to_landfall == pytest.approx(1.5 * planned.days_to_landfall, abs=0.01)


def test_a_heater_burns_of_the_same_diesel():
    heater = Load(name="heater", fuel_L_per_h=0.1, draw_A=0.5)
    planned, longer = courses_of(AN_HOUR_A_DAY, loads=(heater,), days=4.0)
    assert planned.heater_L == pytest.approx(0.1 * 24.0 * planned.days_to_landfall, abs=0.1)
    assert longer.heater_L == pytest.approx(1.5 * planned.heater_L, abs=0.1)
    assert planned.for_charging_L == pytest.approx(96.0 - 20.0 - planned.heater_L)


def test_an_engine_that_need_not_charge():
    planned, _ = courses_of({"charging": {"by_engine": False}}, days=2.0)
    assert planned.charging_L == planned.mean_L_per_day == 0.0
    assert math.isinf(planned.days_at(planned.mean_L_per_day))


def test_what_is_short_is_told_and_nothing_is_left_for_charging():
    """10 L aboard, 4 of them out of reach: 6 h of motoring want 12."""
    boat = AN_HOUR_A_DAY | {"fuel": {"aboard_L": 10.0, "jerrycans_L": 0.0, "reserve_L": 2.0}}
    boat |= {"alternator": {"motoring_A": 0.0}}
    planned, _ = courses_of(boat, leg={"motoring_end_h": 6.0}, days=2.0)
    assert planned.usable_L == pytest.approx(6.0)
    assert planned.motoring_L == pytest.approx(12.0)
    assert planned.for_charging_L == pytest.approx(-8.0)
    assert planned.left_L == pytest.approx(6.0 - 12.0 - 1.0)
    assert planned.days_at(0.5) == 0.0


def test_no_sun_costs_more_diesel_than_sun():
    boat = {"charging": {"start_soc": 0.7, "stop_soc": 0.8}, "panel_W": (100.0,)}
    loads = (Load(name="instruments", draw_A=4.0),)
    planned, _ = courses_of(boat, loads=loads, days=10.0)
    assert 0.0 < planned.mean_L_per_day < planned.no_sun_L_per_day
    assert planned.mean_L_per_day <= planned.hungriest_L_per_day
    bare, _ = courses_of(boat | {"panel_W": ()}, loads=loads, days=10.0)
    assert bare.no_sun_L_per_day == bare.mean_L_per_day


def test_in_members_every_litre_is_told_for_each():
    planned, longer = courses_of(AN_HOUR_A_DAY, members=3)
    for course in (planned, longer):
        for name in FuelCourse.__slots__:
            if name not in ("factor", "days_to_landfall", "reserve_L"):
                assert getattr(course, name).shape == (3,)
        assert course.days_at(course.mean_L_per_day).shape == (3,)
    np.testing.assert_allclose(planned.charging_L, 4.0)


def test_days_of_diesel_are_not_told_of_a_bank_that_goes_dark():
    """96 L, and an hour of 45 A a day against 8 A day and night: dark on the third day of eight,
    whatever there is of diesel. From members too: all of them go dark.
    """
    loads = (Load(name="instruments", draw_A=8.0),)
    planned, _ = courses_of(AN_HOUR_A_DAY, loads=loads)
    assert (planned.dark_frac, planned.no_sun_dark_frac) == (1.0, 1.0)
    assert planned.days_of("mean") == planned.days_of("no_sun") == -math.inf
    in_ensemble, _ = courses_of(AN_HOUR_A_DAY, loads=loads, members=3)
    assert in_ensemble.days_of("hungriest").tolist() == [-math.inf] * 3
    lit, _ = courses_of(AN_HOUR_A_DAY)
    assert lit.days_of("mean") == lit.days_at(lit.mean_L_per_day) > 100.0


def test_a_tenth_between_dark_and_lit_is_dark():
    """Of 20 members two go dark; the tenth lies between the second and the third."""
    days = np.array([-math.inf] * 2 + [16.0] * 18)
    assert quantiles(days, (0.1, 0.5)).tolist() == [-math.inf, 16.0]


def test_without_sun_an_engine_that_its_bank_no_longer_starts_saves_no_diesel():
    """Sun keeps it above 40 %; without, it falls below in the first night and stays there. The
    litres that are then not burnt once read as months of charging.
    """
    boat = {
        "engine": {"start_battery": "shared"},
        "charging": {"start_soc": 0.45, "stop_soc": 0.6, "hours_h": (8.0, 20.0)},
        "battery": {"soc_at_departure": 0.9},
        "panel_W": (600.0,),
    }
    planned, _ = courses_of(boat, loads=(Load(name="instruments", draw_A=6.0),), days=6.0)
    assert (planned.dark_frac, planned.no_sun_dark_frac) == (0.0, 1.0)
    assert planned.days_of("mean") > 0.0


def test_a_boat_without_an_engine_has_no_diesel():
    assert courses_of({"engine": None}, days=1.0) == ()
