"""The passage so far, simulated once more with the engine as the log has it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING

import numpy as np

from powersim.kernel.plant import Plant
from powersim.physics.bank import soc_of
from powersim.records import Battery, Passage
from powersim.records.brief import brief
from powersim.simulation.carry import Batch
from powersim.simulation.ensemble import blocks
from powersim.simulation.factors import Factors, switches_of, with_factors
from powersim.simulation.plant import without_engine_rule
from powersim.simulation.signals import ControllerSignal, Signals
from powersim.simulation.state import start_state

if TYPE_CHECKING:
    from powersim.logbook.engine_so_far import EngineSoFar
    from powersim.simulation.member_signals import EnsembleForcing
    from powersim.simulation.prepared import Prepared

#: Charge from which on a monitor sets itself to full; judgement. [-]
SET_FULL_SOC = 0.985
#: Flows that are kept of every step so far.
_KEPT = (
    *("soc", "in_A", "out_A", "solar_A", "load_A", "charging_L", "motoring_L"),
    *("alternator_motoring_L", "heater_L", "charging", "motoring"),
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Hindcast:
    """The passage up to now, ready to be simulated with any factors.

    Attributes
    ----------
    n_steps : int
        Number of steps until now.
    step_h : float
        Length of a step. [h]
    signals : callable
        signals() gives all Signals from departure until now, block by block.
    plant : Plant
        The boat's gear, with the factors still to be applied.
    soc_start : float
        State of charge at departure. [-]
    """

    n_steps: int
    step_h: float
    signals: Callable[[], Iterable[Signals]]
    plant: Plant
    soc_start: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class History:
    """A simulated past; arrays are shaped (n + 1, members) and stand for the edges of the steps.

    Attributes
    ----------
    at_h : ndarray, shape (n + 1,)
        Time since departure. [h]
    soc : ndarray
        State of charge. [-]
    net_A : ndarray
        Current into the bank in the step that ends there, negative out of it. [A]
    net_Ah, solar_Ah, loads_Ah : ndarray
        Charge into the bank less charge out of it, solar charge, and draw of the loads, since
        departure. [Ah]
    charging_L, other_L : ndarray
        Fuel burnt since departure for charging at rest, and for all else. [L]
    engine_h, gear_h : ndarray
        Hours that the engine ran since departure, and those of them in gear. [h]
    capacity_frac : ndarray, shape (1, members)
        Capacity of the bank as a share of what the files say. [-]
    """

    at_h: np.ndarray
    soc: np.ndarray
    net_A: np.ndarray
    net_Ah: np.ndarray
    solar_Ah: np.ndarray
    loads_Ah: np.ndarray
    charging_L: np.ndarray
    other_L: np.ndarray
    engine_h: np.ndarray
    gear_h: np.ndarray
    capacity_frac: np.ndarray

    __repr__ = brief

    def mean(self, groups: int = 1) -> History:
        """The mean over members, or over each of several equal groups of members in a row.

        It has as many members as there are groups.
        """
        return self._each(lambda table: table.reshape(len(table), groups, -1).mean(axis=2))

    def chosen(self, some: np.ndarray | slice) -> History:
        """The history of some members alone."""
        return self._each(lambda table: table[:, some])

    def _each(self, change) -> History:
        tables = (one.name for one in fields(self) if one.name != "at_h")
        return replace(self, **{name: change(getattr(self, name)) for name in tables})

    def charged_Ah(self, at_h: np.ndarray) -> np.ndarray:
        """Charge into the bank until some moments, as the mean over members. [Ah]"""
        charge_Ah = self.at_h[1] * np.cumsum(np.maximum(self.net_A, 0.0), axis=0)
        return replace(self, net_Ah=charge_Ah - charge_Ah[0]).at("net_Ah", at_h).mean(axis=1)

    def counted(self, battery: Battery) -> History:
        """The same with what a right monitor shows for `net_Ah`: below 0 out of a full bank.

        It counts with the efficiency of the files, as it is set, and stands at 0 from where it
        takes the bank to be full until that is discharged.
        """
        step_h, capacity_Ah = self.at_h[1], battery.real_capacity_Ah * self.capacity_frac[0]
        kept = np.where(self.net_A > 0.0, battery.charge_efficiency_frac, 1.0) * self.net_A
        count = np.minimum((self.soc[0] - 1.0) * capacity_Ah, 0.0)
        shown = [count]
        for flow_A, soc in zip(kept[1:], self.soc[1:], strict=True):
            count = np.where(soc >= SET_FULL_SOC, 0.0, np.minimum(count + step_h * flow_A, 0.0))
            shown.append(count)
        return replace(self, net_Ah=np.array(shown))

    def at(self, name: str, at_h: np.ndarray) -> np.ndarray:
        """One of its arrays at some moments, interpolated between edges."""
        table = getattr(self, name)
        step_h = self.at_h[1] - self.at_h[0]
        place = np.clip(np.asarray(at_h) / step_h, 0.0, len(table) - 1.0)
        low = np.minimum(place.astype(int), len(table) - 2)
        part = (place - low)[:, None]
        return table[low] + part * (table[low + 1] - table[low])


def steps_until(prepared: Prepared, until_h: float) -> int:
    """Number of steps that cover some hours of a passage; 1 at least, all of them at most."""
    steps = int(np.ceil(until_h / prepared.track.step_h - 1e-9))
    return min(max(steps, 1), prepared.track.n_steps)


def hindcast_of(
    forcing: EnsembleForcing, passage: Passage, engine: EngineSoFar, *, keep: bool = False
) -> Hindcast:
    """The passage up to now in some members, with the engine as the log has it.

    No rule starts the engine. With `keep` the signals are worked out once and stay in memory.
    """
    n_steps, step_h = len(engine.charging), forcing.prepared.track.step_h

    def signals():
        for steps in blocks(n_steps, step_h=step_h):
            laid = forcing.signals(steps, motoring=engine.motoring[steps])
            # What the engine did the log knows, and the sea of those days it does not.
            yield replace(laid, ordered=engine.charging[steps], sea_lets=np.ones((laid.n_steps, 1)))

    if keep:
        kept = list(signals())
    plant = forcing.prepared.plant
    return Hindcast(
        n_steps=n_steps,
        step_h=step_h,
        signals=(lambda: kept) if keep else signals,
        # The engine ran, even where a draw has the bank too low or too cold for that by then.
        plant=replace(
            plant,
            rule=without_engine_rule(plant.rule),
            charges_flat_bank=True,
            start_above_soc=-math.inf,
            runs_in_the_cold=True,
        ),
        soc_start=passage.boat.battery.soc_at_departure,
    )


def with_sun(hindcast: Hindcast, weights: np.ndarray) -> Hindcast:
    """The same with so many times the sun in each step and member, shape (n, members)."""

    def signals():
        first = 0
        for laid in hindcast.signals():
            sun = weights[first : first + laid.n_steps]
            first += laid.n_steps
            yield replace(laid, controllers=tuple(_under(one, sun) for one in laid.controllers))

    return replace(hindcast, signals=signals)


def _under(controller: ControllerSignal, sun: np.ndarray) -> ControllerSignal:
    return replace(
        controller,
        power_W=controller.power_W * sun,
        first_A=controller.first_A * sun,
        slope_A_per_V=controller.slope_A_per_V * sun[:, None],
    )


def hindcast_as_planned(passage: Passage, prepared: Prepared, *, n_steps: int) -> Hindcast:
    """The passage up to now in the mean sky, with the engine by the boat's own rule."""
    signals = prepared.signals.between(0, n_steps)
    return Hindcast(
        n_steps=n_steps,
        step_h=signals.step_h,
        signals=lambda: [signals],
        plant=prepared.plant,
        soc_start=passage.boat.battery.soc_at_departure,
    )


def simulated(hindcast: Hindcast, factors: Factors) -> History:
    """Simulate the past with some factors, one of each for every member."""
    members, step_h, n_steps = np.size(factors.demand), hindcast.step_h, hindcast.n_steps
    plant = with_factors(hindcast.plant, factors)
    state = start_state(plant, soc=np.full(members, hindcast.soc_start))
    batch = Batch(plant=plant, state=state, step_h=step_h, switches=switches_of(factors))
    names = ("soc", "net_A", "solar", "loads", "charging_L", "other_L", "engine", "gear")
    kept = {name: np.zeros((n_steps + 1, members)) for name in names}
    kept["soc"][0] = soc_of(plant.bank, state.total_Ah)
    for signals in hindcast.signals():
        steps = slice(batch.step + 1, batch.step + 1 + signals.n_steps)
        flows = batch.through(signals, series=_KEPT)
        kept["soc"][steps] = flows["soc"]
        kept["net_A"][steps] = flows["in_A"] - flows["out_A"]
        kept["solar"][steps] = flows["solar_A"]
        kept["loads"][steps] = flows["load_A"]
        kept["charging_L"][steps] = flows["charging_L"]
        kept["other_L"][steps] = (
            flows["motoring_L"] + flows["alternator_motoring_L"] + flows["heater_L"]
        )
        kept["engine"][steps] = np.minimum(flows["charging"] + flows["motoring"], 1.0)
        kept["gear"][steps] = flows["motoring"]
    kept["net_A"][0] = kept["net_A"][1]

    def summed(name, factor=1.0):
        return np.cumsum(kept[name], axis=0) * factor

    return History(
        at_h=step_h * np.arange(n_steps + 1),
        soc=kept["soc"],
        net_A=kept["net_A"],
        net_Ah=summed("net_A", step_h) - step_h * kept["net_A"][0],
        solar_Ah=summed("solar", step_h),
        loads_Ah=summed("loads", step_h),
        charging_L=summed("charging_L"),
        other_L=summed("other_L"),
        engine_h=summed("engine", step_h),
        gear_h=summed("gear", step_h),
        capacity_frac=np.reshape(factors.capacity, (1, members)),
    )
