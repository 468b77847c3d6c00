"""Runs of the engine one by one, as rows of `SimulationResult.engine` whose types are known."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Protocol, cast

if TYPE_CHECKING:
    import pandas as pd


class EngineRun(Protocol):
    """A run as docs/reference/results.md describes it; the columns that the report tells."""

    start_utc: pd.Timestamp
    ship_time: pd.Timestamp
    lat_deg: float
    lon_deg: float
    run_h: float
    fuel_L: float
    soc_before: float
    soc_after: float
    why: str


def engine_runs(table: pd.DataFrame) -> Iterator[EngineRun]:
    """The rows of a table of runs, such as `Plan.runs`: pandas says nothing of their types."""
    return cast("Iterator[EngineRun]", table.itertuples())


def ship_offset_h(run: EngineRun) -> float:
    """How far ship's time is ahead of UTC as a run begins. [h]"""
    return (run.ship_time - run.start_utc.tz_localize(None)).total_seconds() / 3600.0
