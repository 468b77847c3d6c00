"""The tables that only the page has: the bank, engine runs, waypoints, loads, hours."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from powersim.report import rounding
from powersim.report.assumed import assumed
from powersim.report.endurance_gains import PROTECTED_GROUP
from powersim.report.engine_runs import engine_runs, ship_offset_h
from powersim.report.findings import understood
from powersim.report.kinds import (
    AH,
    BY_WATCH,
    COUNT,
    DAYS,
    HOURS,
    KNOTS,
    LITRES,
    MOMENT,
    POSITION,
    SHARE,
    SHIP_TIME,
    TENTHS,
    VOLTS,
    WH,
)
from powersim.report.ledger import ledger_table
from powersim.report.quoted import quoted
from powersim.report.sounding_text import strip_rows
from powersim.report.view import Column, Table, Text
from powersim.simulation.summary import PART_DAYS

if TYPE_CHECKING:
    from powersim.simulation.result import SimulationResult


def page_tables(result: SimulationResult, summary: dict, *, order: Sequence[str]) -> dict:
    """All tables that no other form has, by the name that the page has for each.

    Each is a Table, several, or None where there is nothing; `order` has the loads first that gain
    most by being left off.
    """
    boat = result.passage.boat
    sounded = boat.fuel is not None and boat.fuel.shape is not None
    return {
        "bank": _bank(summary),
        "runs": _runs(result),
        "ledger": ledger_table(summary) if boat.engine is not None else None,
        "strip": _strip(boat) if sounded else None,
        "loads": _loads(summary),
        "shedding": _shedding(result, order),
        "waypoints": _waypoints(result),
        "hours": hour_blocks(result),
        "understood": _understood(result.passage),
        "assumed": assumed(result.passage.assumptions),
    }


def _words(*heads: str) -> list[Column]:
    return [Column(head, words=True) for head in heads]


def _numbers(*heads: str) -> list[Column]:
    return [Column(head) for head in heads]


def _bank(summary) -> Table:
    """What the bank comes to in average weather."""
    charge = "average.charge"
    rows = [
        ("lowest charge", f"{charge}.lowest_soc", SHARE),
        ("lowest voltage, heaviest load on", f"{charge}.lowest_V", VOLTS),
        ("floor", f"{charge}.floor_soc", SHARE),
        ("time below the floor", f"{charge}.below_floor_h", HOURS),
        ("time with everything dark", f"{charge}.dark_h", HOURS),
        ("charge at landfall", f"{charge}.soc_at_landfall", SHARE),
        (
            "longest time without a full charge",
            f"{charge}.longest_gap_between_full_days",
            DAYS,
        ),
    ]
    if summary["cold"]["too_cold_h"]:
        rows.insert(5, ("time too cold to be charged", "cold.too_cold_h", HOURS))
    return Table(
        caption="The bank, in average weather",
        columns=(*_words("what"), *_numbers("how much")),
        rows=tuple((what, quoted(summary, key, kind)) for what, key, kind in rows),
    )


def _runs(result) -> Table:
    """Every charging run, to be followed by the clock."""
    runs = result.engine[result.engine["kind"] == "charging"]
    columns = _numbers("for", result.passage.boat.fuel_word, "charge before", "after")
    return Table(
        caption="Charging runs",
        columns=(*_words("start"), *columns, *_words("why")),
        rows=tuple(
            (
                MOMENT((run.start_utc, ship_offset_h(run))),
                BY_WATCH(run.run_h),
                LITRES(run.fuel_L),
                SHARE(run.soc_before),
                SHARE(run.soc_after),
                run.why,
            )
            for run in engine_runs(runs)
        ),
    )


def _strip(boat) -> Table:
    """The dip stick in litres."""
    columns = (*_words("stick"), *_numbers("in the tank", "above the pick-up"))
    return Table(caption="Sounding strip", columns=columns, rows=tuple(strip_rows(boat)))


def _loads(summary) -> Table:
    """Every load, a day."""
    kinds = {"Ah_per_day": AH, "Wh_per_day": WH, "on_h_per_day": HOURS, "unserved_Ah_per_day": AH}
    return Table(
        caption="Every load, a day",
        columns=(
            *_words("load", "priority"),
            *_numbers("charge", "energy", "on for", "went without"),
        ),
        rows=tuple(
            (
                load["load"],
                load["group"],
                *(kind(load[name], f"loads.{place}.{name}") for name, kind in kinds.items()),
            )
            for place, load in enumerate(summary["loads"])
        ),
    )


def _waypoints(result) -> Table:
    """The route as it is sailed."""
    track, waypoints = result.prepared.track, result.passage.waypoints
    rows: list[tuple[Text, ...]] = []
    for place, waypoint in enumerate(waypoints):
        step = min(int(track.leg.searchsorted(place)), track.n_steps - 1)
        reached_s = track.edge_utc_s[step]
        if place == len(waypoints) - 1:
            reached_s = track.start_utc_s + 3600.0 * track.arrival_h
        reached = datetime.fromtimestamp(reached_s, UTC), float(track.ship_offset_h[step])
        last, stop = waypoint.speed_kn is None, ""
        if waypoint.stop_h > 0:
            hours = waypoint.stop_h < 24
            stop = str(HOURS(waypoint.stop_h) if hours else DAYS(waypoint.stop_h / 24.0))
        rows.append(
            (
                waypoint.name,
                POSITION((waypoint.lat_deg, waypoint.lon_deg)),
                SHIP_TIME(reached),
                f"{stop} {waypoint.stop_state}" if stop else "",
                "" if last else KNOTS(waypoint.speed_kn),
                "" if last else waypoint.track,
            )
        )
    named = _words("waypoint", "position", "reached (ship's time)", "stop")
    columns = (*named, *_numbers("speed on"), *_words("line"))
    return Table(caption="Waypoints", columns=columns, rows=tuple(rows))


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
    table : Table
        Its rows.
    """

    place: int
    every_h: int
    table: Table


def hour_blocks(result: SimulationResult) -> list[HourBlock]:
    """The passage hour by hour, in the parts of the summary."""
    fitting = [step for step in _STEPS_h if len(result.hourly) <= step * _MOST_ROWS]
    every_h = fitting[0] if fitting else _STEPS_h[-1]
    hourly, engine = _together(result.hourly, every_h), result.passage.boat.engine is not None
    columns = (
        *_words("ship's time", "position", "state"),
        *_numbers("light, W/m²", "solar", *(["alternator"] if engine else [])),
        *_numbers("loads", "charge", "volts"),
    )
    rows = [
        (
            SHIP_TIME((hour.Index, hour.ship_offset_h)),
            POSITION((hour.lat_deg, hour.lon_deg)),
            hour.state,
            COUNT(hour.ghi_W_m2),
            TENTHS(hour.solar_Ah),
            *([TENTHS(hour.alternator_Ah)] if engine else []),
            TENTHS(hour.loads_Ah),
            SHARE(hour.soc),
            VOLTS(hour.bank_V),
        )
        for hour in hourly.itertuples()
    ]
    per_part = 24 * PART_DAYS // every_h
    return [
        HourBlock(
            place=place,
            every_h=every_h,
            table=Table(
                caption=f"Hours of week {place + 1}",
                columns=columns,
                rows=tuple(rows[first : first + per_part]),
            ),
        )
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


def _understood(passage) -> Table:
    """How the files were understood."""
    columns = tuple(_words("what", "how"))
    return Table(
        caption="As the files were understood", columns=columns, rows=tuple(understood(passage))
    )


def shedding_rows(result: SimulationResult, order: Sequence[str]) -> list[tuple[str, str, str]]:
    """What goes first to save charge, at which charge if the boat says so, and the loads in order.

    Those of `order`, which gain most by being left off, come first; then the others, the largest
    first.
    """
    shedding = result.passage.boat.shedding
    place = {load: place for place, load in enumerate(order)}
    levels = {"comfort": shedding.comfort_below_soc, "useful": shedding.useful_below_soc}
    rows = []
    for group in ("comfort", "useful", "essential", PROTECTED_GROUP):
        loads = list(result.loads[result.loads["group"] == group]["load"])
        if not loads:
            continue
        names = ", ".join(sorted(loads, key=lambda load: place.get(load, len(place))))
        level = levels.get(group)
        when = {"essential": "last", PROTECTED_GROUP: "never"}.get(group, "when you must")
        rows.append((group, f"at {rounding.soc(level)}" if level is not None else when, names))
    return rows


def _shedding(result, order) -> Table:
    """The same as a table."""
    return Table(
        caption="Switch off in this order",
        columns=tuple(_words("priority", "when", "which, the most days gained first")),
        rows=tuple(shedding_rows(result, order)),
    )
