"""Differences in words: what is no difference never reads as one."""

import numpy as np
import pytest

from powersim.planning.measures import measure_of
from powersim.report.differences_told import (
    days_difference_told,
    difference_told,
    measure_told,
)
from powersim.simulation.differences import Difference


def told(measure, mean, least, most, *, members=200, differing=150):
    difference = Difference(mean=mean, least=least, most=most, members=members, differing=differing)
    return difference_told(measure_of(measure), difference)


@pytest.mark.parametrize(
    ("measure", "figures", "words"),
    [
        ("left", (0.8, 0.2, 1.4), "0.8 L more (0.2 to 1.4)"),
        ("left", (-0.8, -1.4, -0.2), "0.8 L less (0.2 to 1.4)"),
        ("fails", (0.015, 0.002, 0.028), "1.5 points more (0.2 to 2.8)"),
        ("lowest", (-0.041, -0.044, -0.039), "4.1 points lower (3.9 to 4.4)"),
        ("runs", (-0.62, -0.81, -0.4), "0.6 fewer (0.4 to 0.8)"),
        ("engine", (12.0, 12.0, 12.0), "12.0 h more"),
        ("burnt", (0.8, -0.2, 1.8), "no difference that 200 passages can show"),
        # A bound that reads 0.0 would say that there may be none.
        ("burnt", (0.8, 0.01, 1.6), "0.8 L more (<0.1 to 1.6)"),
        # What reads 0.0 is no difference to anybody aboard, however sure it is.
        ("burnt", (0.03, 0.02, 0.04), "the same to within 0.1 L"),
        ("runs", (-0.03, -0.04, -0.02), "the same to within 0.1"),
    ],
)
def test_in_words(measure, figures, words):
    assert told(measure, *figures) == words


def test_every_pair_alike():
    assert told("left", 0.0, 0.0, 0.0, members=40, differing=0) == "the same in all 40"


def test_few_pairs_are_no_difference():
    assert told("left", 0.6, 0.1, 1.1, differing=5) == "no difference that 200 passages can show"


def test_days_in_words():
    lasts = Difference(mean=-0.4, least=-0.5, most=-0.3, members=200, differing=200)
    assert days_difference_told(lasts) == "0.4 days shorter (0.3 to 0.5)"


def test_what_a_choice_comes_to():
    """The mean, since differences are of means, and the end that a sailor must allow for."""
    litres = np.array([20.0] * 9 + [120.0])
    # The tenth greatest of ten lies a tenth of the way from the ninth to the last: 20 + 10 L.
    assert measure_told(measure_of("burnt"), litres) == "30.0 L"
    litres[-2] = 60.0
    assert measure_told(measure_of("burnt"), litres) == "34.0 L (1 in 10 above 66.0 L)"
    assert measure_told(measure_of("lowest"), np.array([0.5] * 8 + [0.3, 0.2])) == (
        "45 % (1 in 10 below 29 %)"
    )
    assert measure_told(measure_of("dark"), np.arange(200) < 1) == "0.5 % (1 of 200)"
