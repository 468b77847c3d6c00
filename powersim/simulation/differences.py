"""What a change does to a passage, from the same members before and after: pair by pair.

Both meet the same draws, so most of what differs from member to member cancels in each pair. A
difference of two medians would throw that away, and can even point the other way where calms
split the litres into two heaps.
"""

from __future__ import annotations

import math
from collections.abc import Sized
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools

#: Share of intervals that miss what they are about. [-]
_MISS_FRAC = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """How much more there is after a change than before it, in the mean over all pairs.

    Attributes
    ----------
    mean : float
        After less before, in the unit of both; of shares, from -1 to 1.
    least, most : float
        Bounds of its interval: with ever more members the mean would come to lie in it 19 times
        in 20.
    members : int
        Number of pairs.
    differing : int
        Pairs that are not alike.
    least_differing : int
        With fewer pairs unlike than these, chance alone might have put all of them on one side.
    """

    mean: float
    least: float
    most: float
    members: int
    differing: int
    least_differing: int = 6

    @property
    def shows(self) -> bool:
        """Whether so many members can show that there is a difference at all."""
        return self.differing >= self.least_differing and (self.least > 0.0 or self.most < 0.0)

    @property
    def same(self) -> bool:
        """Whether every pair is alike, to the last digit."""
        return self.differing == 0


def paired_mean(before: Array, after: Array, *, among: int = 1) -> Difference:
    """The mean of paired differences of an amount.

    Parameters
    ----------
    before, after : ndarray, shape (members,)
        Of the same members, in the same order and unit; finite.
    among : int
        How many such differences are looked at together, so that all their intervals hold at
        once, 19 times in 20 (Bonferroni): the best of many is also the luckiest.

    Returns
    -------
    Difference
        With Student's interval. docs/model/compare.md tells how often it holds.

    Raises
    ------
    ValueError
        If there are fewer than two members, not as many of each, or something without end.

    References
    ----------
    .. [1] Student, The probable error of a mean, Biometrika 6 (1908) 1-25.

    Examples
    --------
    >>> found = paired_mean(np.array([1.0, 2.0, 3.0, 4.0]), np.array([2.0, 2.5, 4.5, 5.0]))
    >>> found.mean, round(found.least, 3), round(found.most, 3)
    (1.0, 0.35, 1.65)
    """
    from scipy.special import stdtrit

    _refuse_unpaired(before, after)
    differences = np.asarray(after, dtype=float) - np.asarray(before, dtype=float)
    if not np.isfinite(differences).all():
        raise ValueError("a mean of what has no end says nothing; leave such members out")
    members = len(differences)
    mean = float(differences.mean())
    error = float(differences.std(ddof=1)) / math.sqrt(members)
    half = float(stdtrit(members - 1, 1.0 - _MISS_FRAC / among / 2.0)) * error
    return Difference(
        mean=mean,
        least=mean - half,
        most=mean + half,
        members=members,
        differing=int(np.count_nonzero(differences)),
        least_differing=_least_differing(among),
    )


def paired_share(before: Bools, after: Bools, *, among: int = 1) -> Difference:
    """The difference of two shares of the same members.

    Parameters
    ----------
    before, after : ndarray of bool, shape (members,)
        Whether it happens, member by member in the same order.
    among : int
        As for `paired_mean`.

    Returns
    -------
    Difference
        Of shares, with the interval of Bonett and Price.

    Raises
    ------
    ValueError
        If there are fewer than two members, or not as many of each.

    Notes
    -----
    An adjusted Wald interval: one pair is added that changed one way, and one that changed the
    other. Agresti and Min add half a pair of each of four kinds; where a chance is small their
    interval holds less often (0.865 where 1 pair in 100 changes, of 200), and what shows a
    difference that is not there is worse here than what misses one that is. [2]_ recommends
    the one used.

    References
    ----------
    .. [1] D. G. Bonett, R. M. Price, Adjusted Wald confidence interval for a difference of
       binomial proportions based on paired data, J. Educ. Behav. Stat. 37 (2012) 479-488.
    .. [2] M. W. Fagerland, S. Lydersen, P. Laake, Recommended tests and confidence intervals for
       paired binomial proportions, Stat. Med. 33 (2014) 2850-2875.

    Examples
    --------
    Of 200, 3 fail before; after it they and 9 more do:

    >>> found = paired_share(np.arange(200) < 3, np.arange(200) < 12)
    >>> round(found.mean, 4), round(found.least, 4), round(found.most, 4), found.shows
    (0.045, 0.013, 0.0761, True)
    """
    from scipy.special import ndtri

    _refuse_unpaired(before, after)
    before, after = np.asarray(before, dtype=bool), np.asarray(after, dtype=bool)
    members = len(before)
    comes, goes = (int(np.count_nonzero(one)) for one in (after & ~before, before & ~after))
    mean = (comes - goes) / members
    counted = members + 2
    middle = (comes - goes) / counted
    error = math.sqrt(((comes + goes + 2) / counted - middle**2) / counted)
    half = float(ndtri(1.0 - _MISS_FRAC / among / 2.0)) * error
    return Difference(
        mean=mean,
        # Nothing lies outside of all shares, nor may the adding push out what was seen.
        least=min(mean, max(-1.0, middle - half)),
        most=max(mean, min(1.0, middle + half)),
        members=members,
        differing=comes + goes,
        least_differing=_least_differing(among),
    )


def _least_differing(among: int) -> int:
    """Pairs that must be unlike: all fall on one side by chance 2 times in 2 to that power."""
    return math.ceil(math.log2(2.0 * among / _MISS_FRAC))


def _refuse_unpaired(before: Sized, after: Sized) -> None:
    if len(before) != len(after):
        raise ValueError(f"there are {len(before)} members before and {len(after)} after")
    if len(before) < 2:
        raise ValueError("a single pair has no interval; two or more are needed")
