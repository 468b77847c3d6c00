"""Maps: where a position comes to lie on the paper."""

import numpy as np
import pytest

from powersim.report.projection import Mercator, Polar, projection_for


@pytest.mark.parametrize("north", [True, False])
def test_about_a_pole_against_what_the_word_means(north):
    """Stereographic: seen from the other pole, on a plane that touches the earth at this one."""
    sign = 1.0 if north else -1.0
    lat_deg, lon_deg = np.meshgrid([40.0, 66.5, 80.0, 89.9], [-179.0, -30.0, 0.0, 100.0])
    lat_deg = sign * lat_deg
    lat, lon = np.radians(lat_deg), np.radians(lon_deg - 25.0)
    over_pole = 1.0 + sign * np.sin(lat)  # height above the other pole; the plane is at 2
    across, along = np.cos(lat) * np.sin(lon), -sign * np.cos(lat) * np.cos(lon)
    x, y = Polar(middle_lon_deg=25.0, north=north).place(lat_deg, lon_deg)
    assert x == pytest.approx(across * 2.0 / over_pole, abs=1e-12)
    assert y == pytest.approx(along * 2.0 / over_pole, abs=1e-12)


@pytest.mark.parametrize(
    "projection",
    [Mercator(middle_lon_deg=-170.0), Polar(middle_lon_deg=10.0, north=True)],
    ids=["mercator", "polar"],
)
def test_angles_are_those_of_the_earth(projection):
    """A short step north and one as long east are drawn equally long, and square to each other."""
    lat_deg, lon_deg, step_deg = np.array([5.0, 45.0, 78.0]), np.array([-179.0, 0.0, 60.0]), 1e-4
    start = np.array(projection.place(lat_deg, lon_deg))
    north = np.array(projection.place(lat_deg + step_deg, lon_deg)) - start
    east_deg = step_deg / np.cos(np.radians(lat_deg))
    east = np.array(projection.place(lat_deg, lon_deg + east_deg)) - start
    assert np.hypot(*north) == pytest.approx(np.hypot(*east), rel=1e-4)
    assert (north * east).sum(axis=0) / (np.hypot(*north) * np.hypot(*east)) == pytest.approx(
        np.zeros(3), abs=1e-4
    )


def test_over_the_date_line_a_track_goes_on():
    x, _ = Mercator(middle_lon_deg=180.0).place([0.0, 0.0], [178.0, 184.0])
    assert np.degrees(x) == pytest.approx([-2.0, 4.0])


def test_which_one_is_taken():
    assert projection_for(np.array([60.0, 79.0]), np.array([0.0, 20.0])) == Mercator(
        middle_lon_deg=10.0
    )
    assert projection_for(np.array([60.0, 81.0]), np.array([0.0, 20.0])).north
    assert not projection_for(np.array([-60.0, -81.0]), np.array([0.0, 20.0])).north
