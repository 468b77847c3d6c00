"""The passage so far, once more through the simulation, with the engine as the log has it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from powersim.physics.bank import soc_of
from powersim.simulation.factors import Factors, signals_with_factors, switches_of, with_factors
from powersim.simulation.kernel import steps as kernel_steps
from powersim.simulation.plant import Plant, has_charging_alternator, without_engine_rule
from powersim.simulation.signals import Signals
from powersim.simulation.state import start_state

#: Hours of the day, in ship's time, in which a run of which only the length is known is laid. [h]
_DAYTIME_h = (9.0, 19.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EngineSoFar:
    """What the engine did until now.

    Attributes
    ----------
    charging : ndarray of bool, shape (n,)
        Steps in which it charged at rest.
    motoring : ndarray, shape (n,)
        Share of each step in gear. [-]
    told : bool
        Whether the log's hour meter tells it; if not, it is the plan's.
    """

    charging: np.ndarray
    motoring: np.ndarray
    told: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Past:
    """The passage up to now, ready to be simulated with any factors.

    Attributes
    ----------
    signals : Signals
        Of the mean sky, with the engine's runs laid in.
    plant : Plant
        Whose rule never starts the engine.
    soc_start : float
        At departure. [-]
    engine : EngineSoFar
    """

    signals: Signals
    plant: Plant
    soc_start: float
    engine: EngineSoFar

    @property
    def n_steps(self) -> int:
        """Steps until now."""
        return self.signals.n_steps

    def edges_h(self) -> np.ndarray:
        """Time after departure at the steps' edges, shape (n + 1,). [h]"""
        return self.signals.step_h * np.arange(self.n_steps + 1)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class History:
    """What a simulated past came to; every array is shaped (n + 1, members), at the steps' edges.

    Attributes
    ----------
    at_h : ndarray, shape (n + 1,)
        After departure. [h]
    soc : ndarray
        State of charge. [-]
    net_A : ndarray
        Into the bank in the step that ends there, below 0 out of it. [A]
    bank_V : ndarray
        In the step that ends there. [V]
    solar_Ah, loads_Ah : ndarray
        Since departure. [Ah]
    charging_L, other_L : ndarray
        Burnt since departure, at rest to charge, and else. [L]
    engine_h : ndarray
        Since departure. [h]
    """

    at_h: np.ndarray
    soc: np.ndarray
    net_A: np.ndarray
    bank_V: np.ndarray
    solar_Ah: np.ndarray
    loads_Ah: np.ndarray
    charging_L: np.ndarray
    other_L: np.ndarray
    engine_h: np.ndarray

    def at(self, name, at_h):
        """One of its arrays at some moments, in proportion between edges.

        Parameters
        ----------
        name : str
        at_h : ndarray, shape (k,)
            After departure. [h]

        Returns
        -------
        ndarray, shape (k, members)
        """
        table = getattr(self, name)
        step_h = self.at_h[1] - self.at_h[0]
        place = np.clip(np.asarray(at_h) / step_h, 0.0, len(table) - 1.0)
        low = np.minimum(place.astype(int), len(table) - 2)
        part = (place - low)[:, None]
        return table[low] + part * (table[low + 1] - table[low])


def steps_until(prepared, until_h: float) -> int:
    """How many steps it takes to cover some hours of a passage.

    Parameters
    ----------
    prepared : Prepared
    until_h : float
        After departure. [h]

    Returns
    -------
    int
        At least 1, at most those of the passage.
    """
    steps = int(np.ceil(until_h / prepared.track.step_h - 1e-9))
    return min(max(steps, 1), prepared.track.n_steps)


def past_of(passage, prepared, engine: EngineSoFar) -> Past:
    """The passage up to now.

    Parameters
    ----------
    passage : Passage
    prepared : Prepared
        In the mean sky.
    engine : EngineSoFar

    Returns
    -------
    Past
    """
    signals = prepared.signals.between(0, len(engine.charging))
    return Past(
        signals=engine_laid_into(signals, engine),
        plant=replace(prepared.plant, rule=without_engine_rule(prepared.plant.rule)),
        soc_start=passage.boat.battery.soc_at_departure,
        engine=engine,
    )


def engine_laid_into(signals: Signals, engine: EngineSoFar, first: int = 0) -> Signals:
    """Signals with the engine as it was.

    Parameters
    ----------
    signals : Signals
        From step `first` on.
    engine : EngineSoFar
    first : int

    Returns
    -------
    Signals
    """
    steps = slice(first, first + signals.n_steps)
    charging, motoring = engine.charging[steps], engine.motoring[steps]
    return replace(
        signals,
        ordered=charging.reshape(len(charging), -1),
        motoring=motoring.reshape(len(motoring), -1),
    )


def engine_from_log(readings, passage, prepared, *, n_steps: int) -> EngineSoFar:
    """What the engine did, by the log's hour meter.

    Parameters
    ----------
    readings : sequence of Reading
        In order of time.
    passage : Passage
    prepared : Prepared
        In the mean sky.
    n_steps : int
        Steps until now.

    Returns
    -------
    EngineSoFar
        Between two readings of the meter the engine was in gear as planned, or for less if the
        meter gained less, and what is left of the gain it charged; in daytime, since nobody
        writes down when. Outside of the readings, and without any, all is as planned.
    """
    track, step_h = prepared.track, prepared.track.step_h
    planned = _as_planned(passage, prepared, n_steps)
    metered = [one for one in readings if one.entry.engine_h is not None]
    if len(metered) < 2:
        return planned
    charging, motoring = planned.charging.copy(), planned.motoring.copy()
    able = has_charging_alternator(passage.boat)
    ship_h = ((track.mid_utc_s[:n_steps] / 3600.0) + track.ship_offset_h[:n_steps]) % 24.0
    by_day = (ship_h >= _DAYTIME_h[0]) & (ship_h < _DAYTIME_h[1])
    carried_h = 0.0
    for before, after in pairwise(metered):
        first, last = round(before.at_h / step_h), min(round(after.at_h / step_h), n_steps)
        if last <= first:
            continue
        here = slice(first, last)
        gained_h = after.entry.engine_h - before.entry.engine_h + carried_h
        in_gear_h = float(motoring[here].sum()) * step_h
        if in_gear_h > max(gained_h, 0.0):
            motoring[here] *= max(gained_h, 0.0) / in_gear_h
        left_h = max(gained_h - in_gear_h, 0.0)
        count = min(round(left_h / step_h), last - first) if able else 0
        carried_h = left_h - count * step_h if able else 0.0
        charging[here] = _laid(by_day[here] & (motoring[here] < 1.0), count)
    return EngineSoFar(charging=charging, motoring=motoring, told=True)


def _laid(daytime, count):
    """So many steps in the middle of the daytime ones, spread over the days; then others."""
    chosen = np.zeros(len(daytime), dtype=bool)
    if count <= 0:
        return chosen
    edges = np.flatnonzero(np.diff(np.concatenate([[0], daytime.astype(int), [0]])))
    spells = [np.arange(begin, end) for begin, end in edges.reshape(-1, 2)]
    # From each day's middle outwards, all days alike.
    orders = [spell[np.argsort(np.abs(spell - spell.mean()), kind="stable")] for spell in spells]
    longest = max((len(order) for order in orders), default=0)
    wanted = [order[k] for k in range(longest) for order in orders if k < len(order)]
    night = [step for step in range(len(daytime)) if not daytime[step]]
    chosen[(wanted + night)[:count]] = True
    return chosen


def _as_planned(passage, prepared, n_steps) -> EngineSoFar:
    """The engine as the plan's own rule has it in the mean sky."""
    signals, plant = prepared.signals.between(0, n_steps), prepared.plant
    state = start_state(plant, soc=passage.boat.battery.soc_at_departure)
    runs = [flows.charging > 0.0 for flows, _ in kernel_steps(signals, plant=plant, state=state)]
    return EngineSoFar(
        charging=np.array(runs, dtype=bool), motoring=signals.motoring[:, 0].copy(), told=False
    )


def simulated(past: Past, factors: Factors, *, signals_in_blocks=None) -> History:
    """The past with some factors.

    Parameters
    ----------
    past : Past
    factors : Factors
        Of arrays shaped (members,).
    signals_in_blocks : iterable of Signals, optional
        One after the other, with the engine laid in, in place of those of the mean sky.

    Returns
    -------
    History
    """
    members, step_h, n_steps = len(factors.demand), past.signals.step_h, past.n_steps
    plant = with_factors(past.plant, factors)
    switches = switches_of(factors)
    state = start_state(plant, soc=np.full(members, past.soc_start))
    names = ("soc", "net_A", "bank_V", "solar", "loads", "charging_L", "other_L", "engine")
    kept = {name: np.zeros((n_steps + 1, members)) for name in names}
    kept["soc"][0] = soc_of(plant.bank, state.total_Ah)
    step = 0
    for signals in signals_in_blocks or [past.signals]:
        laid = signals_with_factors(signals, factors)
        for flows, after in kernel_steps(laid, plant=plant, state=state, switches=switches):
            step += 1
            kept["soc"][step] = flows.soc
            kept["net_A"][step] = flows.in_A - flows.out_A
            kept["bank_V"][step] = flows.bank_V
            kept["solar"][step] = flows.solar_A
            kept["loads"][step] = flows.load_A
            kept["charging_L"][step] = flows.charging_L
            kept["other_L"][step] = flows.motoring_L + flows.alternator_motoring_L + flows.heater_L
            kept["engine"][step] = np.minimum(flows.charging + flows.motoring, 1.0)
            state = after
    kept["net_A"][0], kept["bank_V"][0] = kept["net_A"][1], kept["bank_V"][1]

    def summed(name, factor=1.0):
        return np.cumsum(kept[name], axis=0) * factor

    return History(
        at_h=past.edges_h(),
        soc=kept["soc"],
        net_A=kept["net_A"],
        bank_V=kept["bank_V"],
        solar_Ah=summed("solar", step_h),
        loads_Ah=summed("loads", step_h),
        charging_L=summed("charging_L"),
        other_L=summed("other_L"),
        engine_h=summed("engine", step_h),
    )
