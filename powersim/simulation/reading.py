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
#: Parts of it that stay (a meter's zero, a counter that was set wrong) and that are new at each
#: reading (what flowed before it, the load that happens to be on, a hasty look), where the bank is
#: read at set times: 0.8^2 + 0.6^2 = 1, so that all of it is as large as before; common practice,
#: no source. [-]
LASTING_FRAC, ANEW_FRAC = 0.8, 0.6


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


def errors_anew(*, first_hour: int, hours: int, seed: int, members: int) -> Array:
    """By how much readings err that are taken in some hours, besides what stays.

    Parameters
    ----------
    first_hour, hours : int
        The first, counted from 1970 in UTC, and how many.
    seed : int
        As `sky.streams` keeps it.
    members : int
        How many.

    Returns
    -------
    ndarray, shape (hours, members)
        In standard deviations: `anew_sd` has how large one is. All readings of a member within an
        hour err alike, whatever the rule that asks for them. [-]
    """
    return np.concatenate(
        [
            streams.normal(streams.READING_AGAIN, seed=seed, index=hour, members=members)
            for hour in range(first_hour, first_hour + hours)
        ]
    )


def anew_sd(battery: Battery) -> float:
    """How large the part of a reading's error is that is new each time.

    Parameters
    ----------
    battery : Battery
        For how it is read.

    Returns
    -------
    float
        One standard deviation, as a share of the bank's capacity. [-]
    """
    return ANEW_FRAC * READING_ERROR_FRAC[battery.reading]


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
        voltmeter the start alone moves: a run is stopped by the minute hand and by amperes. Where
        the bank is read at set times it moves by the lasting part of the error; the other part is
        a signal of the step.
    """
    if rule.start_soc == -math.inf:  # never
        return rule
    if rule.at_readings > 0.0:
        error_frac = LASTING_FRAC * error_frac
    # Nobody lets a bank run flat because of a needle, nor starts the engine on a full one.
    highest_soc = min(rule.stop_soc, 1.0)
    start_soc = np.clip(rule.start_soc - error_frac, battery.flat_soc, highest_soc)
    if battery.reading == "volts" or rule.stop_soc == math.inf:
        return replace(rule, start_soc=start_soc)
    stop_soc = np.clip(rule.stop_soc - error_frac, start_soc, 1.0)
    return replace(rule, start_soc=start_soc, stop_soc=stop_soc)
