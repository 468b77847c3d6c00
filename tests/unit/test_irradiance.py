"""Light on a plane: what pvlib is asked to do with arrays, and the parts that it is cut into."""

import numpy as np
import pytest

from powersim.physics.irradiance import light_on_plane

CASES = {
    "tilt_deg": np.array([0.0, 20.0, 20.0, 60.0, 90.0, 110.0, 35.0]),
    "azimuth_deg": np.array([90.0, 90.0, 270.0, 180.0, 10.0, 300.0, 45.0]),
    "sun_elevation_deg": np.array([60.0, 20.0, 20.0, 35.0, 5.0, 50.0, 0.4]),
    "sun_azimuth_deg": np.array([180.0, 95.0, 95.0, 200.0, 170.0, 310.0, 60.0]),
    "dni_W_m2": np.array([850.0, 500.0, 500.0, 0.0, 90.0, 700.0, 3.0]),
    "ghi_W_m2": np.array([840.0, 250.0, 250.0, 160.0, 60.0, 640.0, 6.0]),
    "dhi_W_m2": np.array([104.0, 79.0, 79.0, 160.0, 52.0, 104.0, 5.98]),
    "extra_dni_W_m2": np.array([1361.0, 1400.0, 1400.0, 1330.0, 1366.0, 1350.0, 1361.0]),
}
PARTS = ("incidence_deg", "direct_W_m2", "circumsolar_W_m2", "isotropic_W_m2", "sea_W_m2")


@pytest.mark.parametrize("sky_model", ["isotropic", "haydavies", "reindl", "perez"])
def test_arrays_along_time_give_what_one_moment_at_a_time_gives(sky_model):
    """pvlib's documentation does not promise arrays of tilt and azimuth."""
    at_once = light_on_plane(**CASES, sky_model=sky_model)
    for i in range(len(CASES["tilt_deg"])):
        moment = {name: float(values[i]) for name, values in CASES.items()}
        alone = light_on_plane(**moment, sky_model=sky_model)
        for part in PARTS:
            assert getattr(at_once, part)[i] == pytest.approx(getattr(alone, part), abs=1e-9)


def test_a_level_plane_sees_the_global_light_and_no_sea():
    level = CASES | {"tilt_deg": np.zeros(7)}
    level["ghi_W_m2"] = (
        level["dni_W_m2"] * np.sin(np.radians(level["sun_elevation_deg"])) + level["dhi_W_m2"]
    )
    light = light_on_plane(**level)
    high = level["sun_elevation_deg"] > 1.0  # pvlib holds the ring down below 1 degree
    assert light.total_W_m2[high] == pytest.approx(level["ghi_W_m2"][high], rel=1e-12)
    assert light.sea_W_m2 == pytest.approx(np.zeros(7), abs=1e-12)


def test_a_plane_that_looks_away_gets_neither_beam_nor_ring():
    light = light_on_plane(**CASES)
    away = light.incidence_deg >= 90
    assert away.any()
    assert np.all(light.direct_W_m2[away] == 0)
    assert light.circumsolar_W_m2[away] == pytest.approx(np.zeros(away.sum()), abs=1e-12)


def test_hay_and_davies_parts_by_hand():
    """Second case: A = 500/1400; cos(incidence) from the spherical law of cosines."""
    light = light_on_plane(**CASES)
    share = 500 / 1400
    cos_incidence = np.cos(np.radians(70)) * np.cos(np.radians(20)) + np.sin(
        np.radians(70)
    ) * np.sin(np.radians(20)) * np.cos(np.radians(5))
    assert light.direct_W_m2[1] == pytest.approx(500 * cos_incidence)
    assert light.circumsolar_W_m2[1] == pytest.approx(
        79 * share * cos_incidence / np.cos(np.radians(70))
    )
    assert light.isotropic_W_m2[1] == pytest.approx(
        79 * (1 - share) * (1 + np.cos(np.radians(20))) / 2
    )
    assert light.sea_W_m2[1] == pytest.approx(250 * 0.06 * (1 - np.cos(np.radians(20))) / 2)
