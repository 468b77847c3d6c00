"""From the sun's steps to the kernel's, which may be longer: means over whole blocks of time."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from typing import Any, TypeVar

    from powersim.physics.demand import Demand
    from powersim.records.arrays import Array, Bools
    from powersim.sky.sky import Sky

    Averaged = TypeVar("Averaged", Demand, Sky)


def mean_of(values: Array | Bools, per_step: int) -> Array:
    """Means over blocks of the last axis.

    Parameters
    ----------
    values : ndarray, shape (..., n * per_step)
        Time last.
    per_step : int
        How many make one.

    Returns
    -------
    ndarray, shape (..., n)
        One value for each block of steps.

    Examples
    --------
    >>> mean_of([1.0, 3.0, 5.0, 7.0], 2).tolist()
    [2.0, 6.0]
    """
    values = np.asarray(values, dtype=float)
    # One of each block after the other: numpy's own sum over so short an axis takes ten times as
    # long, and comes to the same.
    total = values[..., ::per_step].copy()
    for place in range(1, per_step):
        total += values[..., place::per_step]
    total /= per_step
    return total


def averaged(record: Averaged, per_step: int) -> Averaged:
    """A record whose arrays have time last, with each array averaged.

    Parameters
    ----------
    record : dataclass
        A Demand or a Sky.
    per_step : int
        How many of its steps make one.

    Returns
    -------
    dataclass
        Of the same kind; the record itself where nothing needs averaging.
    """
    if per_step == 1:
        return record
    means: dict[str, Any] = {}
    for field in fields(record):
        value = getattr(record, field.name)
        means[field.name] = mean_of(value, per_step) if isinstance(value, np.ndarray) else value
    return type(record)(**means)
