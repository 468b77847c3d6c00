"""How much sun there was so far in each member, and on which days, as the log counts it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from powersim.logbook.readings import Reading
    from powersim.simulation.member_signals import EnsembleForcing

#: Least sun so far as a share of the usual: an hour of dusk makes no unknown. [-]
LEAST_SUN_FRAC = 0.05
#: Most that a spell's sun is made more or less than its member's own; a spell with less of the mean
#: day than the other is left as it is: a counter's last digit tells nothing of a dusk. Judgement.
#: [-]
_MOST, _LEAST_OF_A_DAY = 5.0, 0.1
#: A spell in which the bank takes less of what the sun offers than this share of what it takes of
#: the others' had no room for all of it; judgement. [-]
_FREE_FRAC = 0.9


def offered_of(forcing: EnsembleForcing, *, n_steps: int) -> np.ndarray:
    """What the panels could give in each step of each member, shape (n, members).

    It is in a unit of its own: only shares of it are used. [-]
    """
    signals = forcing.signals(slice(0, n_steps))
    offered = np.zeros((n_steps, forcing.members))
    for controller in signals.controllers:
        volts = controller.knots_V[0] if controller.knots_V else 1.0
        offered += controller.first_A * volts if controller.knots_V else controller.power_W
    return offered


def sun_of(offered: np.ndarray) -> np.ndarray:
    """All of it in each member as a share of the mean, shape (members,).

    It is LEAST_SUN_FRAC at least, and 1 where there was no sun at all. [-]
    """
    total = offered.sum(axis=0)
    if not total.any():
        return np.ones(total.shape)
    return np.maximum(total / total.mean(), LEAST_SUN_FRAC)


def sky_sd(sun_frac: np.ndarray) -> float:
    """Standard deviation of the logarithm of the sun so far against the usual. [-]"""
    return max(float(np.log(sun_frac).std()), 1e-3)


class CountedDays:
    """The days of a log's solar counter, given to each draw.

    A draw has the pattern of days of a member's own weather. Where the counter shows what the days
    truly gave, that pattern is brought to it from round to round. It is what the draw's panels gave
    that is held against the counter, and not what the sun offered: a day on which the bank had no
    room stays a bright one. All of a draw's sun together stays as it is: it is an unknown.

    Attributes
    ----------
    weights : ndarray, shape (n, members)
        Multiples of the sun in each step. [-]
    """

    def __init__(self, readings: Sequence[Reading], offered: np.ndarray, *, step_h: float) -> None:
        self.weights = np.ones_like(offered)
        self._offered = offered
        n_steps = len(offered)
        least = _LEAST_OF_A_DAY * offered.sum() / offered.shape[1] / (n_steps * step_h / 24.0)
        counted = [
            (one.at_h, one.entry.solar_Ah) for one in readings if one.entry.solar_Ah is not None
        ]
        self._spells = []
        for (first_h, before), (last_h, after) in pairwise(counted):
            first, last = (min(round(at_h / step_h), n_steps) for at_h in (first_h, last_h))
            if offered[first:last].sum() > least * offered.shape[1]:
                self._spells.append((slice(first, last), slice(first, last + 1), after - before))

    def agree_with(self, solar_Ah: np.ndarray) -> None:
        """Bring the weights nearer to the counter by what each draw's panels gave with them.

        `solar_Ah` is that since departure, at the edges of the steps, shape (n + 1, members).
        """
        gained_Ah = sum(gain_Ah for *_, gain_Ah in self._spells)
        if len(self._spells) < 2 or gained_Ah <= 0.0:
            return
        taken = np.array([np.ptp(solar_Ah[edges], axis=0) for _, edges, _ in self._spells])
        could = np.array(
            [(self.weights[steps] * self._offered[steps]).sum(axis=0) for steps, *_ in self._spells]
        )
        share = taken / np.maximum(could, 1e-9)
        free = share >= _FREE_FRAC * share.max(axis=0)
        wanted = np.array([gain_Ah for *_, gain_Ah in self._spells])[:, None] / gained_Ah
        ratio = wanted * taken.sum(axis=0) / np.maximum(taken, 1e-9)
        # Where the bank had no room, more sun would not show: that day is made no brighter.
        ratio = np.where(free, ratio, np.minimum(ratio, 1.0))
        for (steps, *_), one in zip(self._spells, ratio, strict=True):
            self.weights[steps] = np.clip(self.weights[steps] * one, 1.0 / _MOST, _MOST)
        total = (self.weights * self._offered).sum(axis=0)
        self.weights *= self._offered.sum(axis=0) / np.maximum(total, 1e-9)
