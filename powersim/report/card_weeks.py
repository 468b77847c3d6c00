"""What to expect week by week, for the card: to be held against the meter and the stick aboard."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from powersim.planning.panel_values import shown_V
from powersim.records.units_aboard import aboard
from powersim.report.kinds import (
    BARE_LITRES,
    COUNT,
    LATITUDE,
    SHARE,
    SHORT_DATE,
    VOLTS,
    Kind,
    Words,
    say,
)
from powersim.report.view import Column, Table
from powersim.report.week_runs import round_half_up, week_runs_of
from powersim.simulation.bands import quantiles
from powersim.simulation.ensemble_weeks import WEEK_h

if TYPE_CHECKING:
    from powersim.records.arrays import Array
    from powersim.simulation.ensemble import EnsembleResult
    from powersim.simulation.result import SimulationResult

MEDIAN, BELOW, ABOVE = "median", "1 in 10\nbelow", "1 in 10\nabove"
#: A tenth greatest of some counts may lie between two of them.
_RUNS = Kind(lambda runs: COUNT.text(round_half_up(runs)))


def card_weeks(result: SimulationResult) -> Table:
    """The weeks: charge before dawn, lowest charge, runs and fuel.

    Of many simulated passages the middle one, and what one in ten is below or above. Mornings are
    taken together, all those of a week and of all passages.

    Parameters
    ----------
    result : Result
        Of the simulation.
    """
    battery, engine = result.passage.boat.battery, result.passage.boat.engine is not None
    by_volts = battery.volts_tell
    fuel = f"{result.passage.boat.fuel_word}, {aboard().volume.symbol}" if engine else ""
    ensemble = result.ensemble
    if ensemble is None:
        columns = [Column("before dawn"), Column("lowest\ncharge")]
        columns += [Column("runs"), Column(fuel)] if engine else []
        rows = _in_average(result, by_volts=by_volts, engine=engine)
    else:
        columns = [Column(head, over="before dawn") for head in (MEDIAN, BELOW)]
        columns += [Column(BELOW, over="lowest")]
        if engine:
            columns += [Column(head, over="runs") for head in (MEDIAN, ABOVE)]
            columns += [Column(head, over=fuel) for head in (MEDIAN, ABOVE)]
        rows = _in_ensemble(result, ensemble, by_volts=by_volts, engine=engine)
    return Table(
        caption=weeks_heading(result),
        columns=(Column("from", words=True), Column("at", words=True), *columns),
        rows=tuple(
            (
                SHORT_DATE((datetime.fromisoformat(part["start_utc"]), part["ship_offset_h"])),
                LATITUDE(part["lat_from_deg"], f"parts.{place}.lat_from_deg"),
                *row,
            )
            for place, (part, row) in enumerate(zip(result.summary["parts"], rows, strict=True))
        ),
    )


def weeks_heading(result: SimulationResult) -> str:
    """What the columns are of."""
    if result.ensemble is None:
        return "What to expect each week, in average weather alone"
    return f"What to expect each week, in {result.ensemble.members} simulated passages"


def first_week(result: SimulationResult) -> Words | None:
    """What the first week asks of the engine; None without one, or in average weather alone."""
    if result.ensemble is None or result.passage.boat.engine is None:
        return None
    return say("First week: {}.", week_runs_of(result.ensemble.weeks, 0))


def _in_ensemble(result, ensemble: EnsembleResult, *, by_volts, engine):
    import numpy as np

    weeks = ensemble.weeks
    ends_L = ensemble.hour_fuel_left_L[weeks.end_h.astype(int) - 1]
    burnt_L = -np.diff(ends_L, axis=0, prepend=[np.full(ensemble.members, _usable_L(result))])
    for place, (start_h, end_h) in enumerate(zip(weeks.start_h, weeks.end_h, strict=True)):
        hours_soc = ensemble.hour_soc[int(start_h) : int(end_h)]
        row = [
            _bank(result, float(soc), by_volts=by_volts)
            for soc in quantiles(days_lowest(hours_soc).ravel(), (0.5, 0.1))
        ]
        row.append(SHARE(float(quantiles(weeks.lowest_soc[place], (0.1,))[0])))
        if engine:
            row += [_RUNS(float(runs)) for runs in quantiles(weeks.runs[place], (0.5, 0.9))]
            row += [BARE_LITRES(float(litres)) for litres in quantiles(burnt_L[place], (0.5, 0.9))]
        yield row


def _in_average(result, *, by_volts, engine):
    import numpy as np

    hourly, ran = result.hourly, result.flow.charging[:, 0] > 0.0
    begun_h = np.flatnonzero(ran & ~np.append(False, ran[:-1])) * result.prepared.track.step_h
    left_L = hourly["fuel_left_L"].to_numpy()
    for place, part in enumerate(result.summary["parts"]):
        first, last = int(WEEK_h) * place, min(int(WEEK_h) * (place + 1), len(hourly))
        lowest = days_lowest(hourly["lowest_soc"].to_numpy()[first:last, np.newaxis])
        median_soc = float(np.median(lowest))
        key = f"parts.{place}.lowest_soc"
        row = [_bank(result, median_soc, by_volts=by_volts), SHARE(part["lowest_soc"], key)]
        if engine:
            of_week = (begun_h >= WEEK_h * place) & (begun_h < WEEK_h * (place + 1))
            before_L = left_L[first - 1] if first else _usable_L(result)
            row += [_RUNS(float(of_week.sum())), BARE_LITRES(float(before_L - left_L[last - 1]))]
        yield row


def days_lowest(hours_soc: Array) -> Array:
    """The lowest charge of each whole day, which is that before dawn on most.

    Parameters
    ----------
    hours_soc : ndarray, shape (hours, members)
        State of charge. [-]

    Returns
    -------
    ndarray, shape (days, members)
        Of less than a day, one row. [-]
    """
    import numpy as np

    days = max(len(hours_soc) // 24, 1)
    return np.array([day.min(axis=0) for day in np.array_split(hours_soc[: 24 * days], days)])


def _bank(result, soc, *, by_volts):
    return VOLTS(shown_V(result.prepared, soc)) if by_volts else SHARE(soc)


def _usable_L(result) -> float:
    fuel = result.passage.boat.fuel
    return fuel.usable_L if fuel is not None else 0.0
