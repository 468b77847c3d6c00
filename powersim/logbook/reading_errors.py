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

    What lasts of each is shared with all readings of the same column, as the same meter's.
    """
    sd, common_sd = (
        np.array([getattr(one, name) for one in observations]) for name in ("sd", "common_sd")
    )
    columns = np.array([one.column for one in observations])
    together = columns[:, None] == columns[None, :]
    return np.diag(sd**2 - common_sd**2) + together * np.outer(common_sd, common_sd)


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
