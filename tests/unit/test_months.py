"""Between the middles of months, over new year and the leap day."""

import numpy as np
import pytest

from powersim.sky.months import between_months


def utc_s(*stamps):
    return np.array(stamps, dtype="datetime64[s]").astype(float)


def test_months_turn_over_the_year_and_the_leap_day():
    before, after, weight = between_months(
        utc_s("2027-12-31T23:59", "2028-01-01", "2028-01-16", "2028-02-29", "2028-12-31")
    )
    assert before.tolist() == [11, 11, 0, 1, 11]
    assert after.tolist() == [0, 0, 1, 2, 0]
    # Days past the middle over days between middles: 15.5/31, 16.5/31, 0.5/30, 14.5/30, 15.5/31.
    assert weight == pytest.approx([0.5, 16.5 / 31, 0.5 / 30, 14.5 / 30, 0.5])


def test_weights_run_evenly_through_a_year():
    day = utc_s("2028-01-01") + 86400.0 * np.arange(366)
    before, _, weight = between_months(day)
    assert np.all((weight >= 0.0) & (weight < 1.0))
    place = np.unwrap(before + weight, period=12.0)
    steps = np.diff(place)
    assert steps.min() > 1.0 / 31.1
    assert steps.max() < 1.0 / 28.9
