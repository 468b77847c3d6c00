"""Few of the ship's dates along a picture, of its numbers alone."""

from __future__ import annotations

import math
from datetime import timedelta

from powersim.report import when_where
from powersim.report.axes import HOURS_APART, SHORT_DAYS, axis_name
from powersim.report.figure_charge import ChargeFigure


def date_marks(charge: ChargeFigure, *, most: int) -> list[tuple[float, str]]:
    """Dates at ship's midnight; on a short passage hours of the ship's clock.

    They are those that `axes.ship_dates_along` has, which needs the whole result for them.

    Parameters
    ----------
    charge : ChargeFigure
        The picture's numbers.
    most : int
        How many there is room for.

    Returns
    -------
    list of (float, str)
        Hours after departure, and what is written there.
    """
    hours = len(charge.times_utc) - 1
    return _clock(charge, hours, most) if hours / 24.0 < SHORT_DAYS else _dates(charge, most)


def _dates(charge, most) -> list[tuple[float, str]]:
    # The first day is that of the departure, and began before it.
    shown = charge.days[1:]
    every_h, last_h, marks = 24.0 * max(1, -(-len(shown) // most)), -math.inf, []
    for day in shown:
        hour = _hours(day.start_utc - charge.times_utc[0])
        # A day is short where the clock or the date is changed.
        if hour - last_h > every_h - 12.0:
            last_h = hour
            # Well within the day, its date is the ship's whatever the clock does at midnight.
            middle = day.start_utc + (day.end_utc - day.start_utc) / 2
            offset_h = charge.ship_offset_h[math.floor(_hours(middle - charge.times_utc[0]))]
            marks.append((hour, when_where.short_date(middle, ship_offset_h=offset_h)))
    return marks


def _clock(charge, hours, most) -> list[tuple[float, str]]:
    every_h = next(h for h in HOURS_APART if hours / h < most or h == HOURS_APART[-1])
    marks = []
    for hour in range(hours):
        offset_h = charge.ship_offset_h[hour]
        told = when_where.ship_time(charge.times_utc[hour], ship_offset_h=offset_h)
        clock_h, past_min = int(told[-5:-3]), int(told[-2:])
        # On a clock that is half an hour off, the hour in which it strikes.
        if clock_h % every_h == 0:
            struck = charge.times_utc[hour] - timedelta(minutes=past_min)
            words = when_where.ship_time(struck, ship_offset_h=offset_h)
            marks.append((hour - past_min / 60.0, words[len("Sat ") :]))
    return marks


def _hours(apart: timedelta) -> float:
    return apart.total_seconds() / 3600.0


def date_heading(charge: ChargeFigure) -> str:
    """What is written along the picture."""
    return axis_name((len(charge.times_utc) - 1) / 24.0)
