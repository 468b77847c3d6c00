"""Bounded least squares through the simulation: what explains a log best, and how surely.

Many logs may be looked at side by side: their trials, and those that the Jacobian needs, are
members of one run of the kernel.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from powersim.simulation.factors import Factors
from powersim.underway.priors import WIDEST

#: Step of the logarithm of a factor by which the Jacobian is taken: wide enough to look past
#: single steps of the simulation. [-]
_STEP = 0.05
_ROUNDS = 12
#: A relative gain of the sum of squares below this ends the search.
_GAIN = 1e-4
#: The covariance of first order is too narrow by so much: it knows neither how sharply a full bank
#: bends what is said nor how far a week of weather may stray (the twins of docs/validation.md).
_WIDER = 1.1
#: Normal quantile of an interval that covers 80 %. [-]
Z_80 = 1.2815515655446004


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Estimate:
    """What some logs say of the factors; logs are side by side in the last axis.

    Attributes
    ----------
    log_factor : ndarray, shape (factors, logs)
        Logarithms of the factors, in the order of Factors. [-]
    covariance : ndarray, shape (logs, factors, factors)
        Of these logarithms, after the log.
    prior_sd : ndarray, shape (factors,)
        Before it. [-]
    said : ndarray, shape (k, logs)
        What the simulation says in place of each reading, with these factors.
    jacobian : ndarray, shape (logs, k, factors)
        Of what it says, by the logarithms of the factors.
    """

    log_factor: np.ndarray
    covariance: np.ndarray
    prior_sd: np.ndarray
    said: np.ndarray
    jacobian: np.ndarray

    @property
    def sd(self) -> np.ndarray:
        """Standard deviations after the log, shape (factors, logs). [-]"""
        return np.sqrt(np.diagonal(self.covariance, axis1=1, axis2=2)).T

    def band(self, z: float = Z_80):
        """Intervals of the factors.

        Parameters
        ----------
        z : float
            Standard deviations to either side. [-]

        Returns
        -------
        tuple of two ndarray, shape (factors, logs)
            [-]
        """
        return np.exp(self.log_factor - z * self.sd), np.exp(self.log_factor + z * self.sd)

    @property
    def told_frac(self) -> np.ndarray:
        """Share of the prior variance that the log took away, shape (factors, logs). [-]"""
        return 1.0 - (self.sd / self.prior_sd[:, None]) ** 2

    def of(self, log: int, readings: int) -> Estimate:
        """That of one log alone.

        Parameters
        ----------
        log : int
            Which.
        readings : int
            How many it has; what is filled up behind them is left off.

        Returns
        -------
        Estimate
        """
        one = slice(log, log + 1)
        return Estimate(
            log_factor=self.log_factor[:, one],
            covariance=self.covariance[one],
            prior_sd=self.prior_sd,
            said=self.said[:readings, one],
            jacobian=self.jacobian[one, :readings],
        )

    def correlation(self, log: int = 0) -> np.ndarray:
        """How the errors of the factors hang together, shape (factors, factors). [-]

        Parameters
        ----------
        log : int
            Which.
        """
        sd = self.sd[:, log]
        return self.covariance[log] / np.outer(sd, sd)


def whitening(covariance) -> np.ndarray:
    """What makes readings of this covariance independent, each of variance 1.

    Parameters
    ----------
    covariance : ndarray, shape (..., k, k)

    Returns
    -------
    ndarray, shape (..., k, k)
        Inverse of its lower Cholesky factor.
    """
    return np.linalg.inv(np.linalg.cholesky(covariance))


def estimated(
    says: Callable[[Factors], np.ndarray], values, *, white, prior_sd, progress=None
) -> Estimate:
    """The factors that explain each log best, with the priors as further readings.

    Parameters
    ----------
    says : callable
        From Factors of arrays (logs * (factors + 1),) to what the simulation says in place of
        each reading, shaped (k, logs * (factors + 1)); logs vary fastest.
    values : ndarray, shape (k, logs)
        What the logs say.
    white : ndarray, shape (logs or 1, k, k)
        From `whitening`.
    prior_sd : ndarray, shape (factors,)
        Of the logarithms, about 0. [-]
    progress : callable, optional
        Called with the share that is done.

    Returns
    -------
    Estimate

    Notes
    -----
    Levenberg and Marquardt's damped Gauss-Newton, each log with a damping of its own, within
    WIDEST either way. The covariance is the inverse of J'C^-1J + P^-1 at the best factors, made
    wider by _WIDER as far as the prior allows. tests/unit holds it against
    scipy.optimize.least_squares.

    References
    ----------
    .. [1] D. W. Marquardt, "An algorithm for least-squares estimation of nonlinear parameters",
       SIAM Journal on Applied Mathematics 11 (1963) 431-441; from memory.
    """
    values = np.asarray(values, dtype=float)
    logs, count = values.shape[1], len(prior_sd)
    bound = math.log(WIDEST)
    x = np.zeros((count, logs))
    said, jacobian = _with_jacobian(says, x)
    cost = _cost(values - said, x, white, prior_sd)
    damping = np.full(logs, 1e-3)
    for round_no in range(_ROUNDS):
        curvature, slope = _normal(values - said, x, jacobian, white, prior_sd)
        diagonal = np.einsum("bii->bi", curvature)
        damped = curvature + damping[:, None, None] * np.einsum(
            "bi,ij->bij", diagonal, np.eye(count)
        )
        step = np.linalg.solve(damped, slope[..., None])[..., 0].T
        trial = np.clip(x + step, -bound, bound)
        trial_said, trial_jacobian = _with_jacobian(says, trial)
        trial_cost = _cost(values - trial_said, trial, white, prior_sd)
        better = trial_cost <= cost
        gain = np.where(better, (cost - trial_cost) / np.maximum(cost, 1e-12), 0.0)
        x = np.where(better, trial, x)
        said = np.where(better, trial_said, said)
        jacobian = np.where(better[:, None, None], trial_jacobian, jacobian)
        cost = np.where(better, trial_cost, cost)
        damping = np.where(better, damping / 5.0, damping * 10.0)
        if progress is not None:
            progress((round_no + 1) / _ROUNDS)
        still = np.where(better, gain > _GAIN, damping < 10.0)
        if not still.any():
            break
    curvature, _ = _normal(values - said, x, jacobian, white, prior_sd)
    return Estimate(
        log_factor=x,
        covariance=_widened(curvature, prior_sd),
        prior_sd=np.asarray(prior_sd),
        said=said,
        jacobian=jacobian,
    )


def _with_jacobian(says, x):
    """What is said at some factors, and how it changes with each, by forward differences."""
    count, logs = x.shape
    tried = np.repeat(x[:, None, :], count + 1, axis=1)  # (factors, trials, logs)
    for place in range(count):
        tried[place, place + 1] += _STEP
    said = says(Factors(*np.exp(tried.reshape(count, -1)))).reshape(-1, count + 1, logs)
    jacobian = (said[:, 1:] - said[:, :1]) / _STEP  # (k, factors, logs)
    return said[:, 0], jacobian.transpose(2, 0, 1)


def _widened(curvature, prior_sd):
    """The covariance after the log: never wider than before it in any factor."""
    covariance = np.linalg.inv(curvature)
    sd = np.sqrt(np.diagonal(covariance, axis1=1, axis2=2))
    wider = np.minimum(_WIDER, prior_sd / sd)
    return covariance * wider[:, :, None] * wider[:, None, :]


def _cost(residual, x, white, prior_sd):
    whitened = np.matmul(white, residual.T[..., None])[..., 0]
    return (whitened**2).sum(axis=1) + ((x / prior_sd[:, None]) ** 2).sum(axis=0)


def _normal(residual, x, jacobian, white, prior_sd):
    """The matrix and the right-hand side of Gauss and Newton, one a log."""
    whitened = np.matmul(white, residual.T[..., None])[..., 0]
    slopes = np.matmul(white, jacobian)
    curvature = np.einsum("bki,bkj->bij", slopes, slopes) + np.diag(prior_sd**-2.0)
    slope = np.einsum("bki,bk->bi", slopes, whitened) - (x / prior_sd[:, None] ** 2).T
    return curvature, slope
