"""What the climatology does not know of a month: how large, how long remembered, how drawn."""

import numpy as np
import pytest
from scipy.stats import lognorm

from powersim.sky.month_error import (
    MEMORY_MONTHS,
    TABLE_SD_KT,
    YEAR_SKEW,
    month_deviate,
    month_spread,
    own_mean_kt,
    table_sd_kt,
    year_sd_kt,
)

NEW_YEAR = int(np.datetime64("2027-01-01", "D").astype(int))


def deviates(first, days, *, members=3000, seed=3):
    return month_deviate(np.arange(first, first + days), seed=seed, members=members)


def test_every_day_has_the_same_odds():
    z = deviates(NEW_YEAR, 400)
    # 3,000 members: a mean is good to 0.018, a standard deviation to 0.013; four times that.
    assert np.abs(z.mean(axis=1)).max() < 0.075
    assert np.abs(z.std(axis=1) - 1.0).max() < 0.055


@pytest.mark.parametrize("months", [1, 3, 6, 9, 10, 14])
def test_a_month_is_forgotten_in_even_steps(months):
    """Hand arithmetic: of ten draws each, months so far apart share ten less that many."""
    middles = np.arange("2027-01", "2030-01", dtype="datetime64[M]").astype("datetime64[D]")
    z = month_deviate(middles.astype(int) + 15, seed=3, members=3000)
    alike = (z[months:] * z[:-months]).mean()
    assert alike == pytest.approx(max(0.0, 1.0 - months / MEMORY_MONTHS), abs=0.04)


def test_days_in_a_row_differ_by_little():
    z = deviates(NEW_YEAR + 20, 60, members=50)
    # From one middle to the next a month's deviate moves by 0.45 (root of a fifth) in 30 days.
    assert np.abs(np.diff(z, axis=0)).max() < 5.0 * 0.45 / 28.0


@pytest.mark.parametrize("later", [1, 25, 200])
def test_a_passage_that_leaves_later_meets_the_same_months(later):
    early, late = deviates(NEW_YEAR, 260, members=7), deviates(NEW_YEAR + later, 260, members=7)
    assert early[later:].tobytes() == late[: 260 - later].tobytes()


@pytest.mark.parametrize("members", [1, 2, 7])
def test_a_member_is_the_same_to_the_bit_for_any_number_of_members(members):
    many, few = deviates(0, 50, members=30), deviates(0, 50, members=members)
    assert few.tobytes() == many[:, :members].copy().tobytes()


def spread(mean_kt, apart_kt, lat_deg, air_C=20.0):
    """Of one day."""
    sd, skew = month_spread(
        np.array([mean_kt]),
        apart_kt=np.array([apart_kt]),
        lat_deg=np.array([lat_deg]),
        air_C=np.array([air_C]),
    )
    return float(sd[0]), float(skew[0])


def test_years_differ_most_in_the_tropics():
    lat_deg = np.array([-60.0, -30.0, -10.0, 0.0, 10.0, 30.0, 60.0])
    for air_C in (15.0, 27.0, 30.0):
        sd = year_sd_kt(lat_deg, air_C)
        assert (sd == sd[::-1]).all()
        assert (np.diff(sd[3:]) <= 0.0).all()
        assert sd[3] > sd[5] > sd[6] > 0.0
    warm = year_sd_kt(10.0, np.array([20.0, 26.0, 27.0, 28.0, 31.0]))
    assert (np.diff(warm) > 0.0).tolist() == [False, True, True, False]


def test_the_tables_error_grows_with_how_far_they_are_apart():
    """0.12 / sqrt(12): the deviation of an even distribution."""
    found = table_sd_kt(np.array([0.0, 0.06, 0.12]))
    assert found == pytest.approx([TABLE_SD_KT, TABLE_SD_KT, 0.12 / 12**0.5])


def test_variances_of_year_and_table_add_up():
    """Hand arithmetic at the equator: 0.04^2 + 0.02^2 = 0.0020, of which the year has 0.8."""
    sd, skew = spread(0.66, 0.0, 0.0)
    assert sd**2 == pytest.approx(0.0020)
    assert skew == pytest.approx(0.8 * YEAR_SKEW)


def test_no_month_is_all_dark():
    """A quarter of 0.04."""
    assert spread(0.04, 0.02, 65.0)[0] == pytest.approx(0.01)


def own_months(mean, sd, *, skew, members=200_000):
    """Members' means of one day between 0.06 and 0.75."""
    one = {"sd_kt": sd, "skew": skew, "low_kt": 0.06, "top_kt": 0.75}
    return own_mean_kt(
        np.array([mean]),
        **{name: np.array([value]) for name, value in one.items()},
        deviate=deviates(NEW_YEAR, 1, members=members),
    )


@pytest.mark.parametrize("skew", [0.0, 0.7])
@pytest.mark.parametrize(("mean", "sd"), [(0.3, 0.04), (0.66, 0.02), (0.66, 0.05), (0.72, 0.02)])
def test_members_months_have_the_mean_asked_for_and_no_month_is_impossible(mean, sd, skew):
    own = own_months(mean, sd, skew=skew)
    assert own.mean() == pytest.approx(mean, abs=4.0 * sd / 200_000**0.5)
    assert own.min() >= 0.06 - 1e-12
    assert own.max() < 0.7505
    # The brightest day is a bound to months that are nearly as bright; their spread is less.
    assert own.std() == pytest.approx(sd, rel=0.03 if mean + 2.0 * sd < 0.75 else 0.25)


def test_grey_years_are_rarer_than_bright_ones_and_further_off():
    """A lognormal distribution turned round, by scipy: its median and its greyest hundredth."""
    own = own_months(0.62, 0.03, skew=0.7)
    greyness = lognorm(s=0.7)
    expected = 0.62 - 0.03 * (greyness.ppf([0.5, 0.99]) - greyness.mean()) / greyness.std()
    found = np.quantile(own, [0.5, 0.01])
    assert found == pytest.approx(expected, abs=0.001)
    assert 0.62 - found[1] > 3.0 * 0.03


def test_a_polar_night_has_months_of_no_light():
    none = np.zeros(2)
    bounds = {"low_kt": none, "top_kt": none}
    z = deviates(0, 2, members=5)
    own = own_mean_kt(none, sd_kt=none, skew=none, **bounds, deviate=z)
    assert np.abs(own).max() < 1e-8
