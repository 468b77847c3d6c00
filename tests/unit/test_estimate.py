"""The estimator against closed forms and against scipy, and several logs side by side."""

import numpy as np
import pytest
from scipy.optimize import least_squares

from powersim.simulation.factors import Factors
from powersim.underway.estimate import estimated, whitening
from powersim.underway.words import told_in_words

SD = np.array([0.15, 0.15, 0.1, 0.2, 0.08])
SLOPES = np.random.default_rng(3).normal(size=(12, 5))


def straight(factors):
    return SLOPES @ np.log(np.array(factors))


def bent(factors):
    x = np.log(np.array(factors))
    return SLOPES @ x + 0.5 * np.sin(SLOPES[:, ::-1] @ x)


def noisy(says, seed, sd=0.1):
    rng = np.random.default_rng(seed)
    true = np.exp(SD[:, None] * rng.normal(size=(5, 1)))
    return says(Factors(*true)) + sd * rng.normal(size=(12, 1))


def test_a_straight_problem_has_the_answer_of_bayesian_regression():
    """Best and covariance of a linear model with normal errors and prior: the closed form."""
    covariance = 0.01 * np.eye(12) + 0.005
    values = noisy(straight, 1)
    found = estimated(straight, values, white=whitening(covariance)[None], prior_sd=SD)
    after = np.linalg.inv(SLOPES.T @ np.linalg.inv(covariance) @ SLOPES + np.diag(SD**-2.0))
    best = after @ SLOPES.T @ np.linalg.inv(covariance) @ values
    assert found.log_factor == pytest.approx(best, abs=1e-3)
    wider = np.minimum(1.1, SD / np.sqrt(np.diag(after)))
    assert found.covariance[0] == pytest.approx(after * np.outer(wider, wider), rel=1e-6)


@pytest.mark.parametrize("seed", range(5))
def test_a_bent_problem_has_the_answer_of_scipy(seed):
    """scipy.optimize.least_squares on the same residuals, priors among them."""
    values = noisy(bent, seed)
    found = estimated(bent, values, white=10.0 * np.eye(12)[None], prior_sd=SD)

    def residuals(x):
        said = bent(Factors(*np.exp(x[:, None])))[:, 0]
        return np.concatenate([10.0 * (values[:, 0] - said), x / SD])

    asked = least_squares(residuals, np.zeros(5), bounds=(-np.log(3.0), np.log(3.0)))
    # The Jacobian is taken over 5 %, which moves the answer by a small part of its own error.
    assert np.abs(found.log_factor[:, 0] - asked.x).max() < 0.25 * found.sd.min()
    cost = float((residuals(found.log_factor[:, 0]) ** 2).sum())
    assert cost == pytest.approx(2.0 * asked.cost, rel=0.02)


def test_logs_side_by_side_are_each_answered_as_alone():
    values = np.hstack([noisy(bent, seed) for seed in (1, 2, 3)])
    white = 10.0 * np.eye(12)[None]
    together = estimated(bent, values, white=white, prior_sd=SD)
    for log in range(3):
        alone = estimated(bent, values[:, log : log + 1], white=white, prior_sd=SD)
        assert together.log_factor[:, log] == pytest.approx(alone.log_factor[:, 0], abs=1e-3)


def test_without_readings_all_stays_as_the_files_have_it():
    found = estimated(
        lambda factors: np.empty((0, len(factors.demand))),
        np.empty((0, 1)),
        white=np.empty((1, 0, 0)),
        prior_sd=SD,
    )
    assert found.log_factor[:, 0].tolist() == [0.0] * 5
    assert found.sd[:, 0] == pytest.approx(SD)
    assert found.told_frac[:, 0] == pytest.approx([0.0] * 5)


def test_factors_stay_within_three_times_either_way():
    values = straight(Factors(*np.full((5, 1), 50.0)))
    found = estimated(straight, values, white=1e3 * np.eye(12)[None], prior_sd=SD)
    assert found.log_factor.max() <= np.log(3.0)


def test_words_change_at_their_thresholds():
    assert told_in_words(0.75) == "tells it"
    assert told_in_words(0.74) == "in part"
    assert told_in_words(0.29) == "tells little"
