"""Charging runs by the clock, as the sailor writes them: "1 h at 08:00 north of 50 N"."""

from __future__ import annotations

import re

from powersim.inputs.positions import parse_angle
from powersim.inputs.text import ReadingError, quoted
from powersim.inputs.toml_keys import ValueKind, shown, written
from powersim.inputs.units import to_float
from powersim.records import DailyRun
from powersim.records.clock import clock

_RUN = re.compile(r"(?P<run>.+?)\s+at\s+(?P<hour>\d{1,2}):(?P<minute>\d{2})(?:\s+(?P<where>.+))?")
_MOST_RUNS = 20


def read_daily(value: list[str]) -> tuple[DailyRun, ...]:
    """The daily runs of a list.

    Parameters
    ----------
    value : list of str
        Each "RUN at TIME", for all latitudes, or with "north of LATITUDE", "south of LATITUDE" or
        "LATITUDE to LATITUDE" behind it.

    Raises
    ------
    ReadingError
        With a `reason`, if it is none.

    Examples
    --------
    >>> read_daily(["30 min at 08:30 50 N to 35 N"])[0].north_deg
    50.0
    """
    if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
        raise ReadingError(f"{shown(value)} is not a list of runs in quotes")
    if len(value) > _MOST_RUNS:
        raise ReadingError(f"has more than {_MOST_RUNS} runs")
    runs = tuple(_daily_run(text) for text in value)
    for place, run in enumerate(runs):
        for other in runs[:place]:
            if _meet(run, other):
                raise ReadingError(
                    f"{quoted(write_daily_run(other))} and {quoted(write_daily_run(run))} overlap"
                )
    return runs


def write_daily_run(run: DailyRun) -> str:
    """A run as the sailor would write it.

    Examples
    --------
    >>> write_daily_run(DailyRun(at_h=8.0, run_h=1.0, south_deg=50.0))
    '1 h at 08:00 north of 50 N'
    """
    length = written(run.run_h, "h") if run.run_h >= 1 else f"{60.0 * run.run_h:.4g} min"
    where = ""
    if (run.south_deg, run.north_deg) != (-90.0, 90.0):
        south, north = _latitude(run.south_deg), _latitude(run.north_deg)
        where = f" {north} to {south}"
        if run.north_deg == 90.0:
            where = f" north of {south}"
        elif run.south_deg == -90.0:
            where = f" south of {north}"
    return f"{length} at {clock(run.at_h)}{where}"


def _latitude(lat_deg: float) -> str:
    return f"{abs(lat_deg):.4g} {'N' if lat_deg >= 0 else 'S'}"


DAILY_RUNS = ValueKind(
    read=read_daily,
    write=lambda runs: ", ".join(map(write_daily_run, runs)) or "none",
    span='a list of "RUN at TIME", each with or without "north of", "south of" or "A to B" behind',
    listed=True,
)


def _daily_run(text: str) -> DailyRun:
    match = _RUN.fullmatch(" ".join(text.split()))
    if match is None:
        raise ReadingError(f"cannot read {quoted(text)}")
    run_h = to_float(match["run"], "h")
    if not 0 < run_h < 24:
        raise ReadingError(f"{quoted(text)}: a run lasts more than 0 and less than 24 h")
    at_h = int(match["hour"]) + int(match["minute"]) / 60.0
    if int(match["minute"]) > 59 or at_h >= 24:
        raise ReadingError(f"{quoted(text)}: there is no such time of the day")
    south_deg, north_deg = _band(match["where"] or "", text)
    return DailyRun(at_h=at_h, run_h=run_h, south_deg=south_deg, north_deg=north_deg)


def _band(where: str, text: str) -> tuple[float, float]:
    """The latitudes that the words behind a run name."""
    lower = where.casefold()
    if not where:
        return -90.0, 90.0
    if lower.startswith("north of "):
        band = parse_angle(where[9:], "latitude"), 90.0
    elif lower.startswith("south of "):
        band = -90.0, parse_angle(where[9:], "latitude")
    else:
        one, to, other = where.partition(" to ")
        if not to:
            raise ReadingError(f"cannot read where {quoted(text)} is done")
        south, north = sorted(parse_angle(part, "latitude") for part in (one, other))
        band = south, north
    if not band[0] < band[1]:
        raise ReadingError(f"{quoted(text)} is done nowhere")
    return band


def _meet(one: DailyRun, other: DailyRun) -> bool:
    if one.south_deg >= other.north_deg or other.south_deg >= one.north_deg:
        return False
    apart_h = (other.at_h - one.at_h) % 24.0
    return apart_h < one.run_h or 24.0 - apart_h < other.run_h
