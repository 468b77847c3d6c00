"""Clearness by mean and deviate."""

import numpy as np
import pytest
from scipy.stats import beta

from powersim.sky.clearness_tables import looked_up, means, mixed, spell_of, table

RNG = np.random.default_rng(11)
DRAWS = 400_000
SKEW = 0.8


def of_mean(mean, *, spread=0.25, share=0.5):
    """Many days of one mean."""
    kt = table(np.full(means().size, spread), np.full(means().size, share), SKEW)
    spell = spell_of(RNG.standard_normal(DRAWS), SKEW)
    return looked_up(kt, np.array([mean]), mixed(spell, RNG.standard_normal(DRAWS), share))


def test_spells_have_no_mean_unit_deviation_and_bright_ones_are_further_out():
    spell = spell_of(RNG.standard_normal(DRAWS), SKEW)
    assert (spell.mean(), spell.std()) == pytest.approx((0.0, 1.0), abs=0.02)
    assert spell_of(np.array([2.0]), SKEW) > -2.0 * spell_of(np.array([-2.0]), SKEW)


@pytest.mark.parametrize("share", [0.0, 0.4, 0.8])
@pytest.mark.parametrize("mean", [0.05, 0.31, 0.5, 0.777, 0.95])
def test_days_have_the_mean_asked_for_also_between_the_rows(mean, share):
    # 400,000 draws of a deviation of at most a quarter: good to 0.0004; three times that.
    assert of_mean(mean, share=share).mean() == pytest.approx(mean, abs=0.0012)


@pytest.mark.parametrize("share", [0.0, 0.6])
def test_days_are_spread_as_a_beta_distribution_whatever_the_spells(share):
    """scipy.stats.beta: a variance of a quarter of the largest is a sum of exponents of 3."""
    days = of_mean(0.5, share=share)
    assert days.var() == pytest.approx(0.25 * 0.25, rel=0.02)
    at = [0.05, 0.5, 0.95]
    assert np.quantile(days, at) == pytest.approx(beta.ppf(at, 1.5, 1.5), abs=0.01)


def test_a_table_rises_with_mean_and_deviate_from_darkest_to_brightest():
    kt = table(np.full(means().size, 0.2), np.full(means().size, 0.3), SKEW)
    assert (np.diff(kt, axis=0) >= -2e-4).all()
    assert (np.diff(kt, axis=1) >= 0.0).all()
    assert kt.min() == 0.0
    assert kt.max() < 1.001


def test_means_and_deviates_beyond_the_table_are_held_at_its_edge():
    kt = table(np.full(means().size, 0.2), np.zeros(means().size), SKEW)
    at = looked_up(kt, np.array([-0.1, 1.1, 0.5, 0.5]), np.array([0.0, 0.0, -99.0, 99.0]))
    assert at[:2].tolist() == [0.0, 1.0]
    row = kt[24]
    assert at[2:] == pytest.approx([row[0], row[-1]])
