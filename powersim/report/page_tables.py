"""Rows of the report's tables, in words: engine runs, waypoints, loads, hours."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import groupby

from powersim.report import rounding, when_where
from powersim.report.plan_text import ship_offset_h
from powersim.simulation.summary import PART_DAYS


def run_rows(result) -> list[tuple[str, ...]]:
    """Every charging run, to be followed by the clock.

    Parameters
    ----------
    result : Result
        Of the simulation.

    Returns
    -------
    list of tuple of str
        Start in ship's time and UTC, length, diesel, charge before and after, and why.
    """
    runs = result.engine[result.engine["kind"] == "charging"]
    return [
        (
            when_where.moment(
                run.start_utc,
                ship_offset_h=ship_offset_h(run),
            ),
            rounding.hours_minutes(run.run_h),
            rounding.litres(run.fuel_L),
            rounding.soc(run.soc_before),
            rounding.soc(run.soc_after),
            run.why,
        )
        for run in runs.itertuples()
    ]


def waypoint_rows(result) -> list[tuple[str, ...]]:
    """The route as it is sailed.

    Parameters
    ----------
    result : Result
        Of the simulation.

    Returns
    -------
    list of tuple of str
        Waypoint, position, when it is reached in ship's time, stop, speed to the next, line.
    """
    track, waypoints = result.prepared.track, result.passage.waypoints
    rows = []
    for place, waypoint in enumerate(waypoints):
        step = min(int(track.leg.searchsorted(place)), track.n_steps - 1)
        reached_s = track.edge_utc_s[step]
        if place == len(waypoints) - 1:
            reached_s = track.start_utc_s + 3600.0 * track.arrival_h
        last = waypoint.speed_kn is None
        stop = rounding.days(waypoint.stop_h / 24.0) if waypoint.stop_h >= 24 else ""
        if 0 < waypoint.stop_h < 24:
            stop = rounding.hours(waypoint.stop_h)
        rows.append(
            (
                waypoint.name,
                when_where.position(waypoint.lat_deg, waypoint.lon_deg),
                when_where.ship_time(
                    datetime.fromtimestamp(reached_s, UTC),
                    ship_offset_h=float(track.ship_offset_h[step]),
                ),
                f"{stop} {waypoint.stop_state}" if stop else "",
                "" if last else rounding.knots(waypoint.speed_kn),
                "" if last else waypoint.track,
            )
        )
    return rows


#: Rows of all the hour tables together, at most; on a long passage a row then stands for more. [h]
_MOST_ROWS, _STEPS_h = 2200, (1, 2, 3, 4, 6, 12, 24)


@dataclass(frozen=True, slots=True, kw_only=True)
class HourBlock:
    """The hours of one part of the passage.

    Attributes
    ----------
    place : int
        Of the part in the summary's list.
    every_h : int
        How many hours a row stands for. [h]
    rows : tuple of tuple of str
        Ship's time, position, state, light, solar, engine where there is one, loads, charge, volts.
    """

    place: int
    every_h: int
    rows: tuple[tuple[str, ...], ...]


def hour_blocks(result) -> list[HourBlock]:
    """The passage hour by hour, in the parts of the summary.

    Parameters
    ----------
    result : Result
        Of the simulation.

    Returns
    -------
    list of HourBlock
    """
    fitting = [step for step in _STEPS_h if len(result.hourly) <= step * _MOST_ROWS]
    every_h = fitting[0] if fitting else _STEPS_h[-1]
    hourly, engine = _together(result.hourly, every_h), result.passage.boat.engine is not None
    rows = [
        (
            when_where.ship_time(hour.Index, ship_offset_h=hour.ship_offset_h),
            when_where.position(hour.lat_deg, hour.lon_deg),
            hour.state,
            rounding.number(hour.ghi_W_m2),
            rounding.number(hour.solar_Ah, decimals=1),
            *([rounding.number(hour.alternator_Ah, decimals=1)] if engine else []),
            rounding.number(hour.loads_Ah, decimals=1),
            rounding.soc(hour.soc),
            rounding.volts(hour.bank_V),
        )
        for hour in hourly.itertuples()
    ]
    per_part = 24 * PART_DAYS // every_h
    return [
        HourBlock(place=place, every_h=every_h, rows=tuple(rows[first : first + per_part]))
        for place, first in enumerate(range(0, len(rows), per_part))
    ]


def _together(hourly, every_h):
    """The hourly table with several hours in a row: sums of what flows, and the end of the rest."""
    if every_h == 1:
        return hourly
    rows = hourly.groupby([number // every_h for number in range(len(hourly))])
    first = rows[["ship_offset_h", "lat_deg", "lon_deg", "state"]].first()
    summed = rows[["solar_Ah", "alternator_Ah", "loads_Ah"]].sum()
    mean = rows[["ghi_W_m2", "bank_V"]].mean()
    return first.join([summed, mean, rows[["soc"]].last()]).set_index(hourly.index[::every_h])


def assumption_groups(passage) -> list[tuple[str, list[tuple[str, str, str]]]]:
    """Every value that was assumed, by the file that it could be written in.

    Parameters
    ----------
    passage : Passage
        As its files were understood.

    Returns
    -------
    list of (str, list of (str, str, str))
        File, then key, value and reason.
    """
    return [
        (file, [(a.place.partition(" ")[2] or a.place, a.value, a.reason) for a in group])
        for file, group in groupby(passage.assumptions, key=lambda a: a.place.partition(" ")[0])
    ]


def shedding_rows(result, order) -> list[tuple[str, str, str]]:
    """In which order loads are switched off to save charge.

    Parameters
    ----------
    result : Result
        Of the simulation.
    order : sequence of str
        Loads in the order in which leaving them off gains most; others follow, the largest first.

    Returns
    -------
    list of (str, str, str)
        What goes first, at which charge if the boat says so, and the loads in that order.
    """
    shedding = result.passage.boat.shedding
    place = {load: place for place, load in enumerate(order)}
    levels = {"comfort": shedding.comfort_below_soc, "useful": shedding.useful_below_soc}
    rows = []
    for group in ("comfort", "useful", "essential", "protected"):
        loads = list(result.loads[result.loads["group"] == group]["load"])
        if not loads:
            continue
        names = ", ".join(sorted(loads, key=lambda load: place.get(load, len(place))))
        level = levels.get(group)
        when = {"essential": "last", "protected": "never"}.get(group, "when you must")
        rows.append((group, f"at {rounding.soc(level)}" if level is not None else when, names))
    return rows
