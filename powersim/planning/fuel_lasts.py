"""How many days of charging the diesel allows, after motoring, heaters and the reserve."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from powersim.kernel.state import State, Switches
from powersim.planning.scenario import scalar_if_single
from powersim.records import Fuel
from powersim.simulation.carry import Batch
from powersim.simulation.differing import of_members
from powersim.simulation.ensemble import blocks

if TYPE_CHECKING:
    from powersim.kernel.state import BatchState
    from powersim.simulation.mean_sky import MeanSky
    from powersim.simulation.member_signals import EnsembleForcing

#: How many times as long every leg takes in the second course.
LONGER = 1.5
#: Days over which charging is averaged where it burns most. [days]
HUNGRIEST_DAYS = 7
#: With everything working, and without sun and all other chargers.
_BOTH = (Switches(), Switches(solar=0.0, others=0.0))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FuelCourse:
    """What becomes of the diesel, at one pace of the passage.

    Attributes
    ----------
    factor : float
        How many times as long as planned every leg takes.
    days_to_landfall : float
        Days from the moment that is asked about to landfall. [days]
    usable_L : float or ndarray, shape (members,)
        Fuel that can be burnt from that moment on. [L]
    motoring_L : float or ndarray, shape (members,)
        Wanted for motoring, and for the alternator meanwhile. [L]
    heater_L : float or ndarray, shape (members,)
        Wanted for heaters. [L]
    reserve_L : float
        To be left at landfall. [L]
    for_charging_L : float or ndarray, shape (members,)
        What these leave; below 0 where they alone take more than there is. [L]
    charging_L : float or ndarray, shape (members,)
        Wanted for charging at rest, by the boat's rule. [L]
    left_L : float or ndarray, shape (members,)
        Left at landfall; below 0 where fuel is short. [L]
    mean_L_per_day, hungriest_L_per_day, no_sun_L_per_day : float or ndarray, shape (members,)
        Fuel that charging at rest burns a day: on average, in the week that burns most, and on
        average without sun and all other chargers. [L/day]
    dark_frac, no_sun_dark_frac : float or ndarray, shape (members,)
        1 where all goes dark on the way although there is fuel, since the rule charges too little,
        the engine cannot be started or the bank is too cold, else 0; and the same without sun and
        all other chargers. How long the fuel lasts says nothing then. [-]
    """

    factor: float
    days_to_landfall: float
    usable_L: float | np.ndarray
    motoring_L: float | np.ndarray
    heater_L: float | np.ndarray
    reserve_L: float
    for_charging_L: float | np.ndarray
    charging_L: float | np.ndarray
    left_L: float | np.ndarray
    mean_L_per_day: float | np.ndarray
    hungriest_L_per_day: float | np.ndarray
    no_sun_L_per_day: float | np.ndarray
    dark_frac: float | np.ndarray = 0.0
    no_sun_dark_frac: float | np.ndarray = 0.0

    def days_of(self, pace: str) -> float | np.ndarray:
        """Days of charging that there is fuel for, at the "mean", "hungriest" or "no_sun" pace.

        Returns
        -------
        float or ndarray, shape (members,)
            As `days_at`; minus infinity where all goes dark although there is fuel. [days]
        """
        dark = self.no_sun_dark_frac if pace == "no_sun" else self.dark_frac
        days = np.where(
            np.asarray(dark) > 0.0, -np.inf, self.days_at(getattr(self, f"{pace}_L_per_day"))
        )
        return days if days.ndim else float(days)

    def days_at(self, pace_L_per_day: float | np.ndarray) -> float | np.ndarray:
        """Days of charging that there is fuel for, at so much a day.

        Returns
        -------
        float or ndarray, shape (members,)
            Infinite where the engine need not charge, 0 where nothing is left for it. [days]
        """
        for_charging_L = np.maximum(self.for_charging_L, 0.0)
        pace_L_per_day = np.asarray(pace_L_per_day, dtype=float)
        days = np.divide(
            for_charging_L,
            pace_L_per_day,
            out=np.full(np.shape(pace_L_per_day + for_charging_L), np.inf),
            where=pace_L_per_day > 0.0,
        )
        return days if days.ndim else float(days)


def fuel_course(
    forcing: MeanSky | EnsembleForcing,
    state: BatchState,
    *,
    fuel: Fuel,
    first: int,
    until: int,
    factor: float,
    progress: Callable,
) -> FuelCourse:
    """Simulate the steps `first` to `until` as if fuel were endless, and count what is burnt.

    The engine follows the boat's own rule or timetable. The result has floats in the mean sky,
    else arrays shaped (members,). `progress` is called with the share of the work that is done.
    """
    wanted, no_sun = _wanted(
        forcing, state, first=first, until=until, all_switches=_BOTH, progress=progress
    )
    usable_L = forcing.plant.usable_L - state.burnt_L
    others_L = wanted.motoring_L + wanted.heater_L
    amounts = {
        "usable_L": usable_L,
        "motoring_L": wanted.motoring_L,
        "heater_L": wanted.heater_L,
        "for_charging_L": usable_L - others_L - fuel.reserve_L,
        "charging_L": wanted.charging_L,
        "left_L": usable_L - others_L - wanted.charging_L,
        "mean_L_per_day": wanted.charging_L / wanted.days,
        "hungriest_L_per_day": wanted.hungriest_L_per_day,
        "no_sun_L_per_day": no_sun.charging_L / no_sun.days,
        "dark_frac": wanted.dark,
        "no_sun_dark_frac": no_sun.dark,
    }
    return FuelCourse(
        factor=factor,
        days_to_landfall=forcing.prepared.track.arrival_h / 24.0 - first * wanted.step_days,
        reserve_L=fuel.reserve_L,
        **{name: scalar_if_single(forcing, amount) for name, amount in amounts.items()},
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wanted:
    """Litres that a simulation burnt, `day_L` for charging, shape (days, members), and whether all
    went dark."""

    step_days: float
    days: float
    day_L: np.ndarray
    motoring_L: np.ndarray
    heater_L: np.ndarray
    dark: np.ndarray

    @property
    def charging_L(self):
        return self.day_L.sum(axis=0)

    @property
    def hungriest_L_per_day(self):
        """The mean of the week that burns most, or of the whole if it is shorter. [L/day]"""
        if len(self.day_L) <= HUNGRIEST_DAYS:
            return self.charging_L / self.days
        sums_L = np.cumsum(self.day_L, axis=0)
        sums_L[HUNGRIEST_DAYS:] = sums_L[HUNGRIEST_DAYS:] - sums_L[:-HUNGRIEST_DAYS]
        return sums_L[HUNGRIEST_DAYS - 1 :].max(axis=0) / HUNGRIEST_DAYS


def _wanted(forcing, state, *, first, until, all_switches, progress) -> list[_Wanted]:
    """What is burnt with these switches and with those, side by side in the same weather."""
    step_h, members, sets = forcing.prepared.track.step_h, forcing.members, len(all_switches)
    # Those of one member are neighbours: the kernel lays its weather out for them once.
    member = np.repeat(np.arange(members), sets)
    batch = Batch(
        plant=of_members(replace(forcing.plant, usable_L=math.inf), member),
        state=State(*(np.broadcast_to(one, members)[member] for one in state)),
        step_h=step_h,
        switches=of_members(_stacked(all_switches), np.tile(np.arange(sets), members)),
        sums=("charging_L", "motoring_L", "alternator_motoring_L", "heater_L"),
        source_of=member,
    )
    sums, so_far_L = batch.sums, [np.zeros(batch.members)]
    for steps in blocks(until, step_h=step_h, first=first):
        batch.through(forcing.signals(steps))
        so_far_L.append(sums["charging_L"].copy())
        progress((steps.stop - first) / (until - first))
    day_L = np.diff(so_far_L, axis=0)
    return [
        _Wanted(
            step_days=step_h / 24.0,
            days=(until - first) * step_h / 24.0,
            day_L=day_L[:, place::sets],
            motoring_L=(sums["motoring_L"] + sums["alternator_motoring_L"])[place::sets],
            heater_L=sums["heater_L"][place::sets],
            dark=np.isfinite(batch.told["flat_h"])[place::sets],
        )
        for place in range(sets)
    ]


def _stacked(all_switches) -> Switches:
    """Switches as one, of arrays with a number for each of them."""
    return Switches._make(
        tuple(map(np.array, zip(*values, strict=True)))
        if isinstance(values[0], tuple)
        else np.array(values)
        for values in zip(*all_switches, strict=True)
    )
