"""The distribution of days and their order."""

import numpy as np
import pytest
from scipy.special import ndtri

from powersim.sky.daily_clearness import LAG_ONE, daily_kt, quantiles
from powersim.sky.month_error import month_deviate

MEANS = np.array([0.05, 0.2, 0.3, 0.45, 0.6, 0.68, 0.74])


def distribution(mean_kt, *, clear_kt, year_share=0.0, table_sd_kt=0.0):
    """Where months do not differ, unless it is said how."""
    mean_kt = np.asarray(mean_kt, dtype=float)
    like = np.ones(mean_kt.size)
    return quantiles(
        mean_kt,
        clear_kt=clear_kt * like,
        year_share=year_share * like,
        table_sd_kt=table_sd_kt * like,
    )


def test_the_mean_of_the_distribution_is_the_mean_asked_for():
    share, kt, _ = distribution(MEANS, clear_kt=0.71)
    assert np.trapezoid(kt, share, axis=1) == pytest.approx(MEANS, abs=1e-12)


def test_days_lie_between_dark_and_a_little_above_the_clear_sky():
    share, kt, _ = distribution(MEANS, clear_kt=0.71)
    assert (np.diff(share) > 0.0).all()
    assert (np.diff(kt, axis=1) >= 0.0).all()
    assert (kt > 0.0).all()
    assert (kt < 0.80).all()


def test_bright_months_are_skewed_to_the_left_and_half_clouded_ones_are_not():
    share, kt, _ = distribution([0.38, 0.66], clear_kt=0.7)
    low, middle, high = (
        np.array([np.interp(q, share, row) for row in kt]) for q in (0.05, 0.5, 0.95)
    )
    lean = ((middle - low) / (high - middle)).tolist()
    assert 0.8 < lean[0] < 1.2
    assert lean[1] > 2.0


def test_a_polar_night_has_no_light_and_no_trouble():
    _, kt, month_share = distribution([0.0], clear_kt=0.0, year_share=0.3)
    assert kt == pytest.approx(np.zeros_like(kt), abs=1e-8)
    assert np.isfinite(month_share).all()


def variance(share, kt):
    """Of each day, over straight lines between the nodes. [-]"""
    mean = np.trapezoid(kt, share, axis=1)
    return np.trapezoid((kt - mean[:, None]) ** 2, share, axis=1)


def test_what_months_differ_by_is_added_to_the_days_and_leaves_the_mean():
    """Variances of independent parts add up."""
    means = [0.35, 0.45, 0.66]
    share, within, none = distribution(means, clear_kt=0.71)
    assert none == pytest.approx(0.0)
    _, kt, month_share = distribution(means, clear_kt=0.71, year_share=0.2, table_sd_kt=0.03)
    expected = variance(share, within) / 0.8 + 0.03**2
    assert variance(share, kt) == pytest.approx(expected, rel=0.01)
    assert 1.0 - month_share == pytest.approx(variance(share, within) / expected, rel=0.01)
    assert np.trapezoid(kt, share, axis=1) == pytest.approx(means, abs=1e-12)


def days_of(day, mean_kt, *, part, seed, members):
    """Clearness of days, of which a part of the variance is that of a month."""
    return np.array(
        list(
            daily_kt(
                day,
                mean_kt=np.full(day.size, mean_kt),
                clear_kt=np.full(day.size, 0.7),
                year_share=np.full(day.size, part),
                table_sd_kt=np.zeros(day.size),
                month_deviate=month_deviate(day, seed=seed, members=members),
                seed=seed,
                members=members,
            )
        )
    )


def deviates_of(mean_kt, *, part, days=40, members=4000):
    """Uniform places in the distribution, mapped back to normal deviates."""
    share, kt, _ = distribution([mean_kt], clear_kt=0.7, year_share=part)
    drawn = days_of(np.arange(days), mean_kt, part=part, seed=5, members=members)
    return np.array([ndtri(np.interp(one, kt[0], share)) for one in drawn])


@pytest.mark.parametrize(("mean_kt", "part"), [(0.35, 0.0), (0.65, 0.3)])
def test_every_day_has_the_same_odds_and_remembers_as_it_should(mean_kt, part):
    z = deviates_of(mean_kt, part=part)
    # 4,000 members: a mean is good to 0.016, a standard deviation to 0.011; four times that.
    assert np.abs(z.mean(axis=1)).max() < 0.07
    assert np.abs(z.std(axis=1) - 1.0).max() < 0.05
    expected = part + (1.0 - part) * np.array([LAG_ONE, LAG_ONE**2, 0.0])
    found = [(z[k:] * z[:-k]).mean() for k in (1, 2, 10)]
    assert found == pytest.approx(expected, abs=0.02)


def test_the_same_day_draws_the_same_whatever_the_departure():
    """Beyond the first days, whose memory differs, by less than LAG_ONE to the power of days."""
    run = {"part": 0.3, "seed": 1, "members": 50}
    early = days_of(np.arange(100, 112), 0.6, **run)
    late = days_of(np.arange(101, 113), 0.6, **run)
    assert np.abs(early[6:] - late[5:-1]).max() < 1e-4
