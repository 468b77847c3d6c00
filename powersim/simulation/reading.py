"""The charging rule as it is followed by someone who cannot read the bank exactly."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from powersim.records import Battery
from powersim.sky import streams

if TYPE_CHECKING:
    from powersim.kernel.plant import Rule
    from powersim.records.arrays import Array

#: How wrongly the bank is read aboard, one standard deviation, as a share of its capacity: by
#: voltmeter and by monitor; common practice, no source. [-]
READING_ERROR_FRAC = {"volts": 0.10, "monitor": 0.05}


def reading_errors(battery: Battery, *, seed: int, members: int) -> Array:
    """How much more than it holds the bank seems to hold, for each member.

    Parameters
    ----------
    battery : Battery
        For how it is read.
    seed : int
        As `sky.streams` keeps it.
    members : int
        How many.

    Returns
    -------
    ndarray, shape (members,)
        One error goes with a member all the way: a meter's zero and a habit of reading stay as they
        are. [-]
    """
    read = streams.normal(streams.READING, seed=seed, index=0, members=members)[0]
    return READING_ERROR_FRAC[battery.reading] * read


def as_read(rule: Rule, battery: Battery, *, error_frac: Array) -> Rule:
    """A rule's levels as they are kept to by someone who misreads the bank.

    Parameters
    ----------
    rule : Rule
        As it is meant.
    battery : Battery
        For how it is read, and how low it may go.
    error_frac : ndarray, shape (members,)
        From `reading_errors`. [-]

    Returns
    -------
    Rule
        With start and stop of arrays shaped (members,), where the engine goes by them at all. By
        voltmeter the start alone moves: a run is stopped by the minute hand and by amperes.
    """
    if rule.start_soc == -math.inf:  # never
        return rule
    # Nobody lets a bank run flat because of a needle, nor starts the engine on a full one.
    start_soc = np.clip(rule.start_soc - error_frac, battery.flat_soc, rule.stop_soc)
    if battery.reading == "volts":
        return replace(rule, start_soc=start_soc)
    stop_soc = np.clip(rule.stop_soc - error_frac, start_soc, 1.0)
    return replace(rule, start_soc=start_soc, stop_soc=stop_soc)
