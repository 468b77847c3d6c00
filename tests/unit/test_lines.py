"""Lines where their formulas meet their limits."""

import numpy as np
import pytest

from powersim.records import Waypoint
from powersim.voyage.lines import PARALLEL_BELOW_DEG, line_between


def rhumb(lat1_deg, lon1_deg, lat2_deg, lon2_deg):
    ends = [
        Waypoint(name="w", lat_deg=lat_deg, lon_deg=lon_deg)
        for lat_deg, lon_deg in ((lat1_deg, lon1_deg), (lat2_deg, lon2_deg))
    ]
    return line_between(*ends, track="rhumb")


@pytest.mark.parametrize("lat_deg", [0.0, 42.0, -65.0])
def test_a_parallel_is_the_limit_of_a_slanting_rhumb(lat_deg):
    parallel = rhumb(lat_deg, 10.0, lat_deg, 30.0)
    slanting = rhumb(lat_deg, 10.0, lat_deg + 2.0 * PARALLEL_BELOW_DEG, 30.0)
    assert slanting.length_nm == pytest.approx(parallel.length_nm, rel=1e-7)
    half_nm = np.array([0.5 * parallel.length_nm])
    assert np.array(slanting.at(half_nm)) == pytest.approx(np.array(parallel.at(half_nm)), abs=3e-5)


def test_a_meridian_is_the_limit_of_a_slanting_rhumb():
    meridian = rhumb(-20.0, 10.0, 30.0, 10.0)
    slanting = rhumb(-20.0, 10.0, 30.0, 10.0 + 1e-7)
    assert slanting.length_nm == pytest.approx(meridian.length_nm, rel=1e-9)
    half_nm = np.array([0.5 * meridian.length_nm])
    assert slanting.at(half_nm)[0] == pytest.approx(meridian.at(half_nm)[0], abs=1e-9)


def test_a_rhumb_is_never_shorter_than_the_great_circle():
    ends = [
        Waypoint(name="w", lat_deg=lat_deg, lon_deg=lon_deg)
        for lat_deg, lon_deg in ((50.0, -5.0), (40.0, -70.0))
    ]
    circle = line_between(*ends, track="great circle")
    straight = line_between(*ends, track="rhumb")
    assert circle.length_nm < straight.length_nm < 1.05 * circle.length_nm
    # Bound to the west, the great circle first goes north of the rhumb.
    at_nm = np.array([500.0])
    assert circle.at(at_nm)[0] > straight.at(at_nm)[0]


def test_there_and_back_is_the_same_rhumb():
    out, back = rhumb(64.0, -22.0, 17.0, -25.0), rhumb(17.0, -25.0, 64.0, -22.0)
    sailed_nm = np.linspace(0.0, out.length_nm, 50)
    lat_deg, lon_deg, course_deg = out.at(sailed_nm)
    back_lat_deg, back_lon_deg, back_course_deg = back.at(out.length_nm - sailed_nm)
    assert back.length_nm == pytest.approx(out.length_nm, rel=1e-12)
    assert back_lat_deg == pytest.approx(lat_deg, abs=1e-5)
    assert back_lon_deg == pytest.approx(lon_deg, abs=1e-5)
    assert np.mod(back_course_deg + 180.0, 360.0) == pytest.approx(course_deg)


def test_a_rhumb_close_to_the_pole_stays_a_curve():
    """Half round the pole at 6 miles from it: pi x 6.03 miles, and never over it."""
    line = rhumb(89.9, 0.0, 89.9, 179.0)
    assert line.length_nm == pytest.approx(np.radians(179.0) * 6.031, abs=0.01)
    lat_deg, _, _ = line.at(np.linspace(0.0, line.length_nm, 300))
    assert lat_deg == pytest.approx(89.9, abs=1e-4)


def test_beyond_its_ends_a_line_holds():
    line = rhumb(10.0, 0.0, 12.0, 5.0)
    lat_deg, lon_deg, _ = line.at(np.array([-5.0, line.length_nm + 5.0]))
    assert lat_deg == pytest.approx([10.0, 12.0])
    assert lon_deg == pytest.approx([0.0, 5.0])


@pytest.mark.parametrize("lat_deg", [10.0, 12.0])
def test_a_rhumb_goes_over_the_date_line_the_short_way(lat_deg):
    """From 179 E to 179 W are two degrees: as far as from 9 E to 11 E, and by 180."""
    over = rhumb(10.0, 179.0, lat_deg, -179.0)
    assert over.length_nm == pytest.approx(rhumb(10.0, 9.0, lat_deg, 11.0).length_nm, rel=1e-12)
    _, lon_deg, course_deg = over.at(np.array([0.5 * over.length_nm]))
    assert abs(lon_deg[0]) == pytest.approx(180.0, abs=0.01)
    assert 0.0 < course_deg[0] <= 90.0 + 1e-9
