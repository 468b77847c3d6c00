"""What a logger's series says day by day: the answer of `underway`."""

from __future__ import annotations

import math
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from powersim.logbook.logger_days import LEAST_COVERED_FRAC
from powersim.report import rounding, when_where
from powersim.report.kinds import AMPS, SHARE, VOLTS, Kind
from powersim.report.view import Bullets, Column, Paragraph, Section, Table, Text, Title

if TYPE_CHECKING:
    from powersim.logbook.logger_days import LoggerDay, LoggerDays
    from powersim.records import LoggerSeries

_AH = Kind(rounding.ah)
#: Days that are shown, the last ones; JSON has all of them.
_MOST_SHOWN = 14


def logger_view(
    series: LoggerSeries, found: LoggerDays, *, counts: int, ship_offset_h: float = 0.0
) -> list[Section]:
    """The answer in sections.

    Parameters
    ----------
    series : LoggerSeries
        What was read.
    found : LoggerDays
        Its days.
    counts : int
        How many figures of it count as readings.
    ship_offset_h : float
        Ship's time ahead of UTC, for the calendar. [h]
    """
    days = [one for one in found.days if one.day.covered_frac or one.night.covered_frac]
    sections: list[Section] = [
        Title("What the logger says"),
        Paragraph(_opening(series, found)),
        Bullets(series.taken),
    ]
    if days:
        sections.append(_table(days[-_MOST_SHOWN:], series, ship_offset_h))
    sections.append(Bullets(tuple(_remarks(series, found, days, counts))))
    return sections


def _opening(series: LoggerSeries, found: LoggerDays) -> Text:
    first, last = (datetime.fromtimestamp(float(series.times_s[place]), UTC) for place in (0, -1))
    aside = f"; {series.broken:,} set aside" if series.broken else ""
    every = f"{found.step_s:.0f} s" if found.step_s < 90.0 else f"{found.step_s / 60.0:.0f} min"
    return (
        f"{len(series.times_s):,} rows, one every {every}, from {first:%Y-%m-%d %H:%M} to "
        f"{last:%Y-%m-%d %H:%M} by its own clock{aside}."
    )


def _table(days: list[LoggerDay], series: LoggerSeries, ship_offset_h: float) -> Table:
    columns = [Column("from dawn of", words=True), Column("logged")]
    if series.amps_A is not None:
        columns += [Column("out of\nthe bank"), Column("into\nthe bank"), Column("night\nload")]
    if series.solar_A is not None:
        columns.append(Column("from the\npanels"))
    if series.volts_V is not None:
        columns.append(Column("volts\nbefore dawn"))
    rows = tuple(_row(one, series, ship_offset_h) for one in days)
    return Table(columns=tuple(columns), rows=rows)


def _row(one: LoggerDay, series: LoggerSeries, ship_offset_h: float) -> tuple[Text, ...]:
    """A day; what was not logged for most of it is left open."""
    parts = (one.day, one.night)
    lengths_s = [part.end_s - part.start_s for part in parts]
    logged_s = [part.covered_frac * s for part, s in zip(parts, lengths_s, strict=True)]
    dawn = datetime.fromtimestamp(one.day.start_s, UTC)

    def both(name: str) -> Text:
        return _AH(sum(getattr(part, name) for part in parts)) if one.whole else rounding.UNKNOWN

    cells: list[Text] = [
        when_where.short_date(dawn, ship_offset_h=ship_offset_h),
        SHARE(sum(logged_s) / sum(lengths_s)),
    ]
    if series.amps_A is not None:
        cells += [both("out_Ah"), both("in_Ah")]
        cells.append(AMPS(one.night_A) if one.night.whole else rounding.UNKNOWN)
    if series.solar_A is not None:
        cells.append(_AH(one.day.solar_Ah) if one.day.whole else rounding.UNKNOWN)
    if series.volts_V is not None:
        cells.append(VOLTS(one.dawn_V))
    return tuple(cells)


def _remarks(series: LoggerSeries, found: LoggerDays, days: list[LoggerDay], counts: int):
    if series.amps_A is not None:
        yield _sign(found)
    lacking = [one for one in days if not one.whole]
    if lacking:
        share = rounding.soc(LEAST_COVERED_FRAC)
        yield (
            f"{rounding.plural(len(lacking), 'day')} of which less than {share} was logged, by day "
            "or by night: no sum is made of that part."
        )
    if len(days) > _MOST_SHOWN:
        yield f"The last {_MOST_SHOWN} days of {len(days)}; --json has all."
    if not days:
        yield "No dawn lies within it, so that no day can be summed: log on for two days."
    if found.clock_is_off:
        way = "after" if found.off_noon_h > 0.0 else "before"
        yield (
            f"The middle of the panels' charge lies {abs(found.off_noon_h):.1f} h {way} the sun's "
            "noon: the logger's clock does not show UTC, or she is far from the route. Say what it "
            'shows with --logger-clock, such as ship or "+02:00". Until then nothing of it counts.'
        )
    elif math.isnan(found.off_noon_h) and not series.in_utc:
        yield (
            "Its clock is taken to show UTC; --logger-clock says otherwise. Its nights are by that."
        )
    if counts:
        yield f"Of these, {rounding.plural(counts, 'figure')} since departure count as readings."


def _sign(found: LoggerDays) -> str:
    if found.outward_above_0 is None:
        return (
            "By night its current flows both ways or not at all, so that its sign cannot be told: "
            "no current of it is used."
        )
    way = "above" if found.outward_above_0 else "below"
    return f"It shows what flows out of the bank as {way} 0, by its nights, and is read so."


def logger_dict(series: LoggerSeries, found: LoggerDays, *, counts: int) -> dict[str, Any]:
    """The answer for a program; null for what is not known.

    Parameters
    ----------
    series : LoggerSeries
        What was read.
    found : LoggerDays
        Its days.
    counts : int
        How many figures of it count as readings.
    """
    return {
        "rows": len(series.times_s),
        "broken": series.broken,
        "set_aside": [str(one) for one in series.set_aside],
        "taken": list(series.taken),
        "outward_above_0": found.outward_above_0,
        "off_noon_h": _known(found.off_noon_h),
        "counts": counts,
        "days": [
            {
                "dawn_utc": _utc(one.day.start_s),
                "next_dawn_utc": _utc(one.night.end_s),
                "day_logged_frac": _known(one.day.covered_frac),
                "night_logged_frac": _known(one.night.covered_frac),
                "day_out_Ah": _known(one.day.out_Ah),
                "day_in_Ah": _known(one.day.in_Ah),
                "night_out_Ah": _known(one.night.out_Ah),
                "night_in_Ah": _known(one.night.in_Ah),
                "solar_Ah": _known(one.day.solar_Ah),
                "night_A": _known(one.night_A),
                "dawn_V": _known(one.dawn_V),
                "dawn_A": _known(one.dawn_A),
                "resting_h": _known(one.resting_h),
            }
            for one in found.days
        ],
    }


def _known(value: float) -> float | None:
    return round(value, 3) if math.isfinite(value) else None


def _utc(utc_s: float) -> str:
    return datetime.fromtimestamp(round(utc_s), UTC).isoformat()
