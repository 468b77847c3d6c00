"""Paired differences, against scipy, published examples and hand arithmetic."""

import numpy as np
import pytest
from scipy.stats import multinomial, ttest_rel

from powersim.simulation.differences import paired_mean, paired_share

#: Hours of sleep gained with each of two drugs by ten patients: Student, The probable error of a
#: mean, Biometrika 6 (1908) 20, as R's data set `sleep` has them (from memory).
SLEEP_1 = np.array([0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0])
SLEEP_2 = np.array([1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4])


def happening(both, goes, comes, neither):
    """Pairs of bools, so many of each kind."""
    before = np.repeat([True, True, False, False], [both, goes, comes, neither])
    after = np.repeat([True, False, True, False], [both, goes, comes, neither])
    return before, after


def test_mean_of_pairs_of_students_sleepers():
    """Mean 1.58 h, 95 % from 0.70 to 2.46: R's help page of t.test (from memory)."""
    found = paired_mean(SLEEP_1, SLEEP_2)
    assert (found.mean, found.least, found.most) == pytest.approx((1.58, 0.70, 2.46), abs=0.005)
    assert (found.members, found.differing, found.shows, found.same) == (10, 9, True, False)


@pytest.mark.parametrize("members", [2, 20, 200, 1000])
@pytest.mark.parametrize("among", [1, 39])
def test_interval_of_a_mean_is_scipys(members, among):
    random = np.random.default_rng(members)
    before, after = random.exponential(size=(2, members))
    interval = ttest_rel(after, before).confidence_interval(1.0 - 0.05 / among)
    found = paired_mean(before, after, among=among)
    assert (found.least, found.most) == pytest.approx((interval.low, interval.high), rel=1e-10)


def test_shares_of_fagerland_lydersen_and_laake():
    """Airways of 21 children before and after a transplant: 1, 1, 7 and 12 pairs. Stat. Med. 33
    (2014) 2850, table VIII, Wald with Bonett-Price adjustment: -0.508 to -0.013 (from memory).

    By hand: one pair more of each kind that changes makes 2 and 8 of 23; their difference is
    -6/23 = -0.26087, its variance (10/23 - 0.26087^2)/23 = 0.015945, and 1.96 times the root of
    that 0.24749. From -0.50836 to -0.01338; the difference seen is -6/21.
    """
    after, before = happening(1, 1, 7, 12)
    found = paired_share(before, after)
    assert found.mean == pytest.approx(-6 / 21)
    assert (found.least, found.most) == pytest.approx((-0.50836, -0.01338), abs=2e-5)
    # Six that change one way and none the other are the fewest that can show anything.
    assert found.differing == 8
    assert found.shows


@pytest.mark.parametrize(("comes", "shows"), [(5, False), (6, True)])
def test_fewest_of_two_hundred_that_show(comes, shows):
    """The exact test of McNemar says the same: 2 * 0.5^5 = 6 % and 2 * 0.5^6 = 3 %."""
    assert paired_share(*happening(3, 0, comes, 197 - comes)).shows is shows


def test_four_pairs_alike_do_not_make_a_difference_of_means():
    """Student's interval of 4 passages that lose 30 L, and 196 that lose nothing, leaves out 0:
    mean 0.6, deviation 4.212, error 0.2978, times 1.972 is 0.587. By a sign test, 4 of 4 come
    about by chance in 2 * 0.5^4 = 12 of 100."""
    before = np.full(200, 80.0)
    after = before - np.where(np.arange(200) < 4, 30.0, 0.0)
    found = paired_mean(before, after)
    assert found.most == pytest.approx(-0.6 + 0.587, abs=0.001)
    assert found.most < 0.0
    assert not found.shows


def test_every_pair_alike_is_the_same():
    levels = np.linspace(0.4, 0.9, 50)
    for found in (paired_mean(levels, levels), paired_share(levels > 0.5, levels > 0.5)):
        assert found.same
        assert not found.shows
        assert found.mean == 0.0


def test_medians_can_point_the_other_way():
    """Litres in two heaps, as calms split them. Of 11 passages 10 burn 1 L more, and one with calms
    none of its 40: pairs (10 - 30)/11 = 1.8 L less, medians 1 L more."""
    before = np.array([10.0] * 6 + [40.0] * 5)
    after = before + np.array([1.0] * 10 + [-30.0])
    assert paired_mean(before, after).mean == pytest.approx(-20.0 / 11.0)
    assert np.median(after) - np.median(before) == 1.0


def test_pairs_show_what_two_heaps_hide():
    """Half a litre in each of 200 passages that lie 30 L apart: by pairs it is certain, while the
    error of each mean alone is 15/sqrt(200) = 1.06 L."""
    random = np.random.default_rng(1)
    before = np.where(random.random(200) < 0.5, 10.0, 40.0)
    found = paired_mean(before, before + random.normal(0.5, 0.2, 200))
    assert found.shows
    assert found.most - found.least < 0.06


def test_many_comparisons_need_more():
    """Nine that change, of 200. One of 39: 2.5 % / 39 = 0.0641 % beyond, 3.2206 deviations (tables
    of the normal distribution); times 0.016117 is 0.0519, more than the 9/202 = 0.0446."""
    pairs = happening(3, 0, 9, 188)
    alone, one_of_many = paired_share(*pairs), paired_share(*pairs, among=39)
    assert alone.shows
    assert not one_of_many.shows
    assert one_of_many.least == pytest.approx(0.04455 - 0.0519, abs=1e-4)


def test_nothing_outside_of_all_shares():
    found = paired_share(*happening(0, 0, 3, 0))
    assert (found.mean, found.most) == (1.0, 1.0)


@pytest.mark.parametrize("chances", [(0.0, 0.01), (0.0, 0.02), (0.01, 0.01), (0.01, 0.05)])
def test_interval_of_shares_holds_as_often_as_it_says(chances):
    """Every outcome of 200 pairs with its chance (scipy's multinomial): 93 of 100 or more."""
    covered = 0.0
    for goes in range(40):
        for comes in range(40):
            kinds = (goes, comes, 200 - goes - comes)
            weight = multinomial.pmf(kinds, 200, (*chances, 1.0 - sum(chances)))
            if weight > 1e-7:
                found = paired_share(*happening(0, goes, comes, kinds[-1]))
                difference = chances[1] - chances[0]
                covered += weight * (found.least <= difference + 1e-12 <= found.most + 1e-11)
    assert 0.93 < covered <= 1.0


def test_what_cannot_be_compared_is_refused():
    one, two = np.ones(1), np.ones(2)
    with pytest.raises(ValueError, match="2 members before and 1 after"):
        paired_mean(two, one)
    with pytest.raises(ValueError, match="a single pair has no interval"):
        paired_share(one > 0, one > 0)
    with pytest.raises(ValueError, match="has no end"):
        paired_mean(two, np.array([1.0, np.inf]))
