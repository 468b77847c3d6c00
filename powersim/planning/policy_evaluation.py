"""Many charging rules tried side by side: every rule in every weather, through the real kernel."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from powersim.physics import bank as physics
from powersim.planning.signal_blocks import BLOCK_DAYS, SignalBlocks
from powersim.records import Boat, ChargingRule
from powersim.records.brief import brief
from powersim.simulation.aboard import aboard_of
from powersim.simulation.carry import LEDGERS, Batch
from powersim.simulation.coarser import mean_of
from powersim.simulation.plant import has_charging_alternator, rule_of
from powersim.simulation.prepare import allowed_hours
from powersim.simulation.reading import as_read
from powersim.simulation.timetable import daily_steps

if TYPE_CHECKING:
    from powersim.planning.scenario import MeanSky
    from powersim.simulation.aboard import ForcingAboard
    from powersim.simulation.member_signals import EnsembleForcing

#: Rules times members that are carried at once, for the memory's sake.
COLUMNS = 40_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PolicyEvaluation:
    """What some rules came to; every array is shaped (rules, members).

    Attributes
    ----------
    rules : tuple of ChargingRule
    lowest_soc, end_soc : ndarray
        Lowest state of charge from when on it counts, and that at landfall. [-]
    below_floor : ndarray of bool
        Whether charge was below its floor from when on it counts, or all went dark at any time.
    below_floor_h : ndarray
        Time below the floor, from when on it counts. [h]
    dark_h : ndarray
        Time without electronics. [h]
    charging_L : ndarray
        Diesel for the bank: charging runs, and the alternator's share while motoring. [L]
    charging_h : ndarray
        Engine at rest, to charge. [h]
    charging_runs : ndarray
        How often it was started for that.
    burnt_L, fuel_left_L : ndarray
        At landfall. [L]
    fuel_short_L : ndarray
        Wanted and not there. [L]
    longest_since_full_h : ndarray
        Longest time between full charges. [h]
    """

    rules: tuple[ChargingRule, ...]
    lowest_soc: np.ndarray = field(repr=False)
    end_soc: np.ndarray = field(repr=False)
    below_floor: np.ndarray = field(repr=False)
    below_floor_h: np.ndarray = field(repr=False)
    dark_h: np.ndarray = field(repr=False)
    charging_L: np.ndarray = field(repr=False)
    charging_h: np.ndarray = field(repr=False)
    charging_runs: np.ndarray = field(repr=False)
    burnt_L: np.ndarray = field(repr=False)
    fuel_left_L: np.ndarray = field(repr=False)
    fuel_short_L: np.ndarray = field(repr=False)
    longest_since_full_h: np.ndarray = field(repr=False)

    __repr__ = brief

    def only(self, place: int) -> PolicyEvaluation:
        """One of the rules alone."""
        arrays = {name: getattr(self, name)[place : place + 1] for name in ARRAYS}
        return PolicyEvaluation(rules=self.rules[place : place + 1], **arrays)


#: Fields of Tried that are arrays.
ARRAYS = tuple(name for name in PolicyEvaluation.__dataclass_fields__ if name != "rules")


def joined(parts: Sequence[PolicyEvaluation]) -> PolicyEvaluation:
    """Several trials in the same members as one.

    Returns
    -------
    PolicyEvaluation
        With the rules one after the other.
    """
    arrays = {name: np.concatenate([getattr(part, name) for part in parts]) for name in ARRAYS}
    return PolicyEvaluation(rules=tuple(rule for part in parts for rule in part.rules), **arrays)


def evaluate_policies(
    boat: Boat,
    forcing: EnsembleForcing | ForcingAboard | MeanSky | SignalBlocks,
    rules: Sequence[ChargingRule],
    *,
    counted_from_h: float = 0.0,
    until_h: float = math.inf,
    progress: Callable | None = None,
) -> PolicyEvaluation:
    """Try every rule in every weather.

    Parameters
    ----------
    forcing : EnsembleForcing, ForcingAboard, MeanSky or SignalBlocks
        Shared by all rules; SignalBlocks where others are tried in the same ones later.
    counted_from_h : float
        From when on charge counts, as `rule_limits.Limits` has it. [h]
    until_h : float
        Carried no further than the end of the day that this lies in. [h]
    progress : callable, optional
        Called now and then with how much is done, in whole passages: 1 for a rule in a weather.

    Raises
    ------
    ValueError
        Without rules, or if their shortest or longest runs differ.
    BalanceError
        If the books of any rule in any weather do not close.
    """
    if not rules:
        raise ValueError("there must be a rule to try")
    if len({(rule.shortest_h, rule.longest_h) for rule in rules}) > 1:
        raise ValueError("all rules need the same shortest and longest run")
    at_once = max(1, COLUMNS // forcing.members)
    if not isinstance(forcing, SignalBlocks):
        # Whoever goes no further than a day's end needs signal_blocks of a day.
        days = BLOCK_DAYS if math.isinf(until_h) else 1
        forcing = SignalBlocks(forcing, keep=len(rules) > at_once, days=days)
    parts = [
        _side_by_side(
            boat,
            forcing,
            tuple(rules[first : first + at_once]),
            counted_from_h=counted_from_h,
            until_h=until_h,
            progress=progress,
        )
        for first in range(0, len(rules), at_once)
    ]
    return joined(parts)


def _side_by_side(
    boat, signal_blocks, rules, *, counted_from_h, until_h, progress
) -> PolicyEvaluation:
    """Columns of rule after rule, each in all members."""
    forcing, battery = signal_blocks.forcing, boat.battery
    prepared = forcing.prepared
    count, members = len(rules), forcing.members
    columns, track = count * members, prepared.track
    # One after the other, as the columns are.
    aboard = aboard_of(forcing, battery).each(lambda values: np.tile(values, count))
    plant = aboard.plant(replace(forcing.plant, rule=_columns_rule(boat, forcing, rules)))
    orders = _Orders(boat, rules, prepared)
    batch = Batch(
        plant=plant,
        state=aboard.state(plant, members=columns),
        step_h=track.step_h,
        switches=aboard.switches(),
        floor_soc=battery.floor_soc,
        counted_from_h=counted_from_h,
        sums=LEDGERS,
        source_of=np.tile(np.arange(members), count),
        order_of=np.repeat(orders.of, members),
    )
    for steps in signal_blocks.steps:
        if steps.start * track.step_h >= until_h:
            break
        batch.through(signal_blocks.laid(steps).ordered(orders.at(steps)))
        batch.check()
        if progress is not None:
            progress(columns * (steps.stop - steps.start) / track.n_steps)
    sums, told = batch.sums, batch.told
    arrays = {
        "lowest_soc": told["lowest_soc"],
        "end_soc": physics.soc_of(plant.bank, batch.state.total_Ah),
        "below_floor": np.isfinite(np.minimum(told["floor_h"], told["flat_h"])),
        "below_floor_h": told["below_h"],
        "dark_h": sums["dark"] * track.step_h,
        "charging_L": sums["charging_L"] + sums["alternator_motoring_L"],
        "charging_h": sums["charging"] * track.step_h,
        "charging_runs": told["runs"],
        "burnt_L": batch.state.burnt_L,
        "fuel_left_L": plant.usable_L - batch.state.burnt_L,
        "fuel_short_L": sums["fuel_short_L"],
        "longest_since_full_h": told["longest_since_full_h"],
    }
    return PolicyEvaluation(
        rules=rules, **{name: array.reshape(count, members) for name, array in arrays.items()}
    )


def _columns_rule(boat, forcing, rules):
    """The kernel's rule with a level for each column, as it is read aboard there."""
    battery, error_frac = boat.battery, forcing.reading_error_frac
    read = [
        as_read(rule_of(replace(boat, charging=rule)), battery, error_frac=error_frac)
        for rule in rules
    ]

    def column(name):
        values = [np.broadcast_to(getattr(one, name), forcing.members) for one in read]
        return np.concatenate(values)

    levels = {name: column(name) for name in ("start_soc", "stop_soc", "full_every_h")}
    return replace(read[0], **levels)


class _Orders:
    """When each rule lets the engine run, and when it orders it to: many rules agree in that.

    `of` says which of the orders each rule has.
    """

    def __init__(self, boat, rules, prepared):
        track, per_step = prepared.sun_track, prepared.sun_steps
        works = has_charging_alternator(boat)
        kinds = [(rule.hours_h, rule.daily if works and rule.by_engine else ()) for rule in rules]
        known = dict(zip(kinds, rules, strict=True))
        places = {kind: place for place, kind in enumerate(known)}
        self.of = np.array([places[kind] for kind in kinds])
        allowed = [allowed_hours(rule, track, per_step) for rule in known.values()]
        ordered = [mean_of(daily_steps(daily, track), per_step) for _, daily in known]
        self.arrays = {
            name: np.stack([one[name] for one in allowed], axis=1)
            for name in ("may_run", "opens_h", "closes_h")
        } | {"ordered": np.stack(ordered, axis=1)}

    def at(self, steps) -> dict:
        """The orders of some steps, as `Laid.ordered` takes them: one for all where they agree."""
        of_steps = {name: array[steps] for name, array in self.arrays.items()}
        return {
            name: array[:, :1] if (array == array[:, :1]).all() else array
            for name, array in of_steps.items()
        }
