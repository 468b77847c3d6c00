"""When a bank reaches its floor, and when it is flat."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from powersim.kernel.told import below_frac as below_frac_of_one

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Floats


def days_to_floor(soc: Array, *, soc_start: Floats, floor_soc: float, step_h: float) -> Array:
    """Days until the state of charge first falls below the floor.

    Parameters
    ----------
    soc : ndarray, shape (steps, members)
        After each step. [-]
    soc_start : float or ndarray, shape (members,)
        Before the first. [-]
    floor_soc : float
        Charge that the bank is not to fall below. [-]
    step_h : float
        Length of a step. [h]

    Returns
    -------
    ndarray, shape (members,)
        Interpolated within the step; infinite where it never does, 0 where it begins below.

    Examples
    --------
    >>> days_to_floor(np.array([[0.6], [0.4]]), soc_start=0.8, floor_soc=0.5, step_h=24.0)
    array([1.5])
    """
    soc = np.asarray(soc)
    before = np.concatenate([np.broadcast_to(soc_start, soc.shape[1:])[None], soc[:-1]])
    below = soc < floor_soc
    step = below.argmax(axis=0)
    member = np.arange(soc.shape[1])
    fall = before[step, member] - soc[step, member]
    above = before[step, member] - floor_soc
    part = np.clip(np.divide(above, fall, out=np.zeros_like(fall), where=fall > 0), 0.0, 1.0)
    days = (step + part) * step_h / 24.0
    days = np.where(below.any(axis=0), days, np.inf)
    return np.where(before[0] < floor_soc, 0.0, days)


def below_frac(before_soc: Floats, after_soc: Floats, *, floor_soc: float) -> Array:
    """Share of a step for which charge is below its floor.

    Parameters
    ----------
    before_soc, after_soc : float or ndarray
        As the step begins and as it ends; charge goes straight from one to the other. [-]
    floor_soc : float
        Charge that the bank is not to fall below. [-]

    Returns
    -------
    ndarray
        0 for a charge that stays above it, 1 for one that stays below. [-]

    Examples
    --------
    >>> below_frac(np.array([0.4, 0.6, 0.4]), np.array([0.6, 0.7, 0.4]), floor_soc=0.5)
    array([0.5, 0. , 1. ])
    """
    before_soc, after_soc = np.broadcast_arrays(before_soc, after_soc)
    frac = np.zeros(np.shape(before_soc))
    below = np.minimum(before_soc, after_soc) < floor_soc  # few, mostly
    if below.any():
        of_each = np.vectorize(below_frac_of_one, otypes=[float])
        frac[below] = of_each(before_soc[below], after_soc[below], floor_soc=floor_soc)
    return frac


def days_to_flat(dark: Array, *, step_h: float) -> Array:
    """Days until electronics first go dark.

    Parameters
    ----------
    dark : ndarray, shape (steps, members)
        1 where the bank is flat in a step: too little charge, or too little voltage under load.
    step_h : float
        Length of a step. [h]

    Returns
    -------
    ndarray, shape (members,)
        To the beginning of that step; infinite where it never comes.

    Examples
    --------
    >>> days_to_flat(np.array([[0.0], [0.0], [1.0]]), step_h=12.0)
    array([1.])
    """
    is_dark = np.asarray(dark) > 0
    return np.where(is_dark.any(axis=0), is_dark.argmax(axis=0) * step_h / 24.0, np.inf)


def longest_gap_days(since_full_h: Array) -> Array:
    """Longest time between full charges, the time before the first and after the last included.

    Parameters
    ----------
    since_full_h : ndarray, shape (steps, members)
        Time since the bank was last full, departure counting as full if it was. [h]

    Returns
    -------
    ndarray, shape (members,)
        In days.

    Examples
    --------
    >>> longest_gap_days(np.array([[24.0], [48.0], [0.0], [24.0]]))
    array([2.])
    """
    return np.asarray(since_full_h).max(axis=0) / 24.0
