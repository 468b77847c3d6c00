"""What the climatology does not know of a month: how large, how long remembered, how drawn."""

import numpy as np
import pytest

from powersim.sky.month_error import (
    MEMORY_MONTHS,
    TABLE_SD_KT,
    month_deviate,
    table_sd_kt,
    widened,
    year_share,
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


def test_the_years_share_is_the_tropics():
    lat_deg = np.array([-60.0, -30.0, -10.0, 0.0, 10.0, 30.0, 60.0])
    share = year_share(lat_deg)
    assert (share == share[::-1]).all()
    assert (np.diff(share[3:]) <= 0.0).all()
    assert share[3] > 10.0 * share[0] > 0.0


def test_the_tables_error_grows_with_how_far_they_are_apart_and_never_darkens_all():
    mean = np.array([0.65, 0.40, 0.30, 0.04, 0.0])
    found = table_sd_kt(mean, apart_kt=np.array([0.0, 0.06, 0.12, 0.0, 0.0]))
    # 0.12 / sqrt(12), the deviation of an even distribution; a quarter of 0.04.
    assert found == pytest.approx([TABLE_SD_KT, TABLE_SD_KT, 0.12 / 12**0.5, 0.01, 0.0])


def test_variances_of_days_year_and_table_add_up():
    """Hand arithmetic: days 0.16^2 are 0.8 of days and year; the table adds 0.03^2."""
    variance, share = widened(
        np.array([0.0256]), year_share=np.array([0.2]), table_sd_kt=np.array([0.03])
    )
    assert variance == pytest.approx(0.032 + 0.0009)
    assert share == pytest.approx(0.0073 / 0.0329)
