"""A passage small enough to work out with a pencil: three loads, two days, no sun."""

from datetime import UTC, datetime

import pytest

import powersim
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
        charging=ChargingRule(start_soc=0.604, stop_soc=0.70, hours_h=(8.0, 20.0)),
    )
    return powersim.simulate(
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
    ("hour", "used"), [(6, 15.0), (18, 39.0), (30, 69.0), (35, 79.0), (42, 68.0), (48, 83.0)]
)
def test_charge_of_the_hand_worked_passage(result, hour, used):
    """Arithmetic, by hand. Instruments 1 A and a pilot of 4 A a quarter of the time: 2 A all day.
    Lights 0.5 A from 18:00 to 06:00: 2.5 A by night. From a full 200 Ah at midnight:

        06:00           6 h x 2.5 A = 15 Ah used
        18:00         + 12 h x 2 A  = 39 Ah
        06:00 (30 h)  + 12 h x 2.5 A = 69 Ah
        11:00 (35 h)  + 5 h x 2 A   = 79 Ah
        11:15         + 0.5         = 79.5 Ah: 60.25 %, first step at or below 60.4 %, engine starts

    The alternator gives 20 A, 18 A of it to the bank, which takes far more at this charge:

        12:15         79.5 - 18   = 61.5 Ah: 69.25 %, below 70 %
        12:30         61.5 - 4.5  = 57.0 Ah: 71.5 %, engine stops after 1 h 15 min
        18:00 (42 h)  + 5.5 h x 2 A  = 68 Ah
        24:00 (48 h)  + 6 h x 2.5 A = 83 Ah; below 60.4 % from about 22:30, when it may not run
    """
    assert used_Ah(result, hour) == pytest.approx(used, abs=1e-9)


def test_engine_run_and_litres_of_the_hand_worked_passage(result):
    """By hand, as above. Motoring 00:00 to 03:00 at 2 L/h: 6 L. One charging run of 1.25 h at
    0.8 L/h, measured with the alternator at work: 1 L, for 25 Ah. Tank and cans hold 60 L, of
    which 5 % of 40 L, 2 L, cannot be reached: 60 - 2 - 6 - 1 = 51 L left at 48 h.
    """
    motoring, charging = result.engine.itertuples()
    assert (motoring.kind, motoring.run_h, motoring.fuel_L) == ("motoring", 3.0, 6.0)
    assert str(charging.start_utc) == "2026-05-02 11:15:00+00:00"
    assert charging.run_h == pytest.approx(1.25)
    assert charging.fuel_L == pytest.approx(1.0, abs=1e-12)
    assert charging.alternator_Ah == pytest.approx(25.0, abs=1e-9)
    assert charging.soc_before == pytest.approx(0.6025, abs=1e-12)
    assert charging.soc_after == pytest.approx(0.715, abs=1e-12)
    assert result.hourly["fuel_left_L"].iloc[47] == pytest.approx(51.0, abs=1e-9)


def test_demand_of_the_hand_worked_passage(result):
    """By hand: 24 + 24 + 6 = 54 Ah a day, 108 Ah in two days, all of it served."""
    two_days = result.hourly.iloc[:48]
    assert two_days["loads_Ah"].sum() == pytest.approx(108.0, abs=1e-9)
    assert two_days["unserved_Ah"].sum() == 0.0
    assert two_days["solar_Ah"].sum() == 0.0
