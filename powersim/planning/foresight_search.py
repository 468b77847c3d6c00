"""The search through all timetables of a passage for the one of least diesel.

It is dynamic programming over time. A label is a whole State of the kernel, so each of them is a
passage that could happen; the cheapest of those with nearly the same charge goes on
(docs/model/foresight.md).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from powersim.physics import bank as physics
from powersim.physics.engine import charging_fuel_L, shaft_W
from powersim.simulation.allowed import allowed_steps
from powersim.simulation.carry import Batch
from powersim.simulation.flat import Laid
from powersim.simulation.plant import has_charging_alternator
from powersim.simulation.state import start_state

if TYPE_CHECKING:
    from powersim.records import Passage
    from powersim.simulation.prepared import Prepared

#: Labels compete whose charge differs by less; an eighth of it changes no shipped passage by more
#: than 0.01 L (docs/model/foresight.md). [-]
BIN_SOC = 0.002
#: Where the floor cannot be held, an hour below it counts as so much diesel, and as a thousand
#: hours for which a full charge is overdue. Both are far above what any passage burns. [L/h]
_BELOW_FLOOR_L_per_h, _OVERDUE_L_per_h = 1e6, 1e3
#: Labels compete whose last full charges lie within the same so many hours. [h]
_FULL_AT_BIN_h = 24.0
#: Charge at which fuel is turned into charge: far enough from full for the alternator's whole
#: output. [-]
_BULK_SOC = 0.7
#: A label stays this far on the right side of a limit, so that rounding does not break it. [-]
SLACK = 1e-9
#: Flows of a step that a label needs.
_SEEN = ("soc", "dark", "since_full_h", "charging_L", "alternator_motoring_L")


class TimetableLimits(NamedTuple):
    """The limits that a timetable has to keep.

    Attributes
    ----------
    floor_soc, end_soc : float
        Least charge at any time, and at landfall. [-]
    since_full_h : float
        Longest time without a full charge; infinity for no limit. [h]
    shortest, longest : int
        Fewest and most steps of one run.
    counted_from : int
        The step from which on the floor counts.
    """

    floor_soc: float
    end_soc: float
    since_full_h: float
    shortest: int
    longest: int
    counted_from: int = 0


class _Labels(NamedTuple):
    """Passages so far, side by side: their states; as arrays shaped (labels,) the steps that their
    run has lasted (0: off), the fuel burnt for charging and the penalty for broken limits; and
    which of them go on."""

    batch: Batch
    ran: np.ndarray
    fuel_L: np.ndarray
    breach_L: np.ndarray
    kept: np.ndarray


class FoundTimetable(NamedTuple):
    """A timetable, with the figures of its label.

    Attributes
    ----------
    ordered : ndarray of bool, shape (n,)
        Whether the engine charges in each step.
    fuel_L : float
        Diesel for charging. [L]
    soc : float
        State of charge at landfall. [-]
    """

    ordered: np.ndarray
    fuel_L: float
    soc: float


class Search:
    """The search through a passage's timetables.

    `prepared` is of the same passage in one sky, with a rule that never starts the engine. Labels
    compete whose charge differs by less than `bin_soc`. `progress` is called now and then with the
    share of the work that is done.
    """

    def __init__(
        self,
        passage: Passage,
        prepared: Prepared,
        limits: TimetableLimits,
        *,
        bin_soc: float,
        progress: Callable | None,
    ) -> None:
        self.limits, self.bin_soc, self.progress = limits, bin_soc, progress
        self.plant, self.signals = prepared.plant, prepared.signals
        # Order 0 is to leave the engine alone, and 1 to charge.
        orders = np.tile([0.0, 1.0], (self.signals.n_steps, 1))
        self.laid = Laid(self.signals, orders={"ordered": orders})
        boat, track = passage.boat, prepared.track
        self.start_soc = boat.battery.soc_at_departure
        # Unlike prepared, the passage may have been given other hours since.
        self.may_run, self.may_start = (
            allowed.tolist() for allowed in allowed_steps(boat.charging, track)
        )
        self.by_engine = boat.charging.by_engine and has_charging_alternator(boat)
        self.worth_L = _worth_L(self.plant) if self.by_engine else 0.0

    def timetable(self, *, may_break: bool) -> FoundTimetable | None:
        """The cheapest timetable.

        Parameters
        ----------
        may_break : bool
            Whether limits may be broken, as little as can be.

        Returns
        -------
        FoundTimetable or None
            None if every timetable breaks a limit on the way, and may not. Charge that lacks at
            landfall is no reason for None.
        """
        low = self.start_soc < self.limits.floor_soc and not self.limits.counted_from
        if low and not may_break:
            return None
        none = np.zeros(1)
        batch = Batch(
            plant=self.plant,
            state=start_state(self.plant, soc=none + self.start_soc),
            step_h=self.signals.step_h,
        )
        one = np.zeros(1, dtype=np.int64)
        labels = _Labels(batch, one, none, none, kept=one)
        links = []
        for step in range(self.signals.n_steps):
            parent, ordered = self._branches(labels.ran[labels.kept], step)
            labels = self._after(
                labels, parent, ordered, step, counts=step + 1 >= self.limits.counted_from
            )
            kept = self._kept(labels, step, may_break=may_break)
            if not kept.size:
                return None
            labels = labels._replace(kept=kept)
            # What was ordered but could not run needs no order.
            links.append((2 * parent[kept] + (labels.ran[kept] > 0)).astype(np.int32))
            if self.progress is not None and (step + 1) % 96 == 0:
                self.progress((step + 1) / self.signals.n_steps)
        return self._best(labels, links)

    def _branches(self, ran, step):
        """Parents of the next labels, and whether each of these runs the engine."""
        if not (self.by_engine and self.may_run[step] and self.signals.motoring[step, 0] < 1.0):
            return np.arange(len(ran)), np.zeros(len(ran), dtype=bool)
        off = np.flatnonzero((ran == 0) | (ran >= self.limits.shortest))
        begins = (ran == 0) & self.may_start[step]
        on = np.flatnonzero(begins | ((ran > 0) & (ran < self.limits.longest)))
        return np.concatenate([off, on]), np.arange(len(off) + len(on)) >= len(off)

    def _after(self, labels, parent, ordered, step, *, counts):
        """All branches after a step of the kernel; `counts` says whether the floor does."""
        parent = labels.kept[parent]
        batch = labels.batch.taken(parent, order_of=ordered.astype(np.int64))
        flows = batch.through(self.laid.between(step, step + 1), series=_SEEN)
        flow = {name: values[0] for name, values in flows.items()}
        limits, step_h = self.limits, self.signals.step_h
        below = np.maximum(limits.floor_soc + SLACK - flow["soc"], 0.0) * counts
        dark = flow["dark"] > 0
        # Once at the floor, twice when empty, and once more when dark.
        hours = step_h * ((below > 0.0) * (1.0 + below) + dark)
        overdue_h = step_h * (flow["since_full_h"] > limits.since_full_h + SLACK)
        return _Labels(
            batch=batch,
            # An engine without fuel does not run, whatever was ordered.
            ran=np.where(batch.state.running & ordered, labels.ran[parent] + 1, 0),
            fuel_L=labels.fuel_L[parent] + flow["charging_L"] + flow["alternator_motoring_L"],
            breach_L=labels.breach_L[parent]
            + _BELOW_FLOOR_L_per_h * hours
            + _OVERDUE_L_per_h * overdue_h,
            kept=np.arange(len(parent)),
        )

    def _kept(self, labels, step, *, may_break):
        """The cheapest label of each kind. A little more charge than others in the bin counts as
        the fuel that the engine would need for it."""
        whole = np.arange(len(labels.ran)) if may_break else np.flatnonzero(labels.breach_L == 0.0)
        if not whole.size:
            return whole
        state, ran = labels.batch.state, labels.ran[whole]
        soc = physics.soc_of(self.plant.bank, state.total_Ah)
        cost_L = (labels.fuel_L + labels.breach_L - self.worth_L * soc)[whole]
        kind = self._kind(state, soc, step)[whole]
        order = np.lexsort((cost_L, ran, kind))
        kind, ran = kind[order], ran[order]
        changes = kind[1:] != kind[:-1]
        first = np.ones(len(order), dtype=bool)
        first[1:] = changes | (ran[1:] != ran[:-1])
        order, ran = order[first], ran[first]
        if ran.any():
            place = np.concatenate([[0], np.cumsum(changes)])[first]
            useful = self._useful(place, ran, cost_L[order])
            order = order[useful]
        return whole[order]

    def _kind(self, state, soc, step):
        """Number of the bin of charge; with a full-charge interval, of the day of the last full
        charge and of the progress of the next one too."""
        kind = (soc / self.bin_soc).astype(np.int64)
        if math.isinf(self.limits.since_full_h):
            return kind
        # The day itself: labels that are once in the same bin stay in it.
        full_at_h = (step + 1) * self.signals.step_h - state.since_full_h
        days = np.rint(full_at_h / _FULL_AT_BIN_h).astype(np.int64)
        tail = np.rint(state.tail_h / self.signals.step_h).astype(np.int64)
        return (kind * (days.max() + 1) + days) * (tail.max() + 1) + tail

    def _useful(self, place, ran, cost_L):
        """Where no shorter run of the same kind is as cheap: if both may stop, the shorter may go
        on for longer."""
        shortest = self.limits.shortest
        table = np.full((place[-1] + 1, self.limits.longest + 1), np.inf)
        table[place, ran] = cost_L
        least = np.minimum.accumulate(table[:, shortest:], axis=1)
        useful = np.ones_like(table, dtype=bool)
        useful[:, shortest + 1 :] = table[:, shortest + 1 :] < least[:, :-1]
        return useful[place, ran]

    def _best(self, labels, links):
        """Trace back the label that broke limits least, lacks least at the end and is cheapest."""
        kept = labels.kept
        fuel_L, breach_L = labels.fuel_L[kept], labels.breach_L[kept]
        soc = physics.soc_of(self.plant.bank, labels.batch.state.total_Ah[kept])
        lacking = np.maximum(self.limits.end_soc - soc, 0.0)
        lacking[lacking <= SLACK] = 0.0
        best = label = int(np.lexsort((fuel_L, lacking, breach_L))[0])
        ordered = np.zeros(len(links), dtype=bool)
        for step in reversed(range(len(links))):
            link = links[step][label]
            ordered[step], label = link & 1, link >> 1
        return FoundTimetable(ordered, float(fuel_L[best]), float(soc[best]))


def _worth_L(plant):
    """Diesel for a whole bank of charge at the alternator's whole output. [L]"""
    alternator, bank = plant.alternator, plant.bank
    shaft_Wh = shaft_W(
        current_A=alternator.charging_A,
        bank_V=physics.emf_V(bank, _BULK_SOC),
        drop_V=alternator.cable_drop_V,
        efficiency_frac=alternator.efficiency_frac,
    )
    an_hour_L = charging_fuel_L(
        run_h=1.0,
        burn_L_per_h=plant.burn_L_per_h,
        shaft_Wh=shaft_Wh,
        slope_L_per_kWh=plant.charging_slope_L_per_kWh,
    )
    stays = physics.coulombic_frac(bank, _BULK_SOC)
    return an_hour_L / (alternator.charging_A * stays) * bank.capacity_Ah
