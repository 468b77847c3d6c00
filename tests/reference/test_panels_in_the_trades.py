"""What sailors see: a panel's day in the trades, what mounts cost, what PWM costs, what heel does.

Facts of the trade are common practice, no source; each says so.
"""

import numpy as np
import pytest
from solar_cases import boat_in_one_place

from powersim.physics.solar import controller_yield
from powersim.records import Controller, panel_of


def day_Wh(case, panel, controller=None, bank_V=13.5):
    track, sky = case
    offered = controller_yield(
        controller or Controller(), [panel], track=track, sky=sky, nominal_V=12.0
    )
    if offered.knots_V.size:
        current_A = [np.interp(bank_V, offered.knots_V, row) for row in offered.current_A]
        return np.sum(current_A) * bank_V * track.step_h
    return offered.power_W.sum() * track.step_h


def flat(**given):
    return panel_of("flat", power_W=100.0, **({"mount": "clear"} | given))


# The trade-wind day of the mounts: clearness of the bundled ocean climatology at 17 N 25 W in
# October (0.567), course south, 10 degrees of heel, mean of both tacks.
TRADE_DAY = {"lat_deg": 17.0, "day": "2027-10-15", "clearness": 0.567, "heel_deg": 10.0, "tack": 0}


@pytest.mark.parametrize(
    ("lat_deg", "day", "clearness"),
    [
        (20.0, "2027-12-15", 0.537),  # 30 W
        (15.0, "2028-01-15", 0.581),  # 45 W
        (14.0, "2028-02-15", 0.605),  # 50 W
        (17.0, "2027-10-15", 0.567),  # 25 W
    ],
)
def test_100_W_flat_and_unshaded_gives_300_to_480_Wh_a_day_by_mppt(lat_deg, day, clearness):
    """Common practice, no source, for the months in which the trades are crossed. Clearness of the
    bundled ocean climatology there. At 25 N in December it is 292 Wh, from March on over 500."""
    case = boat_in_one_place(lat_deg=lat_deg, day=day, clearness=clearness)
    assert 300.0 < day_Wh(case, flat()) < 480.0


def test_pwm_gives_a_tenth_to_a_fifth_less():
    """10 to 25 % less is common practice, no source. On the trade-wind day: 11 % at a bank that
    is nearly full (13.5 V), 17 % at one that is being used (12.6 V); in Ah the two are alike. The
    11 and 17 are our own, and only keep docs/validation.md to what it says."""
    case = boat_in_one_place(**TRADE_DAY)
    mppt_Wh = day_Wh(case, flat())
    loss = [
        1 - day_Wh(case, flat(), Controller(kind="pwm"), bank_V=bank_V) / mppt_Wh
        for bank_V in (13.5, 12.6)
    ]
    assert min(loss) > 0.10
    assert max(loss) < 0.25
    assert loss == pytest.approx([0.11, 0.17], abs=0.015)


def test_in_the_cold_mppt_gains_more():
    """A cold module's voltage is higher, and PWM cannot use it. Common practice, no source."""
    loss = {}
    for air_C in (5.0, 30.0):
        case = boat_in_one_place(clearness=0.5, air_C=air_C)
        loss[air_C] = 1 - day_Wh(case, flat(), Controller(kind="pwm")) / day_Wh(case, flat())
    assert loss[5.0] > loss[30.0] + 0.05


@pytest.mark.parametrize(
    ("mount", "loss"),
    [("clear", 0.0), ("arch", 0.10), ("pushpit", 0.15), ("rail", 0.25), ("coachroof", 0.40)],
)
def test_what_a_mount_loses_on_a_trade_wind_day(mount, loss):
    """Trade judgement, common practice, no source. The sectors were turned until they gave it, so
    that this shows that they still do, and not that a mount loses so much. The same panel in the
    open is what it is compared with. Within 3 points."""
    case = boat_in_one_place(**TRADE_DAY)
    lost = 1 - day_Wh(case, flat(mount=mount)) / day_Wh(case, flat())
    assert lost == pytest.approx(loss, abs=0.03)


@pytest.mark.parametrize("mount", ["arch", "pushpit", "rail", "coachroof"])
@pytest.mark.parametrize("course_deg", [180.0, 225.0, 270.0])
def test_a_quarter_hour_is_short_enough_for_the_edges_of_shade(mount, course_deg):
    """Against one-minute steps, though a step's sun is behind a sector or not: within 1 %."""
    by_minute, by_quarter = (
        day_Wh(
            boat_in_one_place(**TRADE_DAY, course_deg=course_deg, step_min=step), flat(mount=mount)
        )
        for step in (1, 15)
    )
    assert by_quarter == pytest.approx(by_minute, rel=0.01)


@pytest.mark.parametrize("course_deg", [0.0, 90.0, 180.0, 225.0, 270.0])
def test_mounts_keep_their_order_on_every_course(course_deg):
    """Common practice, no source."""
    case = boat_in_one_place(**TRADE_DAY, course_deg=course_deg)
    mounts = ("clear", "arch", "pushpit", "rail", "coachroof")
    energies = [day_Wh(case, flat(mount=mount)) for mount in mounts]
    assert energies == sorted(energies, reverse=True)


def test_turning_by_hand_gains_on_a_fixed_panel_and_more_often_gains_more():
    """Three times a day: 15 to 30 % over flat in the trades; common practice, no source."""
    case = boat_in_one_place(**TRADE_DAY)
    fixed_Wh = day_Wh(case, flat())
    gains = [
        day_Wh(case, flat(mount="hand", shades=(), trims_per_day=trims)) / fixed_Wh - 1
        for trims in (1, 3, 12)
    ]
    assert gains == sorted(gains)
    assert 0.15 < gains[1] < 0.30


def heeled_day_Wh(day, course_deg, tack, step_min):
    return day_Wh(
        boat_in_one_place(
            lat_deg=65.0,
            day=day,
            clearness=0.4,
            course_deg=course_deg,
            heel_deg=20.0,
            tack=tack,
            step_min=step_min,
        ),
        flat(),
    )


@pytest.mark.parametrize("tack", [-1, 1])
@pytest.mark.parametrize("course_deg", [90.0, 180.0])
@pytest.mark.parametrize("day", ["2027-02-01", "2027-06-21", "2027-09-05", "2027-11-01"])
def test_a_quarter_hour_is_short_enough_on_a_heeled_panel_at_65_north(day, course_deg, tack):
    """Against one-minute steps: within 0.3 % of the day (0.12 % at worst)."""
    by_minute, by_quarter = (heeled_day_Wh(day, course_deg, tack, step) for step in (1, 15))
    assert by_quarter == pytest.approx(by_minute, rel=0.003)


def test_an_hour_would_not_be_short_enough():
    """Low sun on a panel heeled towards it: over 1 % of the day's energy."""
    by_minute, by_hour = (heeled_day_Wh("2027-02-01", 90.0, -1, step) for step in (1, 60))
    assert abs(by_hour / by_minute - 1) > 0.01
