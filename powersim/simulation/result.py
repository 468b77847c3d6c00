"""One run's result, and the function that makes it."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from powersim.kernel.flows import Flows
from powersim.kernel.state import Switches
from powersim.simulation.books import Books, books_of
from powersim.simulation.carry import run
from powersim.simulation.ensemble_summary import RISK_FRAC, ensemble_summary
from powersim.simulation.milestones import days_to_flat, days_to_floor
from powersim.simulation.prepare import Prepared, prepare
from powersim.simulation.state import start_state
from powersim.simulation.summary import summary_of
from powersim.simulation.tables import daily_table, engine_table, hourly_table, load_table


@dataclass(frozen=True, kw_only=True)
class Result:
    """A simulated passage.

    Attributes
    ----------
    passage : Passage
    prepared : Prepared
        Track, sky and demand.
    flow : Flows
        Arrays shaped (steps, 1).
    books : Books
        Arrays shaped (steps, 1), checked.
    ensemble : Ensemble or None
        The passage in many weathers, if it was tried in more than the mean sky.
    risk_frac : float
        Share of the weathers that may break floor or reserve. [-]
    """

    passage: object
    prepared: Prepared
    flow: Flows
    books: Books = field(repr=False)
    ensemble: object = field(default=None, repr=False)
    risk_frac: float = RISK_FRAC

    @cached_property
    def hourly(self):
        """pandas.DataFrame, one row an hour (docs/reference/results.md)."""
        return hourly_table(
            prepared=self.prepared,
            flow=self.flow,
            books=self.books,
            soc_start=self.passage.boat.battery.soc_at_departure,
        )

    @cached_property
    def daily(self):
        """pandas.DataFrame, one row a ship's day."""
        return daily_table(self.hourly)

    @cached_property
    def engine(self):
        """pandas.DataFrame, one row an engine run."""
        return engine_table(
            prepared=self.prepared,
            flow=self.flow,
            books=self.books,
            soc_start=self.passage.boat.battery.soc_at_departure,
        )

    @cached_property
    def loads(self):
        """pandas.DataFrame, one row a load, the largest first."""
        days = self.prepared.track.n_steps * self.prepared.track.step_h / 24.0
        return load_table(prepared=self.prepared, flow=self.flow, days=days)

    @cached_property
    def without_charging(self):
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
    def summary(self):
        """dict of plain numbers, strings and lists: what `summary.json` holds."""
        summary = summary_of(self)
        if self.ensemble is None:
            return summary
        weathers = ensemble_summary(
            self.ensemble,
            fuel=self.passage.boat.fuel,
            floor_soc=self.passage.boat.battery.floor_soc,
            risk_frac=self.risk_frac,
        )
        # The mean sky has no grey week in it: where weathers were tried, they decide.
        return summary | {"holds": weathers["holds"], "weathers": weathers}


def simulate(passage, *, step_h=0.25, prepared=None, kind=Result) -> Result:
    """Simulate a passage with everything working.

    Parameters
    ----------
    passage : Passage
    step_h : float
        Step of the simulation; a whole number of them makes an hour. [h]
    prepared : Prepared, optional
        The passage worked out, at a step of its own, where that is at hand.
    kind : type
        The class of the result, Result or one that adds to it.

    Returns
    -------
    Result

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
    return kind(passage=passage, prepared=prepared, flow=flow, books=books)
