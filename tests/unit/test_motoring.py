"""Motoring spells: as many hours as were asked for, and none twice."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from powersim.voyage.motoring import SPELL_H, at_ends, calm_spells


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
