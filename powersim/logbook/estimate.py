"""The factors that explain a log best, and their uncertainty: regression on simulated draws.

The simulation is not linear: a full bank takes no more charge, and a low one takes more in an hour.
A tangent would mislead, so the simulation is linearised over all that is still possible: it is run
for draws of all unknowns, a line is fitted to the results, and the residuals count as further
error. The next round draws from the narrower posterior, and so on.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from powersim.records.brief import brief

#: Largest factor; its inverse is the smallest. [-]
WIDEST = 3.0
#: Factor on standard deviations, since straight lines and normal errors make them too small (twins
#: in docs/validation.md): a week of weather strays farther now and then, and a full bank is far
#: from linear.
_WIDER = 1.1
_BOUND = math.log(WIDEST)
#: Normal quantile of an interval that covers 80 %. [-]
Z_80 = 1.2815515655446004


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Estimate:
    """What a log says of the factors.

    Attributes
    ----------
    log_factor : ndarray, shape (factors,)
        Logarithms of the best factors, in the order of Factors. [-]
    covariance : ndarray, shape (factors, factors)
        Posterior covariance of these logarithms.
    prior_sd : ndarray, shape (factors,)
        Their prior standard deviations. [-]
    """

    log_factor: np.ndarray
    covariance: np.ndarray
    prior_sd: np.ndarray

    __repr__ = brief

    @property
    def sd(self) -> np.ndarray:
        """Posterior standard deviations, shape (factors,). [-]"""
        return np.sqrt(np.diagonal(self.covariance))

    def band(self, z: float = Z_80) -> tuple[np.ndarray, np.ndarray]:
        """Lower and upper bounds of the factors, so many standard deviations off. [-]"""
        return np.exp(self.log_factor - z * self.sd), np.exp(self.log_factor + z * self.sd)

    @property
    def told_frac(self) -> np.ndarray:
        """Share of the prior variance that the log took away, shape (factors,). [-]"""
        return 1.0 - (self.sd / self.prior_sd) ** 2

    def correlation(self) -> np.ndarray:
        """Posterior correlation of the factors, shape (factors, factors). [-]"""
        return self.covariance / np.outer(self.sd, self.sd)

    def first(self, count: int) -> Estimate:
        """The estimate of the first unknowns alone."""
        return Estimate(
            log_factor=self.log_factor[:count],
            covariance=self.covariance[:count, :count],
            prior_sd=self.prior_sd[:count],
        )


def moment_matched(z: np.ndarray) -> np.ndarray:
    """Normal draws, shifted and scaled to a mean of 0 and a covariance of 1 exactly."""
    z = z - z.mean(axis=1, keepdims=True)
    return np.linalg.solve(np.linalg.cholesky(z @ z.T / z.shape[1]), z)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FittedLine:
    """A linear fit to k readings of many draws: said = middle + slopes (x - centre) + residuals.

    Attributes
    ----------
    centre : ndarray, shape (unknowns,)
        Mean of the unknowns.
    middle : ndarray, shape (k,)
        Mean of the readings.
    slopes : ndarray, shape (k, unknowns)
        Change of the readings with the unknowns.
    residuals : ndarray, shape (k, members)
        What the line does not explain.
    """

    centre: np.ndarray
    middle: np.ndarray
    slopes: np.ndarray
    residuals: np.ndarray

    __repr__ = brief

    def spread(self, errors: np.ndarray | None = None) -> np.ndarray:
        """Covariance of the residuals, shape (k, k).

        With `errors`, the covariance of the readings, it is enlarged since it comes from few draws:
        the inverse of the sum would be too large in the directions in which the residuals
        outweigh the errors [1]_.

        References
        ----------
        .. [1] J. Hartlap, P. Simon and P. Schneider, "Why your model parameter confidences might be
           too optimistic", Astronomy & Astrophysics 464 (2007) 399-404: the factor, there for all
           directions alike; from memory.
        """
        free = max(self.residuals.shape[1] - 1 - self.slopes.shape[1], 1)
        spread = self.residuals @ self.residuals.T / free
        if errors is None or not len(spread):
            return spread
        # The trace of spread / (spread + errors): how many directions are the draws' alone.
        count = float(np.trace(np.linalg.solve(spread + errors, spread)))
        return spread * free / max(free - count - 1.0, 0.1 * free)


def line_through(x: np.ndarray, said: np.ndarray) -> FittedLine:
    """The straight line that fits the readings of some draws by least squares."""
    centre, middle = x.mean(axis=1), said.mean(axis=1)
    dx, dy = x - centre[:, None], said - middle[:, None]
    slopes = np.zeros((len(said), len(x)))
    differs = dx.any(axis=1)  # an unknown that is known, such as the loads of a list without doubt
    slopes[:, differs] = np.linalg.solve(dx[differs] @ dx[differs].T, dx[differs] @ dy.T).T
    return FittedLine(centre=centre, middle=middle, slopes=slopes, residuals=dy - slopes @ dx)


def bayesian_regression(
    line: FittedLine,
    values: np.ndarray,
    *,
    errors: np.ndarray,
    prior_sd: np.ndarray,
    prior_mean: np.ndarray | float = 0.0,
) -> Estimate:
    """The posterior of the unknowns: Bayesian linear regression on readings, in closed form.

    `errors` is the covariance of the readings and the residuals together, shape (k, k). No factor
    goes beyond WIDEST or below its inverse. Standard deviations grow by _WIDER as far as the prior
    allows. Repeated with draws from its own answer this is posterior linearisation [1]_. tests/unit
    checks it against the closed form and scipy. The bounds are counted from `prior_mean`.

    References
    ----------
    .. [1] A. F. Garcia-Fernandez, L. Svensson, M. R. Morelande and S. Sarkka, "Posterior
       linearization filter: principles and implementation using sigma points", IEEE Transactions
       on Signal Processing 63 (2015) 5561-5573; from memory.
    """
    weighed = np.linalg.solve(errors, line.slopes) if len(values) else line.slopes
    covariance = np.linalg.inv(line.slopes.T @ weighed + np.diag(prior_sd**-2.0))
    wider = np.minimum(_WIDER, prior_sd / np.sqrt(np.diag(covariance)))
    off = values - line.middle + line.slopes @ line.centre
    pull = weighed.T @ off + prior_mean * prior_sd**-2.0
    return Estimate(
        log_factor=np.clip(covariance @ pull, prior_mean - _BOUND, prior_mean + _BOUND),
        covariance=covariance * np.outer(wider, wider),
        prior_sd=prior_sd,
    )
