"""How what a log shows of all loads together falls on the single loads, and on what no list has.

A log shows the sum. Each load's draw is known before to its own `spread`, and beside that there is
what the list lacks or has too much: hours, cables, forgotten loads. Given the sum, each moves by
its share of the doubt, so that a lamp that is known to 5 % stays what it is.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from powersim.logbook.estimate import Z_80
from powersim.records import Passage
from powersim.records.brief import brief

if TYPE_CHECKING:
    from powersim.simulation.prepared import Prepared

#: How far all loads may err together: longer hours, cables, what is not listed. [-]
COMMON_DRAW_SD = 0.15
#: The load that stands for what the list lacks.
UNLISTED = "not in the list"
#: Loads that come out this close to what the files say are left as they are, and so little that
#: the list lacks is not worth a line; judgement. [-]
_SAME_FRAC = 0.01


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoadsPrior:
    """What is known of the loads before the log.

    Attributes
    ----------
    names : tuple of str
        Of the loads, in the order of the files.
    day_Ah : ndarray, shape (loads,)
        What each takes in a mean day by the files. [Ah]
    all_Ah : float
        The same of all of them, with supplies that idle. [Ah]
    log_mean, sd : ndarray, shape (loads,)
        Mean and standard deviation of the logarithm of each draw over that of the files: 0 and its
        spread, or what was measured. [-]
    """

    names: tuple[str, ...]
    day_Ah: np.ndarray
    all_Ah: float
    log_mean: np.ndarray
    sd: np.ndarray

    __repr__ = brief

    @property
    def known_as(self) -> list[str]:
        """The names as names are compared."""
        return [" ".join(name.split()).casefold() for name in self.names]

    @property
    def expected_Ah(self) -> float:
        """What all of them take in a mean day by their means. [Ah]"""
        more_Ah = math.fsum(self.day_Ah * np.expm1(self.log_mean))  # exact: in any order of them
        return max(self.all_Ah + more_Ah, 1e-9)

    @property
    def shares(self) -> np.ndarray:
        """Share of each in that, shape (loads,). [-]"""
        return self.day_Ah * np.exp(self.log_mean) / self.expected_Ah

    @property
    def total_mean(self) -> float:
        """Mean of the logarithm of all of them together over what the files say. [-]"""
        return math.log(self.expected_Ah / max(self.all_Ah, 1e-9))

    @property
    def total_sd(self) -> float:
        """Standard deviation of it: their own are independent, COMMON_DRAW_SD is added. [-]"""
        return math.hypot(COMMON_DRAW_SD, math.sqrt(math.fsum((self.shares * self.sd) ** 2)))


def loads_prior(
    passage: Passage, prepared: Prepared, trial: Mapping[str, tuple[float, float]] | None = None
) -> LoadsPrior:
    """What is known of the loads before the log.

    Parameters
    ----------
    passage : Passage
        For the loads and their spreads.
    prepared : Prepared
        For what they take in a day.
    trial : mapping of str to (float, float), optional
        Loads that were measured, by name: what each draws over what the files say, and the standard
        deviation of that. [-]
    """
    demand, nominal_V = prepared.demand, passage.boat.battery.nominal_V
    day_Ah = 24.0 * (demand.current_A + demand.power_W / nominal_V).mean(axis=1)
    measured = trial or {}
    told = [measured.get(load.name) for load in passage.loads]
    return LoadsPrior(
        names=tuple(load.name for load in passage.loads),
        day_Ah=day_Ah[: len(passage.loads)],
        all_Ah=math.fsum(day_Ah),
        log_mean=np.array([math.log(one[0]) if one else 0.0 for one in told]),
        sd=np.array(
            [
                one[1] / one[0] if one else load.spread_frac
                for one, load in zip(told, passage.loads, strict=True)
            ]
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoadsFound:
    """What the loads draw, given all of them together.

    Attributes
    ----------
    names : tuple of str
        Of the loads, in the order of the files.
    factors : ndarray, shape (loads,)
        What each draws over what the files say. [-]
    sd : ndarray, shape (loads,)
        Standard deviation of its logarithm. [-]
    unlisted_Ah : float
        What they draw in a day that is not in the list; below 0, what the list has too much even
        where each load is as low as it may be. [Ah]
    unlisted_sd_Ah : float
        Standard deviation of it. [Ah]
    """

    names: tuple[str, ...]
    factors: np.ndarray
    sd: np.ndarray
    unlisted_Ah: float
    unlisted_sd_Ah: float

    __repr__ = brief


def loads_found(prior: LoadsPrior, *, log_factor: float, sd: float) -> LoadsFound:
    """What each load draws, given the logarithm of all together and its standard deviation.

    Their logarithms are taken as normal, and the sum's as the sum of theirs by their shares. Where
    all together draw less than the loads by these, no line can take the rest: each is lowered
    further, all by as much of their own doubt, as far as their own intervals of 80 % go.

    Examples
    --------
    One load of half of the draw that is known to 15 %, and another that is known exactly: of
    10 % more, a fifth comes from the first, which moves by 4 %.

    >>> prior = LoadsPrior(names=("pilot", "lamp"), day_Ah=np.array([50.0, 50.0]), all_Ah=100.0,
    ...                    log_mean=np.zeros(2), sd=np.array([0.15, 0.0]))
    >>> found = loads_found(prior, log_factor=0.1, sd=0.0)
    >>> np.log(found.factors).round(3).tolist(), round(found.unlisted_Ah, 2)
    ([0.04, 0.0], 8.48)
    """
    variance, shares = prior.total_sd**2, prior.shares
    off, told = log_factor - prior.total_mean, max(variance - sd**2, 0.0)
    gain = shares * prior.sd**2 / variance
    own_sd = np.sqrt(np.maximum(prior.sd**2 - gain**2 * told, 0.0))
    common_gain = COMMON_DRAW_SD**2 / variance
    common_sd = math.sqrt(max(COMMON_DRAW_SD**2 - common_gain**2 * told, 0.0))
    log_factors = prior.log_mean + gain * off
    total_Ah = prior.all_Ah * math.exp(log_factor)

    def rest_Ah(logs):
        return total_Ah - prior.all_Ah - float(prior.day_Ah @ np.expm1(logs))

    movable_sd, before = own_sd, prior.known_as
    if UNLISTED in before:  # its line from an earlier log takes what is left, as far as it can
        line = before.index(UNLISTED)
        own = math.exp(log_factors[line]) + rest_Ah(log_factors) / max(prior.day_Ah[line], 1e-9)
        log_factors[line] = math.log(own) if own > 0.0 else -math.inf
        movable_sd = np.where(np.arange(len(before)) == line, 0.0, own_sd)
    if rest_Ah(log_factors) < 0.0:
        log_factors = _lowered(log_factors, movable_sd, rest_Ah)
    log_factors = np.where(np.abs(log_factors) < _SAME_FRAC, 0.0, log_factors)
    unlisted_Ah = rest_Ah(log_factors)
    if abs(unlisted_Ah) < _SAME_FRAC * total_Ah:
        unlisted_Ah = 0.0
    return LoadsFound(
        names=prior.names,
        factors=np.exp(log_factors),
        sd=own_sd,
        unlisted_Ah=unlisted_Ah,
        unlisted_sd_Ah=common_sd * total_Ah,
    )


def _lowered(logs, sd, rest_Ah):
    """The logarithms less the same multiple of each's sd, Z_80 at most, until nothing is left.

    The rest grows as they are lowered, so that halving finds where it is none.
    """
    low, high = 0.0, Z_80
    if rest_Ah(logs - high * sd) > 0.0:
        for _ in range(60):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if rest_Ah(logs - middle * sd) < 0.0 else (low, middle)
    return logs - high * sd
