"""What the loads ask of the bank by the group that they are kept or shed with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from powersim.physics.demand import GROUPS, Demand
from powersim.records.brief import brief

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroupDemand:
    """A Demand summed by group, in the order of GROUPS.

    Attributes
    ----------
    current_A, power_W, supply_loss_W, fuel_L_per_h : ndarray, shape (4, n)
        As in Demand. [A], [W], [W], [L/h]
    """

    current_A: Array
    power_W: Array
    supply_loss_W: Array
    fuel_L_per_h: Array

    __repr__ = brief


def group_sums(demand: Demand) -> GroupDemand:
    """A demand summed by group.

    Parameters
    ----------
    demand : Demand
        Row by row.

    Returns
    -------
    GroupDemand
        In the order of GROUPS.

    Notes
    -----
    One row after another in the order of the sums, so that a row of zeros changes no digit.
    """

    def summed(rows: Array) -> Array:
        sums = np.zeros((len(GROUPS), rows.shape[1]))
        for row in demand.order:
            sums[GROUPS.index(demand.groups[row])] += rows[row]
        return sums

    return GroupDemand(
        current_A=summed(demand.current_A),
        power_W=summed(demand.power_W),
        supply_loss_W=summed(demand.supply_loss_W),
        fuel_L_per_h=summed(demand.fuel_L_per_h),
    )


def group_peaks_A(demand: Demand, *, at_V: float) -> Array:
    """What is drawn above the step's mean when the heaviest load of a group is fully on.

    Parameters
    ----------
    demand : Demand
        Row by row.
    at_V : float
        Voltage at which power is turned into current. [V]

    Returns
    -------
    ndarray, shape (4, n)
        Excess of the one load of each group that has the largest. [A]

    Notes
    -----
    A bank sags below a cut-out voltage if and only if it does so with power loads taken at that
    voltage, so `at_V` = the cut-out voltage loses nothing where drop-out is what is asked.
    """
    full = np.array([demand.full_A, demand.full_W])
    mean = np.array([demand.current_A, demand.power_W])
    excess_A = _excess_A(full, mean, demand.on_frac > 0.0, at_V)
    return np.array(
        [
            excess_A[[row == group for row in demand.groups]].max(axis=0, initial=0.0)
            for group in GROUPS
        ]
    )


def _excess_A(full: Array, mean: Array, is_on: Bools, volts_V: float) -> Array:
    """Amperes above the mean, (rows, n), of each row while it is fully on."""
    above = full[..., None] - mean
    return np.where(is_on, np.maximum(above[0] + above[1] / volts_V, 0.0), 0.0)
