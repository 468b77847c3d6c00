"""Clearness by its mean and a deviate, worked out once for each kind of weather."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Floats, Ints

# Where a table is worked out: means from the darkest day (0) to the brightest (1), and deviates.
_MEANS = np.linspace(0.0, 1.0, 49)
_DEVIATES = np.linspace(-4.0, 7.0, 89)
# A mean at the very edge has no spread, and a beta distribution no exponents.
_EDGE = 1e-3
# Nodes for what a spell adds to a deviate, by Gauss and Hermite.
_SPELLS = 40


def spell_of(deviate: Array, skew: Floats) -> Array:
    """How far a spell of weather lies from the usual, where bright spells are the long ones.

    Parameters
    ----------
    deviate : ndarray
        Standard normal. [-]
    skew : float or ndarray
        Deviation of the logarithm; with 0 bright and dark spells would be alike. [-]

    Returns
    -------
    ndarray
        Mean 0, standard deviation 1, the more skewed to the right the larger `skew`. [-]

    Examples
    --------
    >>> spell_of(np.array([-2.0, 0.0, 2.0]), 0.8).round(2).tolist()
    [-0.9, -0.29, 2.74]
    """
    return (np.exp(skew * deviate - 0.5 * skew**2) - 1.0) / np.sqrt(np.expm1(skew**2))


def mixed(spell: Array, own: Floats, share: Floats) -> Array:
    """Deviate of a day from that of its spell and its own.

    Parameters
    ----------
    spell : ndarray
        Mean 0, standard deviation 1. [-]
    own : float or ndarray
        The same. [-]
    share : float or ndarray
        Of the variance, the spell's. [-]

    Returns
    -------
    ndarray
        Mean 0, standard deviation 1. [-]
    """
    return np.sqrt(share) * spell + np.sqrt(1.0 - share) * own


def table(spread: Array, share: Array, skew: float) -> Array:
    """Clearness by mean and deviate, from 0 for the darkest day to 1 for the brightest.

    Parameters
    ----------
    spread : ndarray, shape (means,)
        Variance of days at each of `means()`, as a share of the largest there could be, which is
        that of days either darkest or brightest. [-]
    share : ndarray, shape (means,)
        How much of a day's deviate is its spell's, see `mixed`. [-]
    skew : float
        Of spells. [-]

    Returns
    -------
    ndarray, shape (means, deviates)
        Its mean over days is that of its row, to rounding. [-]

    Notes
    -----
    A beta distribution: skewed to the left where the mean is near the brightest day, symmetric
    where it is half of it.
    """
    from scipy.special import betaincinv

    mean = np.clip(_MEANS, _EDGE, 1.0 - _EDGE)
    exponents = 1.0 / spread - 1.0
    darker, weight = _odds(share, skew)
    kt = betaincinv((mean * exponents)[:, None], ((1.0 - mean) * exponents)[:, None], darker)
    # What straight lines between the nodes do to the mean is taken off again, some 0.1 percent.
    kt *= (mean / (weight * kt).sum(axis=1))[:, None]
    kt[0], kt[-1] = 0.0, 1.0
    return kt


def means() -> Array:
    """Means at which tables are worked out, from 0 to 1.

    Returns
    -------
    ndarray, shape (means,)
        As shares of the way from the darkest day to the brightest. [-]
    """
    return _MEANS


def looked_up(kt: Array, mean: Array, deviate: Array) -> Array:
    """Clearness from a table, by straight lines between its nodes.

    Parameters
    ----------
    kt : ndarray, shape (means, deviates)
        As `table` gives it, or a mixture of such. [-]
    mean : ndarray, shape (members,) or (1,)
        From the darkest, 0, to the brightest, 1; beyond that it is held. [-]
    deviate : ndarray, shape (..., members)
        Held at the table's edges. [-]

    Returns
    -------
    ndarray, shape (..., members)
        Its mean over many deviates is `mean`, since that is straight between two rows. [-]
    """
    rows, columns = kt.shape
    at = np.clip(mean, 0.0, 1.0) * (rows - 1)
    row = np.minimum(at.astype(int), rows - 2)
    # In place, since this is done for every hour of every member.
    across = np.clip(deviate, _DEVIATES[0], _DEVIATES[-1])
    across -= _DEVIATES[0]
    across *= (columns - 1) / (_DEVIATES[-1] - _DEVIATES[0])
    corner = across.astype(int)
    np.minimum(corner, columns - 2, out=corner)
    across -= corner
    corner += row * columns
    flat = kt.ravel()
    low = _between(flat, corner, across)
    corner += columns
    high = _between(flat, corner, across)
    high -= low
    high *= at - row
    low += high
    return low


def _between(flat: Array, corner: Ints, across: Array) -> Array:
    """So far across from each corner to the next."""
    found = flat[corner]
    step = flat[corner + 1]
    step -= found
    step *= across
    found += step
    return found


def _odds(share: Array, skew: float) -> tuple[Array, Array]:
    """Share of days below each deviate, and the weight of each in a mean; (means, deviates)."""
    found = [_odds_of(float(one), skew) for one in share]
    darker, weight = (np.array(part) for part in zip(*found, strict=True))
    return darker, weight


@cache
def _odds_of(share: float, skew: float) -> tuple[Array, Array]:
    from scipy.special import ndtr

    node, often = np.polynomial.hermite_e.hermegauss(_SPELLS)
    often = often / often.sum()
    spell = mixed(spell_of(node, skew), 0.0, share)
    own = np.sqrt(1.0 - share)
    below = (_DEVIATES[:, None] - spell) / own
    darker = ndtr(below) @ often
    # Mean of what a deviate falls short of each node; its second differences are the weights of
    # the nodes in the mean of anything that is straight between them.
    short = own * (below * ndtr(below) + np.exp(-0.5 * below**2) / np.sqrt(2.0 * np.pi)) @ often
    slope = np.diff(short) / np.diff(_DEVIATES)
    return darker, np.diff(slope, prepend=0.0, append=1.0)
