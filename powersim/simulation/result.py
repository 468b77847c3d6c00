"""One run's result, and the function that makes it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np

from powersim.defaults import RISK_FRAC, STEP_h
from powersim.kernel.flows import Flows
from powersim.kernel.state import Switches
from powersim.records import Passage
from powersim.simulation.books import books_of
from powersim.simulation.books_record import Books
from powersim.simulation.devices import DeviceCourse, DevicesCarried
from powersim.simulation.ensemble_summary import ensemble_summary, verdict_on
from powersim.simulation.first_day import counted_from_h
from powersim.simulation.mean_sky import MeanSky
from powersim.simulation.milestones import days_to_flat, days_to_floor
from powersim.simulation.prepare import prepare
from powersim.simulation.prepared import Prepared
from powersim.simulation.run import run
from powersim.simulation.state import start_state
from powersim.simulation.summary import summary_of
from powersim.simulation.tables import daily_table, engine_table, hourly_table, load_table
from powersim.simulation.verdict import Verdict, failing_of, verdict_of

if TYPE_CHECKING:
    import pandas as pd

    from powersim.records.arrays import Array
    from powersim.simulation.ensemble import EnsembleResult
    from powersim.simulation.member_signals import EnsembleForcing


@dataclass(frozen=True, kw_only=True, eq=False)
class SimulationResult:
    """A simulated passage.

    Attributes
    ----------
    passage : Passage
        As it was simulated.
    prepared : Prepared
        Track, sky and demand.
    flow : Flows
        Arrays shaped (steps, 1).
    books : Books
        Arrays shaped (steps, 1), checked.
    ensemble : EnsembleResult or None
        The passage in many members, if it was tried in more than average weather.
    risk_frac : float
        Share of the members that may fail. [-]
    forcing : EnsembleForcing or None
        What the members meet, where whoever simulated them has more to ask of them; else it is
        drawn again when that is asked, rather than kept with every result.
    """

    passage: Passage
    prepared: Prepared
    flow: Flows[Array]
    books: Books
    ensemble: EnsembleResult | None = None
    risk_frac: float = RISK_FRAC
    forcing: EnsembleForcing | None = None

    def __repr__(self) -> str:
        passage, track = self.passage, self.prepared.track
        weather = "average weather" if self.ensemble is None else f"{self.ensemble.members} members"
        return (
            f"{type(self).__name__}({passage.name!r}, {track.arrival_h / 24.0:.1f} days from "
            f"{passage.depart_utc:%Y-%m-%d %H:%M} UTC\n  in steps of {60.0 * track.step_h:g} min, "
            f"{weather}, lowest_soc={np.min(self.flow.soc):.3f})"
        )

    @cached_property
    def hourly(self) -> pd.DataFrame:
        """pandas.DataFrame, one row an hour (docs/reference/results.md)."""
        return hourly_table(
            prepared=self.prepared,
            flow=self.flow,
            books=self.books,
            soc_start=self.passage.boat.battery.soc_at_departure,
        )

    @cached_property
    def daily(self) -> pd.DataFrame:
        """pandas.DataFrame, one row a ship's day."""
        return daily_table(self.hourly)

    @cached_property
    def engine(self) -> pd.DataFrame:
        """pandas.DataFrame, one row an engine run."""
        return engine_table(
            prepared=self.prepared,
            flow=self.flow,
            books=self.books,
            soc_start=self.passage.boat.battery.soc_at_departure,
        )

    @cached_property
    def loads(self) -> pd.DataFrame:
        """pandas.DataFrame, one row a load, the largest first."""
        days = self.prepared.track.n_steps * self.prepared.track.step_h / 24.0
        return load_table(prepared=self.prepared, flow=self.flow, days=days)

    @cached_property
    def devices(self) -> tuple[DeviceCourse, ...]:
        """tuple of DeviceCourse: of devices with batteries of their own, in average weather."""
        boat, step_h = self.passage.boat, self.prepared.track.step_h
        devices = DevicesCarried(boat.devices, members=1, step_h=step_h)
        if boat.devices:
            devices.through(self.flow._asdict())
        return devices.courses()

    @cached_property
    def without_charging(self) -> tuple[float, float]:
        """Days to the floor and to flat if nothing charges from departure; inf past landfall."""
        battery, plant = self.passage.boat.battery, self.prepared.plant
        flow, _ = run(
            self.prepared.signals,
            plant=plant,
            state=start_state(plant, soc=battery.soc_at_departure),
            switches=Switches(solar=0.0, others=0.0, alternator=0.0),
            until_dark=True,
        )
        step_h = self.prepared.track.step_h
        floor_days = days_to_floor(
            flow.soc,
            soc_start=battery.soc_at_departure,
            floor_soc=battery.floor_soc,
            step_h=step_h,
        )
        flat_days = float(days_to_flat(flow.dark, step_h=step_h)[0])
        # A bank that goes dark by its voltage or by cold is past its floor, whatever it holds.
        return min(float(floor_days[0]), flat_days), flat_days

    @cached_property
    def verdict(self) -> Verdict:
        """Verdict: of the members where some were tried, else of average weather alone."""
        if self.ensemble is None:
            return self.average_verdict
        # Average weather has no grey week in it: where members were tried, they decide.
        fuel = self.passage.boat.fuel
        return verdict_on(self.ensemble, fuel=fuel, risk_frac=self.risk_frac)

    @cached_property
    def average_verdict(self) -> Verdict:
        """Verdict of the one member that average weather is."""
        battery, fuel = self.passage.boat.battery, self.passage.boat.fuel
        flow, step_h = self.flow, self.prepared.track.step_h
        sky = MeanSky(prepared=self.prepared)
        from_h = counted_from_h(self.passage.boat, sky, risk_frac=self.risk_frac)
        course = np.concatenate([[[battery.soc_at_departure]], flow.soc])
        counted = course[min(round(from_h / step_h), len(flow.soc)) :]
        # A heater on a boat without an engine burns from a tank of its own.
        failing = failing_of(
            floor_h=np.where((counted < battery.floor_soc).any(axis=0), from_h, np.inf),
            flat_h=24.0 * days_to_flat(flow.dark, step_h=step_h),
            fuel_left_L=self.prepared.plant.usable_L - flow.burnt_L[-1],
            fuel_short_L=flow.fuel_short_L.sum(axis=0),
            fuel=fuel,
        )
        return verdict_of(failing, risk_frac=self.risk_frac, seed=None, counted_from_h=from_h)

    @cached_property
    def summary(self) -> dict[str, Any]:
        """dict of plain numbers, strings and lists: what `summary.json` holds."""
        summary = summary_of(self)
        if self.ensemble is None:
            return summary
        fuel = self.passage.boat.fuel
        bands = ensemble_summary(self.ensemble, fuel=fuel, risk_frac=self.risk_frac)
        return summary | {"ensemble": bands}


#: The class of a result.
R = TypeVar("R", bound=SimulationResult)


def simulate(
    passage: Passage,
    *,
    step_h: float = STEP_h,
    risk_frac: float = RISK_FRAC,
    prepared: Prepared | None = None,
    kind: type[R] = SimulationResult,  # type: ignore[assignment]
) -> R:
    """Simulate a passage with everything working.

    Parameters
    ----------
    passage : Passage
        Boat, route, loads and weather files.
    step_h : float
        Step of the simulation; a whole number of them makes an hour. [h]
    risk_frac : float
        Share of the members that may fail. [-]
    prepared : Prepared, optional
        The passage worked out, at a step of its own, where that is at hand.
    kind : type
        The class of the result, Result or one that adds to it.

    Returns
    -------
    SimulationResult
        Hour by hour, with its books and its summary.

    Raises
    ------
    BalanceError
        If the books do not close.
    """
    if prepared is None:
        prepared = prepare(passage, step_h=step_h)
    state = start_state(prepared.plant, soc=passage.boat.battery.soc_at_departure)
    flow, _ = run(prepared.signals, plant=prepared.plant, state=state)
    books = books_of(flow, state=state, prepared=prepared, switches=Switches())
    return kind(passage=passage, prepared=prepared, flow=flow, books=books, risk_frac=risk_frac)
