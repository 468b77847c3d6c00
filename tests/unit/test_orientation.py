"""A mount turned by heel and course, and a panel turned by hand."""

import numpy as np
import pandas as pd
import pvlib
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from powersim.physics.orientation import hand_turned_plane, turned_plane


@pytest.mark.parametrize(
    ("mount", "faces"),
    [
        # tilt, bearing, heel to port, course -> tilt, azimuth
        ((0.0, 180.0, 20.0, 180.0), (20.0, 90.0)),  # southward, port is east
        ((0.0, 180.0, -20.0, 180.0), (20.0, 270.0)),
        ((0.0, 180.0, 20.0, 0.0), (20.0, 270.0)),
        ((0.0, 0.0, 15.0, 350.0), (15.0, 260.0)),
        ((30.0, 180.0, 0.0, 90.0), (30.0, 270.0)),  # leans aft, eastward: faces west
        ((30.0, 0.0, 0.0, 350.0), (30.0, 350.0)),
        ((25.0, 90.0, 0.0, 300.0), (25.0, 30.0)),  # leans to starboard
        ((25.0, 270.0, 10.0, 0.0), (35.0, 270.0)),  # leans and heels to port: they add
        ((25.0, 90.0, 10.0, 0.0), (15.0, 90.0)),  # leans to windward: heel takes off
        ((90.0, 270.0, 20.0, 0.0), (110.0, 270.0)),  # upright on the lee rail: looks down
    ],
)
def test_a_mount_faces_where_a_sailor_would_say(mount, faces):
    tilt, bearing, heel, course = mount
    turned = turned_plane(
        tilt_deg=tilt, bearing_deg=bearing, heel_to_port_deg=heel, course_deg=course
    )
    assert turned == pytest.approx(faces, abs=1e-9)


def test_a_mount_that_undoes_the_heel_lies_level():
    tilt_deg, _ = turned_plane(
        tilt_deg=12.0, bearing_deg=90.0, heel_to_port_deg=12.0, course_deg=77.0
    )
    assert tilt_deg == pytest.approx(0.0, abs=1e-12)


@given(
    tilt=st.floats(0, 90),
    bearing=st.floats(-360, 360),
    heel=st.floats(-60, 60),
    course=st.floats(0, 360),
)
def test_turning_agrees_with_rotation_matrices(tilt, bearing, heel, course):
    """scipy's rotations, axes east, north, up: tip the plane, swing it, heel, then turn."""
    mounted = Rotation.from_euler("xz", [-tilt, -bearing], degrees=True)
    sailing = Rotation.from_euler("yz", [-heel, -course], degrees=True)
    normal = (sailing * mounted).apply([0.0, 0.0, 1.0])
    turned_tilt, azimuth = np.radians(
        turned_plane(tilt_deg=tilt, bearing_deg=bearing, heel_to_port_deg=heel, course_deg=course)
    )
    ours = (
        np.sin(turned_tilt) * np.sin(azimuth),
        np.sin(turned_tilt) * np.cos(azimuth),
        np.cos(turned_tilt),
    )
    assert ours == pytest.approx(tuple(normal), abs=1e-9)


def _day(day, lat_deg, lon_deg, trims_per_day):
    times = pd.date_range(day, periods=24 * 60, freq="1min", tz="UTC")
    utc_s = times.as_unit("s").asi8.astype(float)
    sun = pvlib.solarposition.get_solarposition(times, lat_deg, lon_deg)
    plane = hand_turned_plane(
        utc_s=utc_s,
        lat_deg=np.full(utc_s.shape, lat_deg),
        lon_deg=np.full(utc_s.shape, lon_deg),
        trims_per_day=trims_per_day,
    )
    return sun, plane


@pytest.mark.parametrize("trims_per_day", [1, 2, 3, 5])
@pytest.mark.parametrize(
    ("day", "lat_deg", "lon_deg"), [("2027-10-15", 17.0, -25.0), ("2027-01-31", -40.0, 175.0)]
)
def test_a_panel_turned_by_hand_faces_the_sun_of_each_part_of_the_day(
    day, lat_deg, lon_deg, trims_per_day
):
    """The sun's place by pvlib's SPA in the middle of every part that pvlib's SPA day has."""
    sun, (tilt_deg, azimuth_deg) = _day(day, lat_deg, lon_deg, trims_per_day)
    # The longest run of daylight without a break at midnight UTC is shifted to the front.
    up = (sun["elevation"] > 0).to_numpy()
    first = np.flatnonzero(up & ~np.roll(up, 1))[0]
    lit = (first + np.arange(up.sum())) % len(up)
    for part in np.array_split(lit, trims_per_day):
        middle = part[len(part) // 2]
        # Sunrise to sunset by the book is 4 to 8 minutes shorter than pvlib's sun above 0 degrees
        # with its declination moving, and a middle of minutes is half a minute off.
        assert tilt_deg[middle] == pytest.approx(sun["zenith"].iloc[middle], abs=0.5)
        off_deg = (azimuth_deg[middle] - sun["azimuth"].iloc[middle] + 180.0) % 360.0 - 180.0
        assert off_deg == pytest.approx(0.0, abs=1.2)
        inside = part[5:-5]  # the parts' edges are a minute or two apart
        assert np.ptp(tilt_deg[inside]) < 0.5
        assert np.ptp(np.unwrap(azimuth_deg[inside], period=360.0)) < 0.7


def test_a_panel_turned_every_few_minutes_follows_the_sun():
    sun, (tilt_deg, azimuth_deg) = _day("2027-06-21", 38.0, -28.0, 200)
    incidence_deg = pvlib.irradiance.aoi(tilt_deg, azimuth_deg, sun["zenith"], sun["azimuth"])
    assert incidence_deg[sun["elevation"] > 0].max() < 1.5  # half of 4.4 minutes is 0.6 degree


@pytest.mark.parametrize("lat_deg", [-90.0, -80.0, 0.0, 80.0, 90.0])
@pytest.mark.parametrize("day", ["2027-06-21", "2027-12-21"])
def test_midnight_sun_and_polar_night_have_a_plane(lat_deg, day):
    _, (tilt_deg, azimuth_deg) = _day(day, lat_deg, 0.0, 3)
    assert np.all((tilt_deg >= 0) & (tilt_deg <= 90))
    assert np.all((azimuth_deg >= 0) & (azimuth_deg < 360))


def test_the_year_end_makes_no_step():
    times = pd.date_range("2027-12-31 22:00", periods=240, freq="1min", tz="UTC")
    place = np.full(240, 0.0), np.full(240, -150.0)  # early afternoon there
    tilt_deg, _ = hand_turned_plane(
        utc_s=times.as_unit("s").asi8.astype(float),
        lat_deg=place[0],
        lon_deg=place[1],
        trims_per_day=1,
    )
    assert np.abs(np.diff(tilt_deg)).max() < 0.02
