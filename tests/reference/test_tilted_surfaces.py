"""Duffie and Beckman's worked examples of tilted surfaces, by the way that panels take.

Duffie and Beckman, Solar Engineering of Thermal Processes, examples 1.6.1, 1.8.1, 1.8.2, 2.15.1,
2.16.1 and 2.16.2; what was read and what is from memory stands in each row of the data file.
"""

from types import SimpleNamespace

import numpy as np
import pytest
from solar_cases import read_rows

from powersim.physics.irradiance import light_on_plane
from powersim.physics.orientation import turned_plane

BOOK = {
    (row["example"], row["quantity"]): SimpleNamespace(
        value=float(row["value"]), tolerance=float(row["tolerance_abs"])
    )
    for row in read_rows("duffie_beckman_tilted.csv")
}


def book_sun(*, lat_deg, declination_deg, hour_angle_deg):
    """Elevation and azimuth from north, by the spherical triangle as in the book's section 1.6."""
    lat, declination, hour = np.radians([lat_deg, declination_deg, hour_angle_deg])
    up = np.sin(lat) * np.sin(declination) + np.cos(lat) * np.cos(declination) * np.cos(hour)
    east = -np.cos(declination) * np.sin(hour)
    north = np.cos(lat) * np.sin(declination) - np.sin(lat) * np.cos(declination) * np.cos(hour)
    return {
        "sun_elevation_deg": float(np.degrees(np.arcsin(up))),
        "sun_azimuth_deg": float(np.degrees(np.arctan2(east, north)) % 360.0),
    }


def light_on_mount(sun, *, slope_deg, faces_deg, sky_model="haydavies", **light):
    """Through a mount that leans to starboard on a boat whose starboard side faces there."""
    tilt_deg, azimuth_deg = turned_plane(
        tilt_deg=slope_deg, bearing_deg=90.0, heel_to_port_deg=0.0, course_deg=faces_deg - 90.0
    )
    return light_on_plane(
        tilt_deg=tilt_deg, azimuth_deg=azimuth_deg, sky_model=sky_model, **sun, **light
    )


BEAM_ONLY = {"dni_W_m2": 1.0, "ghi_W_m2": 1.0, "dhi_W_m2": 0.0, "extra_dni_W_m2": 1400.0}
FEBRUARY = book_sun(lat_deg=43.0, declination_deg=-14.0, hour_angle_deg=-22.5)


def test_incidence_angle_of_example_1_6_1():
    expected = BOOK["1.6.1", "angle of incidence"]
    light = light_on_mount(FEBRUARY, slope_deg=45.0, faces_deg=195.0, **BEAM_ONLY)
    assert light.incidence_deg == pytest.approx(expected.value, abs=expected.tolerance)


def test_incidence_angle_of_example_1_6_1_when_heel_makes_half_of_the_slope():
    """The same plane as a mount of 20 degrees on a boat that heels another 25 to port."""
    expected = BOOK["1.6.1", "angle of incidence"]
    tilt_deg, azimuth_deg = turned_plane(
        tilt_deg=20.0, bearing_deg=270.0, heel_to_port_deg=25.0, course_deg=285.0
    )
    light = light_on_plane(tilt_deg=tilt_deg, azimuth_deg=azimuth_deg, **FEBRUARY, **BEAM_ONLY)
    assert light.incidence_deg == pytest.approx(expected.value, abs=expected.tolerance)


@pytest.mark.parametrize(
    ("key", "sun", "slope_deg", "faces_deg"),
    [
        (("1.8.1", "beam ratio Rb"), FEBRUARY, 45.0, 195.0),
        *(
            (key, book_sun(lat_deg=40.0, declination_deg=-13.0, hour_angle_deg=-37.5), slope, 180.0)
            for key, slope in [
                (("1.8.2", "beam ratio Rb"), 30.0),
                (("1.8.2x", "beam ratio Rb for slope 50 deg"), 50.0),
            ]
        ),
    ],
    ids=str,
)
def test_beam_ratio(key, sun, slope_deg, faces_deg):
    """Beam on the plane over beam on the level; declinations by the book's equation 1.6.1."""
    on_plane = light_on_mount(sun, slope_deg=slope_deg, faces_deg=faces_deg, **BEAM_ONLY)
    on_level = light_on_mount(sun, slope_deg=0.0, faces_deg=faces_deg, **BEAM_ONLY)
    ratio = on_plane.direct_W_m2 / on_level.direct_W_m2
    assert ratio == pytest.approx(BOOK[key].value, abs=BOOK[key].tolerance)


def example_2_15(sky_model):
    """20 February, 9 to 10 h, 40 N, slope 60 south, snow: the hour's energies stand for power."""
    sun = book_sun(lat_deg=40.0, declination_deg=-11.6, hour_angle_deg=-37.5)
    cos_zenith = np.sin(np.radians(sun["sun_elevation_deg"]))
    beam, diffuse = (
        BOOK["2.15.1", f"hourly {part} on horizontal"].value for part in ("beam", "diffuse")
    )
    return light_on_mount(
        sun,
        slope_deg=60.0,
        faces_deg=180.0,
        sky_model=sky_model,
        dni_W_m2=beam / cos_zenith,
        ghi_W_m2=beam + diffuse,
        dhi_W_m2=diffuse,
        extra_dni_W_m2=BOOK["2.15.1", "hourly extraterrestrial radiation I0 9-10 h"].value
        / cos_zenith,
        albedo_frac=0.60,
    )


@pytest.mark.parametrize(
    ("sky_model", "key"),
    [
        ("isotropic", ("2.15.1", "total on tilt isotropic sky")),
        ("reindl", ("2.16.1", "total on tilt HDKR")),  # the book's HDKR under its later name
        ("perez", ("2.16.2", "total on tilt Perez")),
    ],
)
def test_total_on_a_slope(sky_model, key):
    total = example_2_15(sky_model).total_W_m2
    assert total == pytest.approx(BOOK[key].value, abs=BOOK[key].tolerance)


def test_diffuse_on_a_slope_by_perez():
    expected = BOOK["2.16.2", "diffuse on tilt Perez"]
    assert example_2_15("perez").isotropic_W_m2 == pytest.approx(
        expected.value, abs=expected.tolerance
    )


def test_hay_and_davies_is_the_books_hdkr_without_the_bright_horizon():
    """By hand from the book's equation 2.16.4 with the numbers of example 2.15.1.

    A = 0.244/2.34 = 0.1043; (0.244 + 0.796 * 0.1043) * 1.71 + 0.796 * 0.8957 * 0.75
    + 1.04 * 0.60 * 0.25 = 0.5592 + 0.5347 + 0.1560 = 1.250.
    """
    light = example_2_15("haydavies")
    assert light.direct_W_m2 + light.circumsolar_W_m2 == pytest.approx(0.5592, abs=0.004)
    assert light.isotropic_W_m2 == pytest.approx(0.5347, abs=0.001)
    assert light.sea_W_m2 == pytest.approx(0.1560, abs=0.0005)
    assert light.total_W_m2 == pytest.approx(1.250, abs=0.005)
