"""A passage small enough to work out with a pencil: three loads, two days, no sun."""

from datetime import UTC, datetime

import pytest
from builders import in_average

from powersim.records import (
    Alternator,
    Boat,
    ChargingRule,
    Engine,
    Fuel,
    Load,
    Passage,
    Waypoint,
    Window,
    battery_of,
)


@pytest.fixture(scope="module")
def result():
    boat = Boat(
        name="hand-worked",
        battery=battery_of(
            "lifepo4",
            capacity_Ah=200.0,
            health_frac=1.0,
            self_discharge_frac_per_month=0.0,
            standby_A=0.0,
            charge_efficiency_frac=1.0,
        ),
        alternator=Alternator(charging_A=20.0, motoring_A=0.0),
        engine=Engine(
            rated_kW=10.0, charging_L_per_h=0.8, charging_burn_loaded=True, motoring_L_per_h=2.0
        ),
        fuel=Fuel(tank_L=40.0, jerrycans_L=20.0, aboard_L=60.0, reserve_L=20.0),
        charging=ChargingRule(start_soc=0.604, stop_soc=0.70, read_at_h=(), hours_h=(8.0, 20.0)),
    )
    return in_average(
        Passage(
            name="two days",
            depart_utc=datetime(2026, 5, 1, tzinfo=UTC),
            ship_offset_h=0.0,
            waypoints=(
                Waypoint(name="A", lat_deg=30.0, lon_deg=-40.0, speed_kn=5.0, motoring_start_h=3.0),
                Waypoint(name="B", lat_deg=34.1, lon_deg=-40.0),
            ),
            boat=boat,
            loads=(
                Load(name="instruments", draw_A=1.0),
                Load(name="pilot", draw_A=4.0, on_frac=0.25),
                Load(
                    name="lights", draw_A=0.5, window=Window(kind="clock", spans_h=((18.0, 6.0),))
                ),
            ),
        )
    )


def used_Ah(result, hour):
    """Charge gone from the full bank by that hour after departure."""
    return 200.0 * (1.0 - result.hourly["soc"].iloc[hour - 1])


@pytest.mark.parametrize(
    ("hour", "used"),
    [
        (6, 15.0),
        (18, 39.0),
        (30, 69.0),
        (35, 79.0),
        (42, 60.0 + 35.0 / 3.0),
        (48, 75.0 + 35.0 / 3.0),
    ],
)
def test_charge_of_the_hand_worked_passage(result, hour, used):
    """Arithmetic, by hand. Instruments 1 A and a pilot of 4 A a quarter of the time: 2 A all day.
    Lights 0.5 A from 18:00 to 06:00: 2.5 A by night. From a full 200 Ah at midnight:

        06:00           6 h x 2.5 A = 15 Ah used
        18:00         + 12 h x 2 A  = 39 Ah
        06:00 (30 h)  + 12 h x 2.5 A = 69 Ah
        11:00 (35 h)  + 5 h x 2 A   = 79 Ah
        11:06         + 0.1 h x 2 A = 79.2 Ah: 60.4 %, engine starts

    The alternator gives 20 A, 18 A of it to the bank, which takes far more at this charge:

        12:10         79.2 - 64 min x 18 A = 60.0 Ah: 70 %, engine stops after 1 h 4 min
        18:00 (42 h)  + 5 h 50 min x 2 A   = 71.67 Ah
        24:00 (48 h)  + 6 h x 2.5 A = 86.67 Ah; below 60.4 % from about 21:00, when it may not run
    """
    assert used_Ah(result, hour) == pytest.approx(used, abs=1e-9)


def test_engine_run_and_litres_of_the_hand_worked_passage(result):
    """By hand, as above. Motoring 00:00 to 03:00 at 2 L/h: 6 L. One charging run of 64 min at
    0.8 L/h, measured with the alternator at work: 0.853 L, for 21.33 Ah. Tank and cans hold 60 L,
    of which 5 % of 40 L, 2 L, cannot be reached: 60 - 2 - 6 - 0.853 = 51.147 L left at 48 h.
    """
    motoring, charging = result.engine.itertuples()
    assert (motoring.kind, motoring.run_h, motoring.fuel_L) == ("motoring", 3.0, 6.0)
    assert str(charging.start_utc) == "2026-05-02 11:06:00+00:00"
    assert charging.run_h == pytest.approx(64.0 / 60.0)
    assert charging.fuel_L == pytest.approx(0.8 * 64.0 / 60.0, abs=1e-9)
    assert charging.alternator_Ah == pytest.approx(20.0 * 64.0 / 60.0, abs=1e-9)
    assert charging.soc_before == pytest.approx(0.604, abs=1e-9)
    assert charging.soc_after == pytest.approx(0.70, abs=1e-9)
    left_L = 60.0 - 2.0 - 6.0 - 0.8 * 64.0 / 60.0
    assert result.hourly["fuel_left_L"].iloc[47] == pytest.approx(left_L, abs=1e-9)


@pytest.mark.parametrize("minutes", [5, 20, 30, 60])
def test_the_hand_worked_run_is_the_same_in_every_step(result, minutes):
    """11:06 and 12:10 lie on the edge of no step longer than two minutes."""
    other = in_average(result.passage, step_h=minutes / 60.0)
    assert other.engine["run_h"].tolist() == pytest.approx([3.0, 64.0 / 60.0])
    assert other.hourly["soc"].tolist() == pytest.approx(result.hourly["soc"].tolist(), abs=1e-9)


def test_demand_of_the_hand_worked_passage(result):
    """By hand: 24 + 24 + 6 = 54 Ah a day, 108 Ah in two days, all of it served."""
    two_days = result.hourly.iloc[:48]
    assert two_days["loads_Ah"].sum() == pytest.approx(108.0, abs=1e-9)
    assert two_days["unserved_Ah"].sum() == 0.0
    assert two_days["solar_Ah"].sum() == 0.0
