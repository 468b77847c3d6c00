"""What a logger's time series says day by day."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any

from powersim.api.asked import passage_of
from powersim.records.brief import brief

if TYPE_CHECKING:
    from powersim.logbook.logger_days import LoggerDays
    from powersim.logbook.logger_evidence import LoggerEvidence
    from powersim.records import Log, LoggerSeries, Passage
    from powersim.simulation.prepared_passage import PreparedPassage
    from powersim.simulation.result import SimulationResult


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Logged:
    """A logger's series, its days, and what of them counts.

    Attributes
    ----------
    series : LoggerSeries
        As it was read.
    days : LoggerDays
        Dawn to dawn.
    evidence : LoggerEvidence
        What is held against the passage, from departure on.
    ship_offset_h : float
        Ship's time ahead of UTC at departure. [h]
    depart_utc_s : float
        Unix time of departure. [s]
    """

    series: LoggerSeries
    days: LoggerDays
    evidence: LoggerEvidence
    ship_offset_h: float
    depart_utc_s: float

    @property
    def counts(self) -> int:
        """How many figures of it count as readings."""
        return len(self.evidence.readings) + len(self.evidence.sums)

    @property
    def as_log(self) -> Log | None:
        """A log of nothing but the times at which its figures end; None without any.

        For where nobody kept one: the figures themselves are evidence beside it.
        """
        from powersim.records import Log, LogEntry

        volts_h = {one.at_h for one in self.evidence.readings}
        sums_h = {one.at_h for one in self.evidence.sums if one.kind != "solar_Ah"}
        entries = tuple(
            LogEntry(
                file=self.series.file, line=0, row="", clock_s=self.depart_utc_s + 3600.0 * at_h
            )
            for at_h in sorted(volts_h | sums_h)
        )
        told = "there is no log.csv: the ends of the logger's days and nights stand for its entries"
        return Log(entries=entries, taken=(told,)) if entries else None

    __repr__ = brief


def logged(
    passage: Passage | PreparedPassage[Any] | SimulationResult,
    *,
    logger: str | PathLike[str] | None = None,
    columns: Mapping[str, str] | None = None,
    clock_ahead_h: float | None = 0.0,
    now: str | datetime | None = None,
) -> Logged:
    """What a logger's file of volts and amperes says day by day.

    Parameters
    ----------
    passage : Passage, PreparedPassage or Result
        Where the boat was.
    logger : str or path, optional
        The file; logger.csv in the passage's folder if left out.
    columns : mapping of str to str, optional
        "time", "clock", "voltage", "current", "solar" and "soc" to headings, where the headings do
        not tell.
    clock_ahead_h : float or None
        How far the logger's clock is ahead of UTC; None where it shows ship's time. [h]
    now : str or datetime, optional
        Taken for now, where the computer's clock is wrong.

    Returns
    -------
    Logged
        With the series as it was read, and its days.

    Raises
    ------
    InputError
        If it cannot be read, or cannot be understood without asking.
    ValueError
        If no file is named and the passage was not read from a folder.
    """
    from powersim.api.log_read import now_of
    from powersim.inputs.logger import LOGGER_FILE, read_logger
    from powersim.logbook.logger_days import logger_days
    from powersim.logbook.logger_evidence import logger_evidence
    from powersim.simulation.prepare import prepare

    asked = passage_of(passage)
    if logger is None and asked.folder is None:
        raise ValueError("the passage was not read from a folder; name its logger's file")
    file = Path(asked.folder or "") / LOGGER_FILE if logger is None else logger
    latest = max(now_of(now), asked.depart_utc) + timedelta(days=1)
    series = read_logger(file, named=columns, within=(asked.depart_utc, latest))
    track = prepare(asked, step_h=1.0).track
    days = logger_days(series, asked.boat.battery, track, ahead_h=clock_ahead_h)
    depart_s = asked.depart_utc.timestamp()
    return Logged(
        series=series,
        days=days,
        evidence=logger_evidence(series, days, depart_utc_s=depart_s),
        ship_offset_h=float(track.ship_offset_h[0]),
        depart_utc_s=depart_s,
    )
