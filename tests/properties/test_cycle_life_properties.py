"""What holds for every history of charge and every curve."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from powersim.physics.cycle_life import counted_cycles, cycles_at_depth, wear_of
from powersim.records import cycle_life_fault

histories = st.lists(st.floats(0.0, 1.0), min_size=1, max_size=60)
shares = st.floats(0.3, 1.2)


@st.composite
def curves(draw):
    """One to five points, each deeper and with fewer cycles than the one before it."""
    count = draw(st.integers(1, 5))
    steps = st.floats(0.05, 1.0)
    depth = np.cumsum(draw(st.lists(steps, min_size=count, max_size=count)))
    fall = np.cumsum(draw(st.lists(st.floats(0.01, 2.0), min_size=count, max_size=count)))
    points = list(zip(depth / max(1.0, depth[-1]), 1e5 * np.exp(-fall), strict=True))
    assert cycle_life_fault(points) is None
    return points


@given(histories, shares, curves(), st.floats(0.0, 1.0))
def test_a_history_that_goes_less_deep_never_uses_more(soc, health_frac, curve, by):
    deep = wear_of(soc, health_frac=health_frac, cycle_life=curve)
    shallow = wear_of(np.array(soc) * by, health_frac=health_frac, cycle_life=curve)
    # Charge is looked at to twelve decimals.
    assert shallow.cycle_life_used_frac <= deep.cycle_life_used_frac * (1 + 1e-9) + 1e-9
    assert shallow.deepest_cycle_frac <= deep.deepest_cycle_frac + 1e-12


@given(curves(), st.floats(1e-6, 1.3), st.floats(1e-6, 1.3))
def test_a_deeper_cycle_uses_more(curve, one, other):
    shallow, deep = sorted((one, other))
    many, few = cycles_at_depth(np.array([shallow, deep]), cycle_life=curve)
    assert few <= many * (1 + 1e-12)


@given(st.floats(0.0, 1.0), st.integers(1, 50), shares, curves())
def test_a_bank_at_rest_uses_nothing(level, count, health_frac, curve):
    assert wear_of([level] * count, health_frac=health_frac, cycle_life=curve) == (0.0, 0.0)


@given(histories)
def test_every_rise_and_fall_is_counted_once(soc):
    """Counts times depths are half of all ups and downs; the deepest is from lowest to highest."""
    depths, counts = counted_cycles(soc)
    moved = sum(abs(after - before) for before, after in pairwise(soc))
    assert 2.0 * (depths * counts).sum() == pytest.approx(moved, abs=1e-9)
    assert depths.max(initial=0.0) == pytest.approx(max(soc) - min(soc), abs=1e-12)


@given(histories, shares)
def test_with_one_point_only_the_charge_counts(soc, health_frac):
    """Summed straight from the history, without counting: 400 times 0.8 of the label is a life."""
    moved = sum(abs(after - before) for before, after in pairwise(soc)) * health_frac
    wear = wear_of(soc, health_frac=health_frac, cycle_life=[(0.8, 400.0)])
    assert wear.cycle_life_used_frac == pytest.approx(moved / 2.0 / 320.0, abs=1e-12)


@given(histories, st.integers(2, 5), shares, curves())
def test_a_round_from_full_to_full_uses_the_same_each_time(soc, times, health_frac, curve):
    """True of rounds that begin and end at their highest, and not of others: halves are left."""
    top = max(soc)
    once = wear_of([top, *soc, top], health_frac=health_frac, cycle_life=curve)
    often = wear_of([top, *soc * times, top], health_frac=health_frac, cycle_life=curve)
    rounds = wear_of([top, *([*soc, top] * times)], health_frac=health_frac, cycle_life=curve)
    expected = times * once.cycle_life_used_frac
    assert rounds.cycle_life_used_frac == pytest.approx(expected, rel=1e-9, abs=1e-12)
    assert often.deepest_cycle_frac == once.deepest_cycle_frac
