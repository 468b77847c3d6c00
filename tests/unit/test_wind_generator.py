"""What a wind generator offers: hub, apparent wind, curve, cut-out, and which wind is known."""

from types import SimpleNamespace

import numpy as np
import pytest

from powersim.physics.wind_generator import (
    apparent_wind_m_s,
    mean_wind_generator_W,
    wind_at_height_m_s,
    wind_generator_W,
    wind_offer_W,
)
from powersim.records import WindGenerator

#: At 10 m, so that the wind is that of the sky; nothing lost.
AT_10_M = {"height_m": 10.0, "wiring_frac": 0.0, "wind_angle_deg": 90.0}
MILL = WindGenerator(speeds_m_s=(3.0, 5.0, 15.0), powers_W=(0.0, 20.0, 220.0), **AT_10_M)


@pytest.mark.parametrize(
    ("wind_m_s", "power_W"),
    [(0.0, 0.0), (3.0, 0.0), (4.0, 10.0), (10.0, 120.0), (15.0, 220.0), (19.9, 220.0), (20.0, 0.0)],
)
def test_straight_lines_between_points_held_beyond_them_and_nothing_in_a_gale(wind_m_s, power_W):
    """By hand; the cut-out is 20 m/s."""
    assert wind_generator_W(MILL, wind_m_s=wind_m_s, speed_kn=0.0) == pytest.approx(power_W)


def test_the_cable_takes_its_share():
    lossy = WindGenerator(speeds_m_s=(0.0, 10.0), powers_W=(0.0, 100.0), height_m=10.0)
    assert wind_generator_W(lossy, wind_m_s=10.0, speed_kn=0.0) == pytest.approx(97.0)


def test_wind_is_the_stated_one_at_ten_metres_and_less_below():
    assert wind_at_height_m_s(wind_m_s=8.0, height_m=10.0) == 8.0
    assert wind_at_height_m_s(wind_m_s=8.0, height_m=2.0) < 7.0


@pytest.mark.parametrize(("angle_deg", "expected"), [(0.0, 9.0), (90.0, 41**0.5), (180.0, 1.0)])
def test_headway_adds_to_the_wind_ahead_and_takes_from_the_wind_astern(angle_deg, expected):
    apparent = apparent_wind_m_s(wind_m_s=5.0, angle_deg=angle_deg, boat_m_s=4.0)
    assert apparent == pytest.approx(expected)


def test_running_as_fast_as_the_wind_is_a_calm_and_no_root_of_less_than_nothing():
    winds_m_s = np.linspace(0.1, 20.0, 300)
    apparent = apparent_wind_m_s(wind_m_s=winds_m_s, angle_deg=180.0, boat_m_s=winds_m_s)
    assert np.all(apparent < 1e-6)


def sky(open_frac):
    wind_m_s = np.full(3, 6.0)
    return SimpleNamespace(wind_m_s=wind_m_s, wind_open_frac=np.asarray(open_frac))


def test_a_known_wind_counts_as_it_is_a_mean_as_a_mean_and_half_known_half():
    track = SimpleNamespace(speed_kn=np.array([0.0, 4.0, 4.0]))
    known = wind_offer_W(MILL, track=track, sky=sky([0.0, 0.0, 0.0]))
    mean = wind_offer_W(MILL, track=track, sky=sky([1.0, 1.0, 1.0]))
    mixed = wind_offer_W(MILL, track=track, sky=sky([0.0, 1.0, 0.5]))
    assert known[0] == pytest.approx(40.0)  # by hand: 20 W and a tenth of 200 W
    assert mean[0] > known[0]
    assert mixed == pytest.approx([known[0], mean[1], (known[2] + mean[2]) / 2.0])


def test_members_may_come_last():
    """As in many members: winds (n, members), the boat's speed (n, 1)."""
    winds_m_s = np.array([[4.0, 10.0], [5.0, 15.0]])
    power_W = wind_generator_W(MILL, wind_m_s=winds_m_s, speed_kn=np.zeros((2, 1)))
    assert power_W == pytest.approx(np.array([[10.0, 120.0], [20.0, 220.0]]))


def test_the_mean_over_a_calm_is_nothing():
    calm = mean_wind_generator_W(MILL, wind_m_s=np.zeros(2), speed_kn=np.zeros(2))
    assert list(calm) == [0.0, 0.0]
