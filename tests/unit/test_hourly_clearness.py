"""A day's light on its hours."""

import numpy as np
import pytest

from powersim.sky.hourly_clearness import (
    BRIGHTEST_HOUR,
    DARKEST_HOUR,
    FRONTS_SPREAD,
    HOUR_LAG,
    TROPICS_SPREAD,
    adding_up,
    hourly_frac,
)

RNG = np.random.default_rng(3)


def hours(day_frac, *, fronts_share=0.0, count=6, members=40_000):
    """Hours of many members' days of one brightness, before they add up."""
    return hourly_frac(
        np.full(members, day_frac),
        fronts_share=fronts_share,
        deviates=RNG.standard_normal((count, members)),
    )


@pytest.mark.parametrize("day_frac", [0.1, 0.5, 0.8, 1.05])
def test_hours_have_the_mean_of_their_day_and_lie_within_bounds(day_frac):
    frac = hours(day_frac)
    # 40,000 members of six hours alike: good to 0.001.
    assert frac.mean(axis=1) == pytest.approx(day_frac, abs=0.006)
    assert frac.min() >= DARKEST_HOUR
    assert frac.max() <= BRIGHTEST_HOUR * 1.001


@pytest.mark.parametrize(
    ("fronts_share", "spread"),
    [(0.0, TROPICS_SPREAD), (1.0, FRONTS_SPREAD)],
)
@pytest.mark.parametrize("day_frac", [0.3, 0.7])
def test_hours_are_spread_by_so_much_of_the_largest_there_could_be(fronts_share, spread, day_frac):
    """Hand arithmetic: hours either darkest or brightest have a variance of m (1 - m) ranges."""
    frac = hours(day_frac, fronts_share=fronts_share)
    width = BRIGHTEST_HOUR - DARKEST_HOUR
    mean = (day_frac - DARKEST_HOUR) / width
    largest = mean * (1.0 - mean) * width**2
    assert frac.var() == pytest.approx(spread * largest, rel=0.04)


def test_between_the_tropics_and_the_fronts_hours_are_spread_by_something_between():
    fronts, between, tropics = (hours(0.5, fronts_share=share).std() for share in (1.0, 0.5, 0.0))
    assert fronts < between < tropics


def test_an_hour_remembers_the_hour_before_and_that_one_a_little():
    frac = hours(0.5)
    assert np.corrcoef(frac[0], frac[1])[0, 1] == pytest.approx(HOUR_LAG, abs=0.02)
    assert np.corrcoef(frac[0], frac[2])[0, 1] == pytest.approx(HOUR_LAG**2, abs=0.02)


def test_a_polar_dusk_brighter_than_any_clear_sky_has_hours_all_the_same():
    frac = hours(5.0, count=1, members=3)
    assert frac == pytest.approx(np.full((1, 3), BRIGHTEST_HOUR))


@pytest.mark.parametrize("share", [0.03, 0.3, 0.7, 1.0, 1.1])
def test_shares_add_up_and_stay_within_bounds(share):
    weights = np.array([10.0, 300.0, 800.0, 500.0, 1.0])
    total = np.full(500, share * weights.sum())
    frac = adding_up(
        RNG.normal(0.8, 0.5, (5, 500)), weights=weights, total=total, least=0.02, most=1.15
    )
    assert weights @ frac == pytest.approx(total, rel=1e-12)
    assert frac.min() >= 0.02 - 1e-12
    assert frac.max() <= 1.15 + 1e-12


def test_an_hour_may_have_a_bound_of_its_own():
    weights, most = np.array([10.0, 300.0, 10.0]), np.array([[2.0], [1.15], [2.0]])
    total = np.full(500, 1.16 * weights.sum())
    frac = adding_up(
        RNG.normal(0.8, 0.5, (3, 500)), weights=weights, total=total, least=0.02, most=most
    )
    assert weights @ frac == pytest.approx(total, rel=1e-12)
    assert (frac <= most + 1e-12).all()


def test_a_total_beyond_the_bounds_is_clipped_to_them():
    weights = np.ones(3)
    frac = adding_up(
        np.full((3, 2), 0.5), weights=weights, total=np.array([0.01, 9.0]), least=0.02, most=1.15
    )
    assert frac == pytest.approx(np.array([[0.02, 1.15]] * 3))
