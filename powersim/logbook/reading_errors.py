"""Covariances of a log's readings: how far they may lie off, and how far they err together."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from powersim.records import Passage

if TYPE_CHECKING:
    from powersim.logbook.hindcast import History
    from powersim.logbook.observations import Observation

#: Relative standard deviation of the litres of motoring and heaters; judgement. [-]
OTHER_BURN_SD = 0.15
#: Relative standard deviation of the litres aboard at departure; judgement. [-]
ABOARD_SD = 0.02


def reading_covariance(observations: Sequence[Observation]) -> np.ndarray:
    """Covariance of the readings' own errors, shape (k, k).

    What lasts of each is shared with all readings of the same meter. Each
    part of it goes its own way: a counter that was set wrong is off from the first day, one that
    drifts is off on the tenth, and taken as one they would leave hardly any room for either.
    """
    variance = np.array([one.sd**2 for one in observations])
    parts = np.zeros(
        (len(observations), max((len(one.common_sds) for one in observations), default=0))
    )
    for row, one in zip(parts, observations, strict=True):
        row[: len(one.common_sds)] = one.common_sds
    meters = np.array([one.errs_with for one in observations])
    together = meters[:, None] == meters[None, :]
    return np.diag(variance - (parts**2).sum(axis=1)) + together * (parts @ parts.T)


def set_anew_covariance(observations: Sequence[Observation], full_h: np.ndarray) -> np.ndarray:
    """What the counts of a monitor share beside that, until it is set anew, shape (k, k).

    It is at `full_h` [h] that many of the draws have a full bank, so that it may be set. Of each
    count by itself it is in its own variance already.
    """
    at_h = np.array([one.at_h for one in observations])
    anew = np.array([one.anew_sd for one in observations])
    set_anew = np.searchsorted(full_h, at_h)
    shared = (set_anew[:, None] == set_anew) * np.outer(anew, anew)
    return shared - np.diag(np.diag(shared))


def fuel_covariance(
    observations: Sequence[Observation], nominal: History, passage: Passage
) -> np.ndarray:
    """Covariance due to the burn of motoring and heaters and to the litres at departure."""
    dips = np.array([one.kind == "litres" for one in observations])
    at_h = np.array([one.at_h for one in observations])
    other_L = OTHER_BURN_SD * nominal.at("other_L", at_h)[:, 0] * dips
    fuel = passage.boat.fuel
    aboard_L = ABOARD_SD * (fuel.aboard_L if fuel else 0.0) * dips
    return np.outer(other_L, other_L) + np.outer(aboard_L, aboard_L)
