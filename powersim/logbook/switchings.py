"""What a meter's readings say of what was switched between them: least squares, without a prior.

Every reading is what is always on, and what is switched on at that moment, and an error of its own.
Besides, the meter's zero wanders from one reading to the next. What switches itself, such as a
fridge, shows as a reading that stands alone, or as a step between two of them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

#: A reading or a step this many standard deviations off is something else that switched; judgement.
_ODD_SDS = 4.0
#: Explanations that are correlated more than this explain the same. [-]
_SAME = 0.99
#: That a meter scatters as is taken here counts as much as so many readings; judgement. [-]
_TRUSTED = 5.0
#: At most this share of the readings is explained by something else. [-]
_MOST_ODD_FRAC = 0.25
#: What is smaller than this, of a number near 1, is a rounding error. [-]
_TINY = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Odd:
    """A reading, or a step between two, that nothing on the sheet explains.

    Attributes
    ----------
    at : int
        Place of the reading, or of the first one after the step.
    stays : bool
        Whether it is a step, which stays on in all later readings.
    size_A : float
        How far it is off. [A]
    explanations : int
        How many readings and steps would explain the same; this is the first of them.
    """

    at: int
    stays: bool
    size_A: float
    explanations: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Found:
    """The unknowns that explain the readings.

    Attributes
    ----------
    value_A : ndarray, shape (unknowns,)
        What each draws, the first being what is always on. [A]
    covariance_A2 : ndarray, shape (unknowns, unknowns)
        Of their errors; says nothing of those that are open. [A^2]
    together : ndarray, shape (unknowns, open)
        Directions that change no reading: what no sheet of these rows could tell.
    misfit : float
        How far the readings lie off, as a multiple of how far they should. [-]
    odd : tuple of Odd
        What nothing explains.
    """

    value_A: np.ndarray
    covariance_A2: np.ndarray
    together: np.ndarray
    misfit: float
    odd: tuple[Odd, ...]

    def is_open(self, unknown: int) -> bool:
        """Whether the readings leave one of the unknowns open."""
        return bool(np.abs(self.together[unknown]).max(initial=0.0) > _TINY)


def found_in(
    shown_A: np.ndarray, switched: np.ndarray, *, read_sd_A: np.ndarray, wander_sd_A: float
) -> Found:
    """The draws that explain the readings of a meter.

    Parameters
    ----------
    shown_A : ndarray, shape (readings,)
        In the order in which they were taken. [A]
    switched : ndarray, shape (readings, unknowns)
        1 where an unknown is on, 0 where it is off; the first is on in all.
    read_sd_A : ndarray, shape (readings,)
        Standard deviation of each reading by itself. [A]
    wander_sd_A : float
        How far the zero wanders from one reading to the next, one standard deviation. [A]

    Notes
    -----
    The best linear unbiased estimate with the covariance of white noise and of a random walk. Where
    the design leaves directions open, the pseudo-inverse gives one of the solutions, and `together`
    the directions.
    """
    count, unknowns = switched.shape
    places = np.arange(count)
    walk = wander_sd_A**2 * np.minimum.outer(places, places)
    weights = np.linalg.inv(np.diag(read_sd_A**2) + walk)
    kinds = [(at, stays) for stays in (False, True) for at in range(int(stays), count)]
    columns = np.array([_column(at, stays, count) for at, stays in kinds]).T
    design = switched.astype(float)
    odd: list[tuple[tuple[int, bool], float, int]] = []
    while True:
        projected, inverse = _projected(design, weights)
        if len(odd) >= _MOST_ODD_FRAC * count:
            break
        left, scale = columns.T @ projected @ shown_A, (columns * (projected @ columns)).sum(axis=0)
        loose = scale > _TINY * (columns * (weights @ columns)).sum(axis=0)
        z = np.where(loose, left / np.sqrt(np.where(loose, scale, 1.0)), 0.0)
        worst = np.abs(z).max(initial=0.0)
        if worst <= _ODD_SDS:
            break
        tied = _same_as(int(np.abs(z).argmax()), columns, projected, scale, loose)
        odd.append((kinds[tied[0]], float(left[tied[0]] / scale[tied[0]]), len(tied)))
        design = np.hstack([design, columns[:, tied]])
    degrees = count - int(np.linalg.matrix_rank(design))
    squares = max(float(shown_A @ projected @ shown_A), 0.0)
    misfit = math.sqrt((squares + _TRUSTED) / (degrees + _TRUSTED))
    return Found(
        value_A=(inverse @ design.T @ weights @ shown_A)[:unknowns],
        covariance_A2=inverse[:unknowns, :unknowns] * max(misfit, 1.0) ** 2,
        together=_open(design)[:unknowns],
        misfit=misfit,
        odd=tuple(
            Odd(at=at, stays=stays, size_A=size_A, explanations=count)
            for (at, stays), size_A, count in odd
        ),
    )


def _column(at: int, stays: bool, count: int) -> np.ndarray:
    column = np.zeros(count)
    column[at : None if stays else at + 1] = 1.0
    return column


def _same_as(best: int, columns, projected, scale, loose) -> np.ndarray:
    """Places of all explanations that the readings cannot tell from the best one, itself first."""
    alike = columns.T @ projected @ columns[:, best]
    tied = loose & (np.abs(alike) > _SAME * np.sqrt(np.abs(scale * scale[best])))
    return np.array([best, *(k for k in np.flatnonzero(tied) if k != best)])


def _projected(design, weights):
    """What weighs the residuals of the best fit, and the inverse of the normal equations."""
    weighted = weights @ design
    inverse = np.linalg.pinv(design.T @ weighted, rcond=1e-10, hermitian=True)
    return weights - weighted @ inverse @ weighted.T, inverse


def _open(design) -> np.ndarray:
    """Directions of the unknowns that change no reading, shape (unknowns, open)."""
    _, sizes, directions = np.linalg.svd(design)
    rank = int((sizes > _TINY * sizes[0]).sum())
    return directions[rank:].T
