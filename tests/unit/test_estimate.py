"""The estimator against closed forms and against scipy."""

import numpy as np
import pytest
from scipy.optimize import least_squares
from scipy.stats import invwishart

from powersim.logbook.estimate import Estimate, bayesian_regression, line_through, moment_matched
from powersim.logbook.words import told_in_words

SD = np.array([0.15, 0.15, 0.1, 0.2, 0.08])
SLOPES = np.random.default_rng(3).normal(size=(12, 5))
WIDER = 1.1


def draws(members=200, seed=0, unknowns=5):
    return moment_matched(np.random.default_rng(seed).normal(size=(unknowns, members)))


def straight(x):
    return SLOPES @ x


def bent(x):
    return SLOPES @ x + 0.5 * np.sin(SLOPES[:, ::-1] @ x)


def noisy(says, seed, sd=0.1):
    rng = np.random.default_rng(seed)
    return says(SD * rng.normal(size=5)) + sd * rng.normal(size=12)


def found_in_rounds(says, values, errors, rounds=8):
    """As the fit does it: straight over the prior first, then over what is still possible."""
    z, found = draws(), Estimate(log_factor=np.zeros(5), covariance=np.diag(SD**2), prior_sd=SD)
    for _ in range(rounds):
        x = found.log_factor[:, None] + np.linalg.cholesky(found.covariance) @ z
        line = line_through(x, says(x))
        found = bayesian_regression(line, values, errors=errors + line.spread(errors), prior_sd=SD)
    return found


def test_a_straight_problem_has_the_answer_of_bayesian_regression():
    """Best and covariance of a linear model with normal errors and prior: the closed form."""
    covariance = 0.01 * np.eye(12) + 0.005
    values = noisy(straight, 1)
    found = found_in_rounds(straight, values, covariance, rounds=1)
    after = np.linalg.inv(SLOPES.T @ np.linalg.inv(covariance) @ SLOPES + np.diag(SD**-2.0))
    best = after @ SLOPES.T @ np.linalg.inv(covariance) @ values
    assert found.log_factor == pytest.approx(best, abs=1e-9)
    wider = np.minimum(WIDER, SD / np.sqrt(np.diag(after)))
    assert found.covariance == pytest.approx(after * np.outer(wider, wider), rel=1e-6)


@pytest.mark.parametrize("seed", range(5))
def test_a_bent_problem_has_nearly_the_answer_of_scipy(seed):
    """scipy.optimize.least_squares on the same residuals, priors among them: the mode.

    The line averages over what is possible, so it need not hit the mode, only lie well within its
    own error of it.
    """
    values = noisy(bent, seed)
    found = found_in_rounds(bent, values, 0.01 * np.eye(12))

    def residuals(x):
        return np.concatenate([10.0 * (values - bent(x)), x / SD])

    asked = least_squares(residuals, np.zeros(5))
    assert (np.abs(found.log_factor - asked.x) < 0.5 * found.sd).all()


def test_rounds_settle():
    values = noisy(bent, 2)
    some, more = (found_in_rounds(bent, values, 0.01 * np.eye(12), rounds=n) for n in (6, 12))
    assert some.log_factor == pytest.approx(more.log_factor, abs=0.02 * some.sd.min())


def test_what_bends_is_less_sure():
    """What lies beside the line counts as an error: ripples leave more open than a plain slope."""
    values = noisy(straight, 1)
    plain = found_in_rounds(straight, values, 0.01 * np.eye(12))
    bends = found_in_rounds(
        lambda x: straight(x) + 0.2 * np.sin(300.0 * SLOPES @ x), values, 0.01 * np.eye(12)
    )
    assert (bends.sd > plain.sd).all()


def test_without_readings_all_stays_as_the_files_have_it():
    line = line_through(SD[:, None] * draws(), np.empty((0, 200)))
    found = bayesian_regression(line, np.empty(0), errors=np.empty((0, 0)), prior_sd=SD)
    assert found.log_factor.tolist() == [0.0] * 5
    assert found.sd == pytest.approx(SD)
    assert found.told_frac == pytest.approx([0.0] * 5)


def test_factors_stay_within_three_times_either_way():
    values = straight(np.full(5, np.log(50.0)))
    found = found_in_rounds(straight, values, 1e-6 * np.eye(12))
    assert np.abs(found.log_factor).max() <= np.log(3.0)


def test_even_draws_have_mean_0_and_covariance_1():
    z = draws(members=30)
    assert z.mean(axis=1) == pytest.approx(np.zeros(5), abs=1e-12)
    assert z @ z.T / 30 == pytest.approx(np.eye(5), abs=1e-12)


def test_few_draws_count_as_less_sure():
    """The mean of an inverted sample covariance, as scipy's inverse Wishart has it, is too large.

    Where the draws outweigh the readings in all of k directions, the factor takes that off.
    """
    k, members = 10, 40
    said = np.random.default_rng(5).normal(size=(k, members))
    line = line_through(draws(members, unknowns=1), said)
    free = members - 2
    too_large = invwishart(df=free, scale=free * np.eye(k)).mean()[0, 0]
    much = line.spread(1e-9 * np.eye(k)) / line.spread()
    assert np.diag(much) == pytest.approx(np.full(k, too_large))
    little = line.spread(1e9 * np.eye(k)) / line.spread()
    assert np.diag(little) == pytest.approx(np.full(k, free / (free - 1.0)), rel=1e-6)


def test_words_change_at_their_thresholds():
    assert told_in_words(0.75) == "tells it"
    assert told_in_words(0.74) == "in part"
    assert told_in_words(0.29) == "tells little"


def test_what_does_not_differ_explains_nothing_and_stops_nothing():
    """The loads of a list without doubt are the same in all draws: y = 3 x, whatever they are."""
    x = np.array([[0.2, 0.2, 0.2, 0.2], [0.0, 1.0, 2.0, 4.0]])
    line = line_through(x, 3.0 * x[1:])
    assert line.slopes == pytest.approx(np.array([[0.0, 3.0]]))
    assert line.residuals == pytest.approx(np.zeros((1, 4)), abs=1e-12)
