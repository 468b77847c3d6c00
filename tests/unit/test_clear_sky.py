"""The clear sky by night, and the turbidity table's edges."""

import numpy as np
import pytest

from powersim.sky.clear_sky import clear_ghi_W_m2, linke_turbidity

NOON_S = np.datetime64("2027-06-15T12:00", "s").astype(float)


def test_night_has_no_light():
    flat = np.ones(3)
    light = clear_ghi_W_m2(np.array([-60.0, -1.0, 0.0]), turbidity=3 * flat, extra_W_m2=1366 * flat)
    assert light.tolist() == [0.0, 0.0, 0.0]


def test_light_grows_with_the_sun_and_falls_with_haze():
    elevation_deg = np.linspace(0.5, 90.0, 100)
    flat = np.ones(100)
    clean, hazy = (
        clear_ghi_W_m2(elevation_deg, turbidity=turbidity * flat, extra_W_m2=1366.1 * flat)
        for turbidity in (2.0, 5.0)
    )
    assert np.all(np.diff(clean) > 0)
    assert np.all(clean > hazy)
    assert np.all(clean < 1366.1 * np.sin(np.radians(elevation_deg + 0.5)))


@pytest.mark.parametrize("turn_deg", [-360.0, 360.0, 720.0])
def test_turbidity_knows_any_turn_of_longitude(turn_deg):
    lon_deg = np.array([-179.9, -25.0, 0.0, 179.9])
    lat_deg, utc_s = np.full(4, 17.0), np.full(4, NOON_S)
    there = linke_turbidity(lat_deg, lon_deg + turn_deg, utc_s)
    assert there == pytest.approx(linke_turbidity(lat_deg, lon_deg, utc_s))


def test_no_places_have_no_turbidity():
    assert linke_turbidity(np.array([]), np.array([]), np.array([])).shape == (0,)


def test_sahara_dust_hangs_over_cabo_verde_not_over_iceland():
    """Common practice, no source: the turbidity table must tell the two ends of the demo apart."""
    lat_deg, lon_deg = np.array([64.15, 16.9]), np.array([-21.95, -25.0])
    iceland, cabo_verde = linke_turbidity(lat_deg, lon_deg, np.full(2, NOON_S))
    assert 2.0 < iceland < cabo_verde < 7.0
