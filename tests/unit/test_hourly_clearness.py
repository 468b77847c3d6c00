"""A day's light on its hours."""

import numpy as np
import pytest

from powersim.sky.hourly_clearness import (
    SEA_SPREAD_KT,
    adding_up,
    hourly_kt,
    lag_one,
    mean_kt,
    spread_kt,
)

RNG = np.random.default_rng(3)


def test_hours_scatter_about_their_mean_as_the_formula_says():
    sine = np.array([0.3, 0.6, 0.9])
    day_kt = np.full(20000, 0.5)
    kt = hourly_kt(day_kt, sine=sine, deviates=RNG.standard_normal((3, 20000)))
    assert kt.mean(axis=1) == pytest.approx(mean_kt(0.5, sine), abs=0.005)
    expected = np.hypot(spread_kt(0.5, sine), SEA_SPREAD_KT)
    assert kt.std(axis=1) == pytest.approx(expected, rel=0.03)
    assert np.corrcoef(kt[0], kt[1])[0, 1] == pytest.approx(lag_one(0.5), abs=0.03)


@pytest.mark.parametrize(("sine", "by_hand"), [(1.0, 0.5797), (0.5, 0.5061), (0.2, 0.4092)])
def test_the_mean_of_an_hour_by_hand(sine, by_hand):
    """A day of clearness 0.5: floor -0.19 + 0.56 + 0.24 exp(-4) = 0.374396, rise 0.32, path
    0.19 + 0.5675 - 0.31375 = 0.44375. So 0.374396 + 0.32 exp(-0.44375 / sine): with 0.641626,
    0.411684 and 0.108744 for the exponentials. The lower the sun, the darker the hour.
    """
    assert float(mean_kt(0.5, sine)) == pytest.approx(by_hand, abs=5e-5)


def test_a_polar_dusk_brighter_than_the_sun_above_the_atmosphere_has_hours_all_the_same():
    """The sun a hair above the horizon, and five times as much light as there is beyond the air."""
    deviates = RNG.standard_normal((1, 3))
    kt = hourly_kt(np.full(3, 5.0), sine=np.array([0.001]), deviates=deviates)
    assert np.isfinite(kt).all()
    assert (kt == hourly_kt(np.ones(3), sine=np.array([0.001]), deviates=deviates)).all()


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
