"""Quantiles and chances over members, against numpy and scipy and published values."""

import numpy as np
import pytest
from scipy.stats import binomtest

from powersim.simulation import bands
from powersim.simulation.bands import band, chance_of, quantiles

SHARES = (0.0, 0.05, 0.1, 0.5, 0.9, 1.0)


@pytest.mark.parametrize("members", [2, 3, 10, 11, 200, 1001])
def test_quantiles_are_numpys(members):
    values = np.random.default_rng(members).normal(size=(7, 3, members))
    expected = np.quantile(values, SHARES, axis=-1)
    assert quantiles(values, SHARES) == pytest.approx(expected, rel=1e-13, abs=1e-13)


def test_quantiles_of_many_rows_are_those_of_each(monkeypatch):
    """Cut into stretches of three rows, of ten, the last of them short."""
    values = np.random.default_rng(3).normal(size=(10, 41))
    whole = quantiles(values)
    monkeypatch.setattr(bands, "_AT_ONCE", 3 * 41)
    assert (quantiles(values) == whole).all()


def test_quantiles_leave_the_values_as_they_are():
    values = np.array([3.0, 1.0, 2.0])
    quantiles(values)
    assert values.tolist() == [3.0, 1.0, 2.0]


def test_one_member_is_every_quantile():
    assert quantiles(np.array([[4.0], [5.0]])).tolist() == [[4.0, 5.0]] * 3


def test_what_never_comes_in_some_members():
    """Of eleven, the second least and the middle one are members, not something between two."""
    days = np.array([1.0, 2.0, 3.0, 4.0, 5.0, *[np.inf] * 6])
    assert quantiles(days).tolist() == [2.0, np.inf, np.inf]
    # Between the fifth, 5 days, and the sixth, never: no number of days would be true.
    assert quantiles(days[:10], (0.5, 4.0 / 9.0)).tolist() == [np.inf, 5.0]
    assert band(days) == {"p10": 2.0, "p50": None, "p90": None}


@pytest.mark.parametrize(
    ("count", "tried", "least", "most"),
    [
        # R. G. Newcombe, Two-sided confidence intervals for the single proportion, Statistics in
        # Medicine 17 (1998) 857-872, table I, score method without continuity correction; values
        # from memory, and all four recompute with scipy below.
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_chances_are_as_sure_as_newcombe_has_them(count, tried, least, most):
    found = chance_of(np.arange(tried) < count)
    assert found == pytest.approx((count / tried, least, most), abs=0.5e-4)


@pytest.mark.parametrize("count", [0, 1, 10, 100, 199, 200])
def test_chances_are_as_sure_as_scipy_has_them(count):
    interval = binomtest(count, 200).proportion_ci(0.95, method="wilson")
    found = chance_of(np.arange(200) < count)
    assert found == pytest.approx((count / 200, interval.low, interval.high), abs=1e-12)
    assert found.least_frac <= found.frac <= found.most_frac
