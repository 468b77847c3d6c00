"""When floor and flat are reached, by hand."""

import math

import numpy as np
import pytest

from powersim.simulation.milestones import days_to_flat, days_to_floor, longest_gap_days


def floor_days(soc, *, start=0.8, step_h=6.0):
    socs = np.array(soc, dtype=float)[:, None]
    (days,) = days_to_floor(socs, soc_start=start, floor_soc=0.5, step_h=step_h)
    return float(days)


@pytest.mark.parametrize(
    ("soc", "days"),
    [
        ([0.7, 0.6, 0.4], 0.625),  # two steps of a quarter day and half of the third
        ([0.7, 0.5, 0.4], 0.5),  # on the floor is not below it
        ([0.4, 0.9, 0.3], 0.1875),  # the first time counts: 0.3 of a fall of 0.4
        ([0.7, 0.6, 0.5], math.inf),
        ([0.49, 0.49, 0.49], 0.25 * 0.3 / 0.31),
    ],
)
def test_days_to_the_floor(soc, days):
    assert floor_days(soc) == pytest.approx(days)


def test_a_bank_that_begins_below_its_floor_is_there_at_once():
    assert floor_days([0.45, 0.6, 0.7], start=0.49) == 0.0
    assert floor_days([0.55, 0.6, 0.7], start=0.49) == 0.0


def test_members_reach_the_floor_each_in_its_own_time():
    soc = np.array([[0.7, 0.4, 0.9], [0.3, 0.4, 0.8]])
    found = days_to_floor(soc, soc_start=np.array([0.8, 0.6, 0.9]), floor_soc=0.5, step_h=24.0)
    assert found == pytest.approx([1.5, 0.5, math.inf])


def test_days_to_flat():
    dark = np.array([[0, 1, 0], [1, 0, 0], [1, 1, 0]], dtype=float)
    assert days_to_flat(dark, step_h=6.0).tolist() == [0.25, 0.0, math.inf]


def test_the_longest_gap_counts_the_time_before_the_first_and_after_the_last():
    since_h = np.array([[24.0, 24.0], [0.0, 48.0], [24.0, 0.0], [48.0, 24.0]])
    assert longest_gap_days(since_h).tolist() == [2.0, 2.0]
