"""A logger's days as evidence: what a night's loads took, what a day added, volts before dawn."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from powersim.logbook.observations import Observation
from powersim.logbook.readings import Reading
from powersim.records import LogEntry
from powersim.records.brief import brief

if TYPE_CHECKING:
    from powersim.logbook.logger_days import LoggerDay, LoggerDays, LoggerWindow
    from powersim.records import LoggerSeries

#: A shunt's gain and its reading at no current, the same all the way; common practice, no source.
#: [-], [A]
SHUNT_GAIN_FRAC, SHUNT_ZERO_A = 0.01, 0.05
#: What a controller's own reading is off by all the way; judgement. [-]
SOLAR_GAIN_FRAC = 0.03
#: One night is not the other: loads come on earlier or for longer. One standard deviation of a sum,
#: and the least of it; judgement. [-], [Ah]
SCATTER_FRAC, SCATTER_Ah = 0.06, 0.5
_SHUNT, _SUN = "logger, amperes at the bank", "logger, amperes of the panels"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoggerEvidence:
    """What a logger's series says to the estimator.

    Attributes
    ----------
    readings : tuple of Reading
        Volts before each dawn.
    sums : tuple of Observation
        Ampere-hours of nights and days.
    """

    readings: tuple[Reading, ...]
    sums: tuple[Observation, ...]

    __repr__ = brief

    def of_loads_and_sun(self) -> LoggerEvidence:
        """Without what the bank gained, for where nobody knows for how long the engine ran."""
        kept = tuple(one for one in self.sums if one.kind != "net_Ah")
        return LoggerEvidence(readings=self.readings, sums=kept)


def logger_evidence(
    series: LoggerSeries, found: LoggerDays, *, depart_utc_s: float
) -> LoggerEvidence:
    """What the days of a series say; nothing where the logger's clock is off.

    Parameters
    ----------
    series : LoggerSeries
        What was read.
    found : LoggerDays
        Its days.
    depart_utc_s : float
        Unix time of departure, before which nothing is evidence. [s]
    """
    if found.clock_is_off:
        return LoggerEvidence(readings=(), sums=())
    after = [one for one in found.days if one.day.start_s >= depart_utc_s]
    return LoggerEvidence(
        readings=tuple(_before_dawn(series, after, depart_utc_s)),
        sums=tuple(one for each in after for one in _sums(series, each, depart_utc_s)),
    )


def _before_dawn(series, days: Iterable[LoggerDay], depart_utc_s: float):
    for one in days:
        if math.isnan(one.dawn_V):
            continue
        utc_s = one.night.end_s
        entry = LogEntry(
            file=series.file,
            line=one.line,
            row="",
            clock_s=utc_s,
            voltage_V=round(one.dawn_V, 3),
            resting_h=one.resting_h or None,
            current_A=None if math.isnan(one.dawn_A) else one.dawn_A,
        )
        yield Reading(at_h=(utc_s - depart_utc_s) / 3600.0, entry=entry)


def _sums(series, one: LoggerDay, depart_utc_s: float):
    """A night without charge tells what the loads took; all other hours what the bank gained.

    With a charge in the night, day and night are one sum: nobody knows to the minute when the
    passage as it is simulated charged.
    """
    parts = [(one.day, False), (one.night, True)]
    if not one.night_is_quiet:
        parts = [(one.together, False)] if one.whole else []
    for window, quiet in parts:
        if not window.whole or math.isnan(window.out_Ah):
            continue
        net_Ah = window.in_Ah - window.out_Ah
        yield _observed(
            series,
            window,
            depart_utc_s,
            line=one.line,
            kind="loads_Ah" if quiet else "net_Ah",
            source="logger, night load" if quiet else "logger, into the bank",
            column="current",
            meter=_SHUNT,
            value=-net_Ah if quiet else net_Ah,
            gain=SHUNT_GAIN_FRAC,
            zero_A=-SHUNT_ZERO_A if quiet else SHUNT_ZERO_A,
            moved_Ah=window.in_Ah + window.out_Ah,
        )
    if one.day.whole and not math.isnan(one.day.solar_Ah):
        yield _observed(
            series,
            one.day,
            depart_utc_s,
            line=one.line,
            kind="solar_Ah",
            source="logger, sun",
            column="solar",
            meter=_SUN,
            value=one.day.solar_Ah,
            gain=SOLAR_GAIN_FRAC,
            zero_A=0.0,
            moved_Ah=0.0,
        )


def _observed(
    series, window: LoggerWindow, depart_utc_s: float, *, value, gain, zero_A, moved_Ah, **told
) -> Observation:
    hours = (window.end_s - window.start_s) / 3600.0
    lasting = (gain * value, zero_A * hours)
    missed = (1.0 - window.covered_frac) * abs(value)
    scatter = math.hypot(SCATTER_FRAC * moved_Ah, SCATTER_Ah, missed)
    return Observation(
        at_h=(window.end_s - depart_utc_s) / 3600.0,
        since_h=(window.start_s - depart_utc_s) / 3600.0,
        value=value,
        sd=math.hypot(scatter, *lasting),
        lasting_sds=lasting,
        file=series.file,
        **told,
    )
