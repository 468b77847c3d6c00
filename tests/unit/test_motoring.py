"""Motoring spells: as many hours as were asked for, and none twice."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from powersim.voyage.motoring import SPELL_H, at_ends, calm_spells, motored_calms


def spell_lengths(motored):
    edges = np.flatnonzero(np.diff(np.pad(motored.astype(int), 1)))
    return edges[1::2] - edges[::2]


@given(
    shares=st.lists(st.floats(0.0, 1.0), min_size=1, max_size=400),
    step_h=st.sampled_from([1.0 / 12.0, 0.25, 1.0 / 3.0, 1.0]),
)
def test_spells_add_up_to_what_was_asked(shares, step_h):
    motored = calm_spells(np.array(shares), step_h=step_h)
    assert abs(np.count_nonzero(motored) - sum(shares)) <= 0.5 + 1e-6


@given(share=st.floats(0.02, 0.5), days=st.integers(3, 60))
def test_even_calms_give_even_spells(share, days):
    steps = days * 96
    motored = calm_spells(np.full(steps, share), step_h=0.25)
    assert 0.25 * spell_lengths(motored) == pytest.approx(SPELL_H, abs=1.6)


@pytest.mark.parametrize("share", [0.0, 1.0])
def test_none_or_all_of_a_leg(share):
    assert np.all(calm_spells(np.full(50, share), step_h=0.25) == share)


def test_no_steps_give_no_spells():
    assert calm_spells(np.array([]), step_h=0.25).size == 0


def test_hours_under_power_are_the_first_and_the_last_of_a_leg():
    """Ten hours, two out of port and three into the next: hours 0, 1 and 7, 8, 9."""
    powered = at_ends(np.arange(10) + 0.5, leg_h=10.0, start_h=2.0, end_h=3.0)
    assert np.flatnonzero(powered).tolist() == [0, 1, 7, 8, 9]


def test_of_a_quarter_of_the_calms_the_flatter_half_is_motored_for_half_of_the_day():
    """sqrt(0.25) = 0.5: of calms that take 20 % of the hours those below 10 %, on the first half
    of the turn; of all hours a quarter of a fifth.
    """
    quantile, turn = np.meshgrid((np.arange(200) + 0.5) / 200, (np.arange(100) + 0.5) / 100)
    motored = motored_calms(quantile, turn, calm_frac=0.2, share=0.25)
    assert (quantile[motored].max(), turn[motored].max()) == pytest.approx((0.0975, 0.495))
    assert motored.mean() == pytest.approx(0.2 * 0.25)


@given(calm=st.floats(0.0, 1.0), share=st.sampled_from([0.0, 0.04, 0.36, 1.0]))
def test_none_of_the_calms_or_all(calm, share):
    quantile, turn = np.meshgrid((np.arange(50) + 0.5) / 50, (np.arange(50) + 0.5) / 50)
    motored = motored_calms(quantile, turn, calm_frac=calm, share=share)
    assert not motored[quantile >= calm].any()
    if share in (0.0, 1.0):
        assert np.array_equal(motored, (quantile < calm) & (share == 1.0))
