"""The night window within a step, and the day of the year."""

import numpy as np
import pytest

from powersim.sky.sun import SET_ELEVATION_DEG, dark_frac, day_of_year, night_h


def utc_s(*stamps):
    return np.array(stamps, dtype="datetime64[s]").astype(float)


@pytest.mark.parametrize(
    ("above_deg", "share"),
    [
        ([2.0, 1.0, 0.5], 0.0),  # day
        ([-0.5, -1.0, -2.0], 1.0),  # night
        ([1.0, -1.0, -3.0], 0.75),  # sunset
        ([-3.0, -2.0, 2.0], 0.75),  # sunrise
        ([-1.0, 1.0, -1.0], 0.5),  # both in one step
        ([1.0, 1.0, 1.0], 0.0),  # a sun that stands still
        ([-1.0, -1.0, -1.0], 1.0),
        ([0.0, 1.0, 0.0], 0.0),
    ],
)
def test_share_of_a_step_after_sunset(above_deg, share):
    """Straight lines from edge to middle to edge, heights above that of sunset."""
    start, middle, end = np.array(above_deg) + SET_ELEVATION_DEG
    found = dark_frac(np.array([start, end]), np.array([middle]))
    assert found == pytest.approx([share], abs=1e-9)


def test_nights_at_the_equator_and_beyond_the_circles():
    lat_deg = np.array([0.0, 0.0, 66.0, 90.0, -90.0, 90.0])
    declination_deg = np.array([0.0, 23.4, 23.4, 10.0, 10.0, -0.8])
    # 24 - 2 arccos(sin(-50')) / 15 = 12 - 2 x 0.8333 / 15 h at the equator in March.
    expected = [11.8889, 11.8789, 0.0, 0.0, 24.0, 0.0]
    assert night_h(lat_deg, declination_deg) == pytest.approx(expected, abs=1e-3)


def test_day_of_the_year_starts_again_at_new_year():
    found = day_of_year(utc_s("2027-12-31T12:00", "2028-01-01", "2028-12-31T18:00"))
    assert found.tolist() == [365.5, 1.0, 366.75]
