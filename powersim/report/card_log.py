"""The card's table for a pencil: a row for every day of the passage, in log.csv's own columns."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from powersim.report import when_where

if TYPE_CHECKING:
    from powersim.records import Boat
    from powersim.simulation.result import SimulationResult

#: How wide a column of log.csv must be to be written in by hand at sea. [mm]
_WIDE_MM = {
    "ship_time": 23.0,
    "position": 29.0,
    "soc": 14.0,
    "voltage": 15.5,
    "current": 14.5,
    "engine_h": 18.5,
    "dip": 11.0,
    "cans_left": 18.5,
    "note": 16.0,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class LogSheet:
    """What is filled in.

    Attributes
    ----------
    heads : tuple of str
        Columns of log.csv, from left to right.
    shares : tuple of float
        How much of the width each has. [-]
    days : tuple of str
        The first cell of each row: the ship's calendar from departure to landfall.
    """

    heads: tuple[str, ...]
    shares: tuple[float, ...]
    days: tuple[str, ...]


def log_sheet(result: SimulationResult, *, wide_mm: float) -> LogSheet:
    """The sheet of a simulated passage.

    Parameters
    ----------
    result : Result
        Of the simulation.
    wide_mm : float
        How wide the sheet is. [mm]
    """
    heads = list(heads_of(result.passage.boat))
    if sum(_WIDE_MM[head] for head in heads) + _WIDE_MM["note"] <= wide_mm:
        heads.append("note")
    widths = [_WIDE_MM[head] for head in heads]
    # What is left goes to a note, or else to the position, which is long.
    widths[-1 if "note" in heads else 1] += max(wide_mm - sum(widths), 0.0)
    return LogSheet(
        heads=tuple(heads),
        shares=tuple(width / sum(widths) for width in widths),
        days=tuple(_days(result)),
    )


def heads_of(boat: Boat) -> Iterator[str]:
    """The columns of log.csv that a boat can fill in, from left to right.

    Parameters
    ----------
    boat : Boat
        What is aboard.
    """
    yield from ("ship_time", "position")
    # By volts the load on counts too: a voltage without its current says little.
    yield from ("voltage", "current") if boat.battery.volts_tell else ("soc",)
    if boat.engine is not None:
        yield "engine_h"
    if boat.fuel is not None:
        yield "dip"
        if boat.fuel.jerrycans_L > 0.0:
            yield "cans_left"


def _days(result):
    track = result.prepared.track
    ends = (
        (track.start_utc_s, track.ship_offset_h[0]),
        (track.start_utc_s + 3600.0 * track.arrival_h, track.ship_offset_h[-1]),
    )
    first, last = (
        (datetime.fromtimestamp(utc_s, UTC) + timedelta(hours=float(ahead_h))).date()
        for utc_s, ahead_h in ends
    )
    for place in range((last - first).days + 1):
        noon = datetime.combine(first + timedelta(days=place), datetime.min.time(), UTC)
        yield when_where.short_date(noon)
