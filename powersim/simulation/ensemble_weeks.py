"""An ensemble week by week: what each member ran, burnt, took in and fell to in each week."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from powersim.records.brief import brief
from powersim.simulation.summary import PART_DAYS

if TYPE_CHECKING:
    from powersim.records.arrays import Array
    from powersim.simulation.carry import Batch

#: The same weeks as the summary's parts. [h]
WEEK_h = 24.0 * PART_DAYS
#: Of the driver's sums: ledger -> name here, in litres as it is, or in hours and Ah by the step.
_BY_STEP = {"charging_L": "charging_L", "motoring_L": "motoring_L"}
_BY_HOUR = {
    "charging": "charging_h",
    "motoring": "motoring_h",
    "solar_A": "solar_Ah",
    "alternator_A": "alternator_Ah",
    "load_A": "loads_Ah",
    "unserved_A": "unserved_Ah",
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EnsembleWeeks:
    """The weeks of a passage in many members; the last one may be shorter.

    Attributes
    ----------
    start_h, end_h : ndarray, shape (weeks,)
        When each begins and ends, after departure. [h]
    runs : ndarray, shape (weeks, members)
        How often the engine was started to charge. A run that goes on from the week before belongs
        to the week in which it began; its hours and litres belong to the week they fall in.
    charging_h, motoring_h : ndarray, shape (weeks, members)
        Engine at rest, and in gear. [h]
    charging_L, motoring_L : ndarray, shape (weeks, members)
        What charging runs and motoring burnt, as wanted. [L]
    solar_Ah, alternator_Ah, loads_Ah : ndarray, shape (weeks, members)
        Charge over the bus. [Ah]
    others_Ah : dict of str to ndarray, shape (weeks, members)
        The same of the boat's other chargers, by ledger, such as wind_Ah. [Ah]
    surplus_Ah, unserved_Ah : ndarray, shape (weeks, members)
        Offered by sun, wind and water and not taken; what loads went without. [Ah]
    lowest_soc : ndarray, shape (weeks, members)
        Lowest state of charge, from when on it counts. [-]
    """

    start_h: Array
    end_h: Array
    runs: Array
    charging_h: Array
    motoring_h: Array
    charging_L: Array
    motoring_L: Array
    solar_Ah: Array
    alternator_Ah: Array
    loads_Ah: Array
    others_Ah: Mapping[str, Array]
    surplus_Ah: Array
    unserved_Ah: Array
    lowest_soc: Array

    __repr__ = brief

    @property
    def days(self) -> Array:
        """How long each is. (weeks,) [days]"""
        return (self.end_h - self.start_h) / 24.0


def stretches(n_steps: int, *, step_h: float, most_h: float) -> Iterator[slice]:
    """The passage cut at week ends, and each week into equal stretches of whole hours.

    Parameters
    ----------
    n_steps : int
        Of the passage; whole hours.
    step_h : float
        Length of a step. [h]
    most_h : float
        How long a stretch is at most, a whole number of hours. [h]

    Yields
    ------
    slice
        Of steps, in order; a week's last stretch may be shorter.

    Examples
    --------
    >>> [(each.start, each.stop) for each in stretches(180, step_h=1.0, most_h=96.0)]
    [(0, 84), (84, 168), (168, 180)]
    """
    per_hour, per_week = round(1.0 / step_h), round(WEEK_h / step_h)
    for first in range(0, n_steps, per_week):
        last = min(first + per_week, n_steps)
        hours = (last - first) // per_hour
        length = per_hour * math.ceil(hours / math.ceil(hours / most_h))
        for at in range(first, last, length):
            yield slice(at, min(at + length, last))


class WeekSums:
    """What a run of many members comes to by the end of each week, noted down on the way.

    Parameters
    ----------
    batch : Batch
        The run, before its first step, with ledgers.LEDGERS added up.
    n_steps : int
        Of the passage.
    step_h : float
        Length of a step. [h]
    others : sequence of str
        Sources of the boat's other chargers, such as "wind".
    counted_from_h : float
        From when on charge counts, as the batch has it. [h]
    """

    def __init__(
        self,
        batch: Batch,
        *,
        n_steps: int,
        step_h: float,
        others: Sequence[str] = (),
        counted_from_h: float = 0.0,
    ) -> None:
        self._batch, self._step_h, self._n_steps = batch, step_h, n_steps
        self._others = tuple(others)
        self._per_week = round(WEEK_h / step_h)
        weeks = math.ceil(n_steps / self._per_week)
        self._ledgers = (*_BY_STEP, *_BY_HOUR, *(f"{source}_A" for source in self._others))
        shape = (weeks, batch.members)
        # Totals since departure: the week is what it adds to the one before.
        self._totals = {name: np.zeros(shape) for name in (*self._ledgers, "runs", "surplus")}
        self._lowest_soc = np.full(shape, np.inf)
        # As the kernel counts (kernel/told.py): from the end of the last step that is excused.
        excused = max(0, math.ceil(counted_from_h / step_h - 0.5))
        self._first = max(excused - 1, 0)
        if not excused:
            self._lowest_soc[0] = batch.told["lowest_soc"]

    def take(self, steps: slice, soc: Array) -> None:
        """Note what has come by the end of a stretch that the run has gone through.

        Parameters
        ----------
        steps : slice
            Of the passage, all in one week.
        soc : ndarray, shape (steps, members)
            State of charge at the end of each step. [-]
        """
        week, batch = steps.start // self._per_week, self._batch
        for name in self._ledgers:
            self._totals[name][week] = batch.sums[name]
        self._totals["runs"][week] = batch.told["runs"]
        self._totals["surplus"][week] = batch.surplus_A
        counted = soc[max(self._first - steps.start, 0) :]
        if len(counted):
            lowest_soc = self._lowest_soc[week]
            np.minimum(lowest_soc, counted.min(axis=0), out=lowest_soc)

    def weeks(self) -> EnsembleWeeks:
        """All weeks, once the last stretch is taken.

        Returns
        -------
        EnsembleWeeks
            Each week's own amounts.
        """
        step_h = self._step_h
        own = {name: np.diff(totals, axis=0, prepend=0.0) for name, totals in self._totals.items()}
        ends = np.arange(1, len(self._lowest_soc) + 1) * self._per_week
        return EnsembleWeeks(
            start_h=(ends - self._per_week) * step_h,
            end_h=np.minimum(ends, self._n_steps) * step_h,
            runs=own["runs"],
            lowest_soc=self._lowest_soc,
            # A difference of two totals that rose by nothing but rounding is nothing.
            surplus_Ah=np.maximum(own["surplus"], 0.0) * step_h,
            others_Ah={f"{source}_Ah": own[f"{source}_A"] * step_h for source in self._others},
            **{name: own[ledger] for ledger, name in _BY_STEP.items()},
            **{name: own[ledger] * step_h for ledger, name in _BY_HOUR.items()},
        )
