"""The voltages that other chargers hold, and what the records refuse."""

import numpy as np
import pytest
from builders import boat_of, in_average, passage_of

from powersim.physics.chargers import OFFERINGS, charger_setpoints_V
from powersim.records import (
    Load,
    ShorePower,
    WaterGenerator,
    WindGenerator,
    battery_of,
    curve_fault,
)
from powersim.records.chargers import CHARGERS

WIND = {"speeds_m_s": (3.0, 10.0), "powers_W": (0.0, 60.0)}
WATER = {"speeds_kn": (2.0, 6.0), "powers_W": (0.0, 60.0)}
BANK = battery_of("agm", capacity_Ah=200.0)


def test_every_record_has_its_physics():
    assert tuple(OFFERINGS) == CHARGERS


def test_the_banks_own_setpoints_stand_in():
    setpoints_V = charger_setpoints_V(WindGenerator(**WIND), BANK, bank_C=10.0)
    assert setpoints_V == pytest.approx((BANK.absorption_V, BANK.float_V))


def test_a_sensor_raises_them_in_the_cold():
    """By hand: 15 degrees below 25 at -0.030 V are 0.45 V."""
    sensed = ShorePower(rated_A=20.0, absorption_V=14.5, float_V=13.6, temp_comp_V_per_C=-0.030)
    absorption_V, float_V = charger_setpoints_V(sensed, BANK, bank_C=np.array([10.0, 25.0]))
    assert absorption_V == pytest.approx([14.95, 14.5])
    assert float_V == pytest.approx([14.05, 13.6])


@pytest.mark.parametrize(("nominal_V", "far_V"), [(12.0, 15.5), (24.0, 31.0)])
def test_an_unregulated_one_goes_on_far_above_them(nominal_V, far_V):
    bank = battery_of("agm", capacity_Ah=200.0, nominal_V=nominal_V)
    free = WaterGenerator(**WATER, regulated=False)
    assert charger_setpoints_V(free, bank, bank_C=10.0) == pytest.approx((far_V, far_V))


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: WindGenerator(speeds_m_s=(3.0,), powers_W=(0.0,)), "two points"),
        (lambda: WindGenerator(speeds_m_s=(3.0, 4.0), powers_W=(0.0,)), "two points"),
        (lambda: WindGenerator(**WIND, diameter_m=0.3), r"point 2 .*power is more than the 26 W"),
        (lambda: WindGenerator(**WIND, height_m=0.0), "height_m"),
        (lambda: WindGenerator(**WIND, wind_angle_deg=181.0), "wind_angle_deg"),
        (lambda: WindGenerator(**WIND, cut_out_m_s=float("nan")), "cut_out_m_s"),
        (lambda: WindGenerator(**WIND, wiring_frac=1.0), "wiring_frac"),
        (lambda: WaterGenerator(**WATER, kind="kite"), "unknown kind"),
        (lambda: WaterGenerator(**WATER, kind="shaft", motoring=True), "shaft"),
        (lambda: WaterGenerator(**WATER, from_kn=5.0, to_kn=5.0), "from_kn"),
        (lambda: ShorePower(rated_A=0.0), "rated_A"),
        (lambda: ShorePower(rated_A=10.0, hours_h=(8.0, 25.0)), "hours_h"),
    ],
)
def test_a_charger_that_cannot_be_is_refused(make, message):
    with pytest.raises(ValueError, match=message):
        make()


@pytest.mark.parametrize(
    ("speeds", "powers_W", "place", "what"),
    [
        ((-1.0, 5.0), (0.0, 9.0), 0, "speed"),
        ((0.0, 5.0), (1.0, 9.0), 0, "power"),
        ((0.0, 5.0, 5.0), (0.0, 9.0, 9.0), 2, "speed"),
        ((0.0, 5.0), (0.0, -9.0), 1, "power"),
        ((0.0, 5.0), (0.0, float("nan")), 1, "power"),
        ((0.0, 5.0), (0.0, 0.0), 1, "power"),
    ],
)
def test_what_is_wrong_with_a_curve_has_its_place(speeds, powers_W, place, what):
    assert curve_fault(speeds, powers_W, density_kg_m3=1.225)[:2] == (place, what)


def test_a_sound_curve_has_no_fault():
    """A curve may fall again, as furling ones do."""
    assert curve_fault((0.0, 5.0, 9.0), (0.0, 9.0, 4.0), density_kg_m3=1.225) is None


@pytest.mark.parametrize(("draw_A", "full"), [(1.0, True), (6.0, False)])
def test_a_bank_that_is_held_on_float_stays_full(draw_A, full):
    """Alongside for four days on a charger of 5 A: it holds what takes less, and not what takes
    more. The bank is at absorption for its first hour alone, and full again after every hour in
    which it is held.
    """
    boat = boat_of(
        chemistry="agm",
        panel_W=(),
        engine=None,
        chargers=(ShorePower(rated_A=5.0, hours_h=(0, 24)),),
    )
    passage = passage_of(
        boat=boat,
        loads=(Load(name="all", draw_A=draw_A),),
        days=0.05,
        leg={"stop_h": 96.0, "stop_state": "berthed", "cabin_C": 25.0},
    )
    gap_days = in_average(passage).summary["average"]["charge"]["longest_gap_between_full_days"]
    assert (gap_days < 2.0 / 24.0) is full
    assert full or gap_days > 3.0
