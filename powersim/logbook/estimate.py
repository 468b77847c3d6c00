"""What explains a log best, and how surely: least squares through draws of the simulation.

The simulation bends: a full bank takes no more, a low one takes more of an hour of charging. So it
is not followed along a tangent but made straight over the whole of what is still possible: it is
run for draws of everything unknown, a straight line is laid through what comes out, and what is
left beside the line counts as further error. What is possible then is narrower, and so on.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from powersim.logbook.priors import WIDEST
from powersim.records.brief import brief

#: What straight lines and normal errors make too narrow (twins in docs/validation.md): a week of
#: weather strays farther now and then, and a full bank bends sharply.
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
        Logarithms of the factors, in the order of Factors. [-]
    covariance : ndarray, shape (factors, factors)
        Of these logarithms, after the log.
    prior_sd : ndarray, shape (factors,)
        Before it. [-]
    """

    log_factor: np.ndarray
    covariance: np.ndarray
    prior_sd: np.ndarray

    __repr__ = brief

    @property
    def sd(self) -> np.ndarray:
        """Standard deviations after the log, shape (factors,). [-]"""
        return np.sqrt(np.diagonal(self.covariance))

    def band(self, z: float = Z_80) -> tuple[np.ndarray, np.ndarray]:
        """Intervals of the factors."""
        return np.exp(self.log_factor - z * self.sd), np.exp(self.log_factor + z * self.sd)

    @property
    def told_frac(self) -> np.ndarray:
        """Share of the prior variance that the log took away, shape (factors,). [-]"""
        return 1.0 - (self.sd / self.prior_sd) ** 2

    def correlation(self) -> np.ndarray:
        """How the errors of the factors hang together, shape (factors, factors). [-]"""
        return self.covariance / np.outer(self.sd, self.sd)

    def first(self, count: int) -> Estimate:
        """That of the first so many unknowns alone."""
        return Estimate(
            log_factor=self.log_factor[:count],
            covariance=self.covariance[:count, :count],
            prior_sd=self.prior_sd[:count],
        )


def moment_matched(z: np.ndarray) -> np.ndarray:
    """Normal draws moved so that their mean is 0 and their covariance 1 to the last digit."""
    z = z - z.mean(axis=1, keepdims=True)
    return np.linalg.solve(np.linalg.cholesky(z @ z.T / z.shape[1]), z)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FittedLine:
    """A straight line through draws: said = middle + slopes (x - centre) + beside.

    Attributes
    ----------
    centre : ndarray, shape (unknowns,)
    middle : ndarray, shape (k,)
    slopes : ndarray, shape (k, unknowns)
    beside : ndarray, shape (k, members)
        What the line does not explain.
    """

    centre: np.ndarray
    middle: np.ndarray
    slopes: np.ndarray
    beside: np.ndarray

    __repr__ = brief

    def spread(self, errors: np.ndarray | None = None) -> np.ndarray:
        """Covariance of what the line does not explain.

        Returns
        -------
        ndarray, shape (k, k)
            Beside `errors` made larger for the few draws that it comes from: its inverse would be
            too large by one part in as many directions as it outweighs them [1]_.

        References
        ----------
        .. [1] J. Hartlap, P. Simon and P. Schneider, "Why your model parameter confidences might be
           too optimistic", Astronomy & Astrophysics 464 (2007) 399-404: the factor, there for all
           directions alike; from memory.
        """
        free = max(self.beside.shape[1] - 1 - self.slopes.shape[1], 1)
        spread = self.beside @ self.beside.T / free
        if errors is None or not len(spread):
            return spread
        # The trace of spread / (spread + errors): how many directions are the draws' alone.
        count = float(np.trace(np.linalg.solve(spread + errors, spread)))
        return spread * free / max(free - count - 1.0, 0.1 * free)


def line_through(x: np.ndarray, said: np.ndarray) -> FittedLine:
    """The straight line that explains draws best."""
    centre, middle = x.mean(axis=1), said.mean(axis=1)
    off, told = x - centre[:, None], said - middle[:, None]
    slopes = np.linalg.solve(off @ off.T, off @ told.T).T
    return FittedLine(centre=centre, middle=middle, slopes=slopes, beside=told - slopes @ off)


def bayesian_regression(
    line: FittedLine, values: np.ndarray, *, errors: np.ndarray, prior_sd: np.ndarray
) -> Estimate:
    """The unknowns that explain readings best, with the priors as further readings.

    None is sought beyond WIDEST times its name, or below one such part.

    Parameters
    ----------
    errors : ndarray, shape (k, k)
        Covariance of the readings' own errors and of what lies beside the line.

    Notes
    -----
    Bayesian regression in closed form, its answer made wider by _WIDER as far as the prior allows;
    done again with draws from its own answer it is posterior
    linearisation [1]_. tests/unit holds it against the closed form and scipy.

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
    return Estimate(
        log_factor=np.clip(covariance @ (weighed.T @ off), -_BOUND, _BOUND),
        covariance=covariance * np.outer(wider, wider),
        prior_sd=prior_sd,
    )
