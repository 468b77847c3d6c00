"""Synthetic days against days measured at sea, and the published land models they come from."""

import numpy as np
import pytest
from published import column, read_published

MATRICES = read_published("aguiar_markov_matrices.csv")
STATIONARY = read_published("aguiar_stationary_means.csv")


def chain(number):
    """States of a matrix, as clearness of the middles of its bins, and its rows as published."""
    rows = [row for row in MATRICES if row["matrix"] == number]
    low, high = float(rows[0]["kt_min_of_bins"]), float(rows[0]["kt_max_of_bins"])
    middle = low + (high - low) * (np.arange(10) + 0.5) / 10.0
    return middle, np.array([column(rows, f"p_to_{state}") for state in range(1, 11)]).T


def land(number):
    """Mean, deviation and correlation of a day with the next, by a matrix."""
    middle, rows = chain(number)
    rows = rows / rows.sum(axis=1, keepdims=True)
    often = np.linalg.matrix_power(rows, 1000)[0]
    about = middle - often @ middle
    # Within a bin any clearness is as likely.
    spread = np.sqrt(often @ about**2 + (middle[1] - middle[0]) ** 2 / 12.0)
    return often @ middle, spread, often @ (about * (rows @ about)) / spread**2


@pytest.mark.parametrize("row", STATIONARY, ids=lambda row: row["matrix"])
def test_the_land_model_is_what_was_published(row):
    """Aguiar, Collares-Pereira and Conde 1988, worked out apart from this project."""
    _, rows = chain(row["matrix"])
    assert rows.shape == (10, 10)
    # Printed to three digits.
    assert rows.sum(axis=1) == pytest.approx(1.0, abs=0.005)
    mean, _, _ = land(row["matrix"])
    assert mean == pytest.approx(float(row["stationary_mean_kt"]), abs=1e-4)
    assert float(row["monthly_kt_above"]) < mean <= float(row["monthly_kt_up_to"])
