"""The passage in many members at once: every member through the same kernel, as arrays.

Nothing is kept by the step but what an answer needs: charge and fuel by the hour, ledgers and
milestones by the member. Books are kept twice over: in full, in every step, for the first members,
and in ampere-hours, stretch by stretch, for all of them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np

from powersim.defaults import RISK_FRAC
from powersim.records import Passage
from powersim.records.brief import brief
from powersim.simulation.carry import Batch
from powersim.simulation.devices import SERIES as DEVICE_SERIES
from powersim.simulation.devices import DeviceCourse, DevicesCarried
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.ensemble_frames import dataset_of, frame_of
from powersim.simulation.ensemble_weeks import EnsembleWeeks, WeekSums, stretches
from powersim.simulation.first_day import counted_from_h
from powersim.simulation.ledgers import LEDGERS
from powersim.simulation.sample_books import SampleBooks
from powersim.simulation.state import start_state

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr

    from powersim.kernel.plant import Plant
    from powersim.kernel.state import BatchState
    from powersim.records.arrays import Array
    from powersim.simulation.member_signals import EnsembleForcing
    from powersim.simulation.prepared import Prepared

#: Time whose signals are worked out at once, so that they stay small beside the results. [h]
BLOCK_h = 24.0
#: For an ensemble: as long as so many hours of one member are worked out at once, within bounds.
MEMBERS_BLOCK_h, LEAST_BLOCK_h, MOST_BLOCK_h = 12.0 * 1000, 6.0, 96.0
#: Members whose books are kept in full.
SAMPLE = 4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EnsembleResult:
    """A passage in many members; every array has members last.

    Attributes
    ----------
    members : int
        How many there are.
    seed : int
        Of the random numbers.
    start_utc_s : float
        Unix time of the departure. [s]
    step_h : float
        Length of a step. [h]
    counted_from_h : float
        When the floor begins to count: 0, or a day later where the bank is low at departure
        (first_day.py). [h]
    hour_soc : ndarray, shape (hours, members)
        State of charge at the end of each hour. [-]
    hour_fuel_left_L : ndarray, shape (hours, members)
        Fuel that can still be burnt at the end of each hour. [L]
    hour_charging_frac, hour_motoring_frac : ndarray, shape (hours,)
        Share of the members whose engine charges at rest, and is in gear, on average over each
        hour; summed, what an average member comes to in hours. [-]
    lowest_soc, lowest_h : ndarray, shape (members,)
        Lowest state of charge since the floor counts, and when, after departure. [-], [h]
    lowest_V : ndarray, shape (members,)
        Lowest voltage, with the heaviest load on. [V]
    floor_h, flat_h : ndarray, shape (members,)
        When the charge is first below the floor since that counts, and electronics first dark;
        infinite if never. [h]
    dark_h : ndarray, shape (members,)
        Time without electronics. [h]
    charging_h, motoring_h : ndarray, shape (members,)
        Engine at rest, and in gear. [h]
    charging_runs : ndarray, shape (members,)
        How often the engine was started to charge.
    charging_L, motoring_L, alternator_motoring_L, heater_L : ndarray, shape (members,)
        The fuel ledgers, as wanted. [L]
    fuel_short_L : ndarray, shape (members,)
        What was wanted and not there. [L]
    fuel_left_L : ndarray, shape (members,)
        At landfall. [L]
    solar_Ah, alternator_Ah, loads_Ah : ndarray, shape (members,)
        Charge over the bus. [Ah]
    others_Ah : dict of str to ndarray, shape (members,)
        The same of the boat's other chargers, by ledger, such as wind_Ah. [Ah]
    surplus_Ah, unserved_Ah : ndarray, shape (members,)
        Offered by sun, wind and water and not taken; what loads went without. [Ah]
    longest_since_full_h : ndarray, shape (members,)
        Longest time between full charges. [h]
    devices : tuple of DeviceCourse
        What became of devices with batteries of their own.
    weeks : EnsembleWeeks
        The same by the week: runs, hours, litres, ampere-hours, lowest charge.
    lain_to_h : ndarray, shape (members,), or None
        Time that she lay to; None, as of the next two, where the boat minds no sea. [h]
    waited_h : ndarray, shape (members,), or None
        Time for which the engine would have charged if the sea had let anybody run it. [h]
    runs_waited : ndarray, shape (members,), or None
        How often a run had to wait, or ended, for that.
    """

    members: int
    seed: int
    start_utc_s: float
    step_h: float
    counted_from_h: float
    hour_soc: Array
    hour_fuel_left_L: Array
    hour_charging_frac: Array
    hour_motoring_frac: Array
    lowest_soc: Array
    lowest_h: Array
    lowest_V: Array
    floor_h: Array
    flat_h: Array
    dark_h: Array
    charging_h: Array
    motoring_h: Array
    charging_runs: Array
    charging_L: Array
    motoring_L: Array
    alternator_motoring_L: Array
    heater_L: Array
    fuel_short_L: Array
    fuel_left_L: Array
    solar_Ah: Array
    alternator_Ah: Array
    loads_Ah: Array
    others_Ah: Mapping[str, Array]
    surplus_Ah: Array
    unserved_Ah: Array
    longest_since_full_h: Array
    weeks: EnsembleWeeks
    devices: tuple[DeviceCourse, ...] = ()
    lain_to_h: Array | None = None
    waited_h: Array | None = None
    runs_waited: Array | None = None

    __repr__ = brief

    def to_dataframe(self) -> pd.DataFrame:
        """Charge and fuel of each member by the hour.

        Returns
        -------
        pandas.DataFrame
            Indexed by `time_utc`, the hour's start; values at the hour's end, as in the hourly
            table of a result. `frame["soc"]` has a column for each member, from 1, and so has
            `frame["fuel_left_L"]`.
        """
        return frame_of(self)

    def to_xarray(self) -> xr.Dataset:
        """Charge and fuel of each member by the hour, and what each came to.

        Returns
        -------
        xarray.Dataset
            Over `time_utc`, in UTC, and `member`, from 1; all other arrays over `member` alone.

        Raises
        ------
        ImportError
            If xarray is not installed; the extra `powersim[xarray]` brings it.
        """
        return dataset_of(self)


def blocks(n_steps: int, *, step_h: float, first: int = 0, days: float = 1) -> list[slice]:
    """The passage cut into stretches whose signals are worked out together.

    Parameters
    ----------
    n_steps : int
        Of the passage.
    step_h : float
        Length of a step. [h]
    first : int
        Step to begin with.
    days : float
        How long a stretch is. [days]

    Returns
    -------
    list of slice
        In order, the last one perhaps shorter.
    """
    length = round(days * BLOCK_h / step_h)
    return [slice(at, min(at + length, n_steps)) for at in range(first, n_steps, length)]


def stretch_h(members: int) -> float:
    """How much of the passage is worked out at once, so that it stays small beside the results.

    Parameters
    ----------
    members : int
        How many members.

    Returns
    -------
    float
        A whole number of hours. [h]
    """
    return min(max(MEMBERS_BLOCK_h // members, LEAST_BLOCK_h), MOST_BLOCK_h)


class Carried(Protocol):
    """What there is of a boat that many members are carried in."""

    @property
    def plant(self) -> Plant:
        """Her constants."""

    @property
    def members(self) -> int:
        """How many there are."""


def members_state(forcing: Carried, *, soc: float) -> BatchState:
    """All members at departure, rested at one state of charge.

    Parameters
    ----------
    forcing : EnsembleForcing
        Or whatever else has a plant and a number of members.
    soc : float
        State of charge. [-]

    Returns
    -------
    State
        Of arrays shaped (members,).
    """
    return start_state(forcing.plant, soc=np.full(forcing.members, soc))


def run_ensemble(
    passage: Passage,
    prepared: Prepared,
    *,
    members: int,
    seed: int,
    risk_frac: float = RISK_FRAC,
    forcing: EnsembleForcing | None = None,
    progress: Callable[..., object] | None = None,
) -> EnsembleResult:
    """Try a passage in many members, with everything working.

    Parameters
    ----------
    passage : Passage
        Boat, route, loads and weather files.
    prepared : Prepared
        The passage in average weather.
    members : int
        How many members.
    seed : int
        Of the random numbers: one seed, one set of members.
    risk_frac : float
        Share of the members that may fail: a bank that more of them leave with too low has a day
        before its floor counts. [-]
    forcing : EnsembleForcing, optional
        Those of this passage, members and seed, where they are at hand.
    progress : callable, optional
        Called with the share of the passage that is done, now and then.

    Returns
    -------
    EnsembleResult
        Member by member.

    Raises
    ------
    BalanceError
        If any member's books do not close.
    """
    if forcing is None:
        forcing = draw_ensemble(passage, prepared, members=members, seed=seed)
    plant, battery, step_h = forcing.plant, passage.boat.battery, prepared.track.step_h
    from_h = counted_from_h(passage.boat, forcing, risk_frac=risk_frac)
    batch = Batch(
        plant=plant,
        state=members_state(forcing, soc=battery.soc_at_departure),
        step_h=step_h,
        floor_soc=battery.floor_soc,
        counted_from_h=from_h,
        sums=LEDGERS,
    )
    sample = SampleBooks(forcing, batch, count=SAMPLE)
    per_hour, n_steps = round(1.0 / step_h), prepared.track.n_steps
    hour_soc, hour_burnt_L = (np.empty((n_steps // per_hour, members)) for _ in range(2))
    running_frac = {name: np.empty(n_steps // per_hour) for name in ("charging", "motoring")}
    others = [charger.source for charger in forcing.chargers]
    weeks = WeekSums(batch, n_steps=n_steps, step_h=step_h, others=others, counted_from_h=from_h)
    devices = DevicesCarried(passage.boat.devices, members=members, step_h=step_h)
    also = DEVICE_SERIES if passage.boat.devices else ()
    series = tuple(dict.fromkeys(("soc", "burnt_L", *running_frac, *also)))
    for steps in stretches(n_steps, step_h=step_h, most_h=stretch_h(members)):
        hours = slice(steps.start // per_hour, steps.stop // per_hour)
        by_step = batch.through(forcing.signals(steps), series=series)
        hour_soc[hours], hour_burnt_L[hours] = (
            by_step[name][per_hour - 1 :: per_hour] for name in ("soc", "burnt_L")
        )
        for name, by_hour in running_frac.items():
            by_step_frac = np.ascontiguousarray(by_step[name]).mean(axis=1)
            by_hour[hours] = by_step_frac.reshape(-1, per_hour).mean(axis=1)
        weeks.take(steps, by_step["soc"])
        if also:
            devices.through(by_step)
        sample.check(steps.stop)
        batch.check()
        if progress is not None:
            progress(steps.stop / n_steps)
    sums, told = batch.sums, batch.told
    hour_fuel_left_L = np.subtract(plant.usable_L, hour_burnt_L, out=hour_burnt_L)
    return EnsembleResult(
        members=members,
        seed=seed,
        start_utc_s=prepared.track.start_utc_s,
        step_h=step_h,
        counted_from_h=from_h,
        hour_soc=hour_soc,
        hour_fuel_left_L=hour_fuel_left_L,
        hour_charging_frac=running_frac["charging"],
        hour_motoring_frac=running_frac["motoring"],
        lowest_soc=told["lowest_soc"],
        lowest_h=told["lowest_h"],
        lowest_V=told["lowest_V"],
        floor_h=np.minimum(told["floor_h"], told["flat_h"]),
        flat_h=told["flat_h"],
        dark_h=sums["dark"] * step_h,
        charging_h=sums["charging"] * step_h,
        motoring_h=sums["motoring"] * step_h,
        charging_runs=told["runs"],
        charging_L=sums["charging_L"],
        motoring_L=sums["motoring_L"],
        alternator_motoring_L=sums["alternator_motoring_L"],
        heater_L=sums["heater_L"],
        fuel_short_L=sums["fuel_short_L"],
        fuel_left_L=hour_fuel_left_L[-1],
        solar_Ah=sums["solar_A"] * step_h,
        alternator_Ah=sums["alternator_A"] * step_h,
        loads_Ah=sums["load_A"] * step_h,
        others_Ah={f"{source}_Ah": sums[f"{source}_A"] * step_h for source in others},
        surplus_Ah=batch.surplus_A * step_h,
        unserved_Ah=sums["unserved_A"] * step_h,
        longest_since_full_h=told["longest_since_full_h"],
        weeks=weeks.weeks(),
        devices=devices.courses(),
        **_in_heavy_weather(forcing, batch, step_h=step_h),
    )


def _in_heavy_weather(forcing: EnsembleForcing, batch: Batch, *, step_h: float) -> dict[str, Array]:
    """The fields that only a boat has which minds some sea."""
    if forcing.seas is None:
        return {}
    return {
        "lain_to_h": forcing.lain_to_h(),
        "waited_h": batch.sums["waits"] * step_h,
        "runs_waited": batch.told["waits"],
    }
