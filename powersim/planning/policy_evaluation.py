"""Many charging rules evaluated side by side, by simulating each in every member."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, fields, replace
from typing import TYPE_CHECKING

import numpy as np

from powersim.kernel.plant import Plant, Rule
from powersim.physics import bank as physics
from powersim.planning.rule_costs import COSTED, cost_L
from powersim.planning.signal_blocks import BLOCK_DAYS, SignalBlocks
from powersim.records import Boat, ChargingRule
from powersim.records.brief import brief
from powersim.simulation.aboard import aboard_of
from powersim.simulation.allowed import rule_steps, slept_through
from powersim.simulation.carry import Batch
from powersim.simulation.coarser import mean_of
from powersim.simulation.differing import of_members
from powersim.simulation.ledgers import LEDGERS
from powersim.simulation.plant import has_charging_alternator, rule_of
from powersim.simulation.reading import as_read
from powersim.simulation.timetable import daily_steps

if TYPE_CHECKING:
    from powersim.simulation.aboard import ForcingAboard
    from powersim.simulation.mean_sky import MeanSky
    from powersim.simulation.member_signals import EnsembleForcing

#: Rules times members that are simulated at once, for the memory's sake.
COLUMNS = 40_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PolicyEvaluation:
    """What some rules came to; every array is shaped (rules, members).

    Attributes
    ----------
    rules : tuple of ChargingRule
        The rules, one for each row.
    lowest_soc, end_soc : ndarray
        Lowest state of charge once the floor counts, and state of charge at landfall. [-]
    floor_h, flat_h : ndarray
        When charge was first below its floor once that counts, and when all first went dark;
        infinite for never. [h]
    below_floor_h : ndarray
        Time below the floor once that counts. [h]
    dark_h : ndarray
        Time without electronics. [h]
    charging_L : ndarray
        Diesel for the bank: charging runs, and the alternator's share while motoring. [L]
    charging_h : ndarray
        Time that the engine charged at rest. [h]
    charging_runs : ndarray
        Number of charging runs.
    burnt_L, fuel_left_L : ndarray
        Fuel burnt and fuel left at landfall. [L]
    fuel_short_L : ndarray
        Fuel that was wanted and not there. [L]
    longest_since_full_h : ndarray
        Longest time between full charges. [h]
    cost_L : ndarray
        `charging_L`, and what else the runs cost by the boat's prices (rule_costs.py). [L]
    """

    rules: tuple[ChargingRule, ...]
    lowest_soc: np.ndarray = field(repr=False)
    end_soc: np.ndarray = field(repr=False)
    floor_h: np.ndarray = field(repr=False)
    flat_h: np.ndarray = field(repr=False)
    below_floor_h: np.ndarray = field(repr=False)
    dark_h: np.ndarray = field(repr=False)
    charging_L: np.ndarray = field(repr=False)
    charging_h: np.ndarray = field(repr=False)
    charging_runs: np.ndarray = field(repr=False)
    burnt_L: np.ndarray = field(repr=False)
    fuel_left_L: np.ndarray = field(repr=False)
    fuel_short_L: np.ndarray = field(repr=False)
    longest_since_full_h: np.ndarray = field(repr=False)
    cost_L: np.ndarray = field(repr=False)

    __repr__ = brief

    @property
    def below_floor(self) -> np.ndarray:
        """Whether charge was below its floor once that counts, or all went dark at any time."""
        return np.isfinite(np.minimum(self.floor_h, self.flat_h))

    def of_first(self, members: int) -> PolicyEvaluation:
        """The same in the first members alone."""
        arrays = {name: getattr(self, name)[:, :members] for name in ARRAYS}
        return PolicyEvaluation(rules=self.rules, **arrays)

    def only(self, place: int) -> PolicyEvaluation:
        """What one of the rules came to."""
        arrays = {name: getattr(self, name)[place : place + 1] for name in ARRAYS}
        return PolicyEvaluation(rules=self.rules[place : place + 1], **arrays)


#: Fields of PolicyEvaluation that are arrays.
ARRAYS = tuple(name for name in PolicyEvaluation.__dataclass_fields__ if name != "rules")


def joined(parts: Sequence[PolicyEvaluation]) -> PolicyEvaluation:
    """Several evaluations in the same members as one, with the rules one after the other."""
    arrays = {name: np.concatenate([getattr(part, name) for part in parts]) for name in ARRAYS}
    return PolicyEvaluation(rules=tuple(rule for part in parts for rule in part.rules), **arrays)


def evaluate_policies(
    boat: Boat,
    forcing: EnsembleForcing | ForcingAboard | MeanSky | SignalBlocks,
    rules: Sequence[ChargingRule],
    *,
    counted_from_h: float = 0.0,
    until_h: float = math.inf,
    sleeps_through: int = 0,
    progress: Callable | None = None,
) -> PolicyEvaluation:
    """Simulate every rule in every member.

    The floor counts from `counted_from_h`
    on; the simulation ends with the day in which `until_h` lies. Of so many readings as
    `sleeps_through` says one is slept through, 0 for none. `forcing` is given as SignalBlocks
    where more rules will be evaluated in the same members. `progress` is called now and then with
    the number of passages done, one for each rule and member. BalanceError says that the books of
    one of them do not close.
    """
    if not rules:
        raise ValueError("there must be a rule to try")
    at_once = max(1, COLUMNS // forcing.members)
    if not isinstance(forcing, SignalBlocks):
        # A simulation that ends with a day needs blocks of a day.
        days = BLOCK_DAYS if math.isinf(until_h) else 1
        forcing = SignalBlocks(forcing, keep=len(rules) > at_once, days=days)
    parts = [
        _side_by_side(
            boat,
            forcing,
            tuple(rules[first : first + at_once]),
            counted_from_h=counted_from_h,
            until_h=until_h,
            sleeps_through=sleeps_through,
            progress=progress,
        )
        for first in range(0, len(rules), at_once)
    ]
    return joined(parts)


def _side_by_side(
    boat, signal_blocks, rules, *, counted_from_h, until_h, sleeps_through, progress
) -> PolicyEvaluation:
    """Rule after rule along the members of one batch, each in all members."""
    forcing, battery = signal_blocks.forcing, boat.battery
    prepared = forcing.prepared
    count, members = len(rules), forcing.members
    columns, track = count * members, prepared.track
    aboard = aboard_of(forcing, battery).each(lambda values: np.tile(values, count))
    columns_plant = of_members(forcing.plant, np.tile(np.arange(members), count))
    plant = aboard.plant(replace(columns_plant, rule=_columns_rule(boat, forcing, rules)))
    orders = _Orders(boat, rules, prepared, sleeps_through)
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
    return tallied(boat, batch, rules, plant=plant, step_h=track.step_h)


def tallied(
    boat: Boat,
    batch: Batch,
    rules: tuple[ChargingRule, ...],
    *,
    plant: Plant,
    step_h: float,
) -> PolicyEvaluation:
    """What a batch has come to in which rule after rule has gone along all members.

    Parameters
    ----------
    boat : Boat
        For what a run costs her.
    batch : Batch
        At the end of the passage, with LEDGERS summed.
    rules : tuple of ChargingRule
        In their order.
    plant : Plant
        Of the batch.
    step_h : float
        Length of a step. [h]
    """
    count = len(rules)
    members = batch.members // count
    sums, told = batch.sums, batch.told
    arrays = {
        "lowest_soc": told["lowest_soc"],
        "end_soc": physics.soc_of(plant.bank, batch.state.total_Ah),
        "floor_h": told["floor_h"],
        "flat_h": told["flat_h"],
        "below_floor_h": told["below_h"],
        "dark_h": sums["dark"] * step_h,
        "charging_L": sums["charging_L"] + sums["alternator_motoring_L"],
        "charging_h": sums["charging"] * step_h,
        "charging_runs": told["runs"],
        "burnt_L": batch.state.burnt_L,
        "fuel_left_L": plant.usable_L - batch.state.burnt_L,
        "fuel_short_L": sums["fuel_short_L"],
        "longest_since_full_h": told["longest_since_full_h"],
    }
    arrays["cost_L"] = cost_L(boat, **{name: arrays[name] for name in COSTED})
    return PolicyEvaluation(
        rules=rules, **{name: array.reshape(count, members) for name, array in arrays.items()}
    )


def _columns_rule(boat, forcing, rules):
    """The kernel's rule for each column, as the sailor reads the bank in its member."""
    battery, misread = boat.battery, forcing.misread
    read = [
        as_read(rule_of(replace(boat, charging=rule)), battery, misread=misread) for rule in rules
    ]

    def column(name):
        values = [getattr(one, name) for one in read]
        if not any(map(np.ndim, values)) and len(set(values)) == 1:
            return values[0]
        return np.concatenate([np.broadcast_to(value, forcing.members) for value in values])

    return Rule(**{one.name: column(one.name) for one in fields(Rule)})


class _Orders:
    """When each rule lets the engine run, has the bank read, and orders a run: many agree in that.

    `of` says which of the orders each rule has.
    """

    def __init__(self, boat, rules, prepared, sleeps_through):
        track, per_step = prepared.sun_track, prepared.sun_steps
        works = has_charging_alternator(boat)
        kinds = [
            (rule.hours_h, rule.read_at_h, rule.daily if works and rule.by_engine else ())
            for rule in rules
        ]
        known = dict(zip(kinds, rules, strict=True))
        places = {kind: place for place, kind in enumerate(known)}
        self.of = np.array([places[kind] for kind in kinds])
        allowed = [rule_steps(rule, track, per_step) for rule in known.values()]
        for one in allowed:
            one["reads"] = slept_through(one["reads"], sleeps_through)
        ordered = [mean_of(daily_steps(daily, track), per_step) for _, _, daily in known]
        self.arrays = {
            name: np.stack([one[name] for one in allowed], axis=1) for name in allowed[0]
        } | {"ordered": np.stack(ordered, axis=1)}

    def at(self, steps) -> dict:
        """The orders of some steps, as `Laid.ordered` takes them: one for all where they agree."""
        of_steps = {name: array[steps] for name, array in self.arrays.items()}
        return {
            name: array[:, :1] if (array == array[:, :1]).all() else array
            for name, array in of_steps.items()
        }
