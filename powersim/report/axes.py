"""What the pictures share beside their colours (`palette`): size, titles, and dates along them."""

from __future__ import annotations

import math
import warnings
from contextlib import contextmanager
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from powersim.report import when_where
from powersim.report.text import shortened

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matplotlib.axes import Axes

    from powersim.simulation.result import SimulationResult

#: Of words on the card, which is printed.
BLACK = "#000000"

FIGURE_INCHES = (10.0, 5.0)
_MOST_DATES = 9
_LONGEST_TITLE = 90  # characters
SHORT_DAYS = 3.0  # below it, hours are written too [days]
HOURS_APART = (1, 2, 3, 6, 12, 24)


@contextmanager
def any_script() -> Iterator[None]:
    """While words are measured or drawn: a letter that the font lacks is a box, and that is all."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        yield


def new_axes() -> Axes:
    """Axes in a figure of their own, outside of any global state."""
    from matplotlib.figure import Figure

    return Figure(figsize=FIGURE_INCHES, layout="constrained").subplots()


def new_figure_axes(
    inches: tuple[float, float], *, left_in: float, right_in: float, over_in: float, below_in: float
) -> Axes:
    """Axes in a figure of their own, with margins in inches."""
    from matplotlib.figure import Figure

    width_in, high_in = inches
    figure = Figure(figsize=inches)
    return figure.add_axes(
        (
            left_in / width_in,
            below_in / high_in,
            1.0 - (left_in + right_in) / width_in,
            1.0 - (over_in + below_in) / high_in,
        )
    )


def entitle(
    ax: Axes, text: str, *, longest: int = _LONGEST_TITLE, font_points: float | None = None
) -> None:
    """A title at the left, as it is typed, on one line."""
    line = shortened(text, longest)
    # A "$" in a name is no formula.
    ax.set_title(line, loc="left", parse_math=False, fontsize=font_points)


def ship_dates_along(ax: Axes, result: SimulationResult, *, most: int = _MOST_DATES) -> None:
    """Few of the ship's dates along the bottom, at ship's midnight; hours on a short passage."""
    from matplotlib.ticker import FixedLocator, FuncFormatter

    hourly, daily = result.hourly, result.daily
    days = len(hourly) / 24.0
    if days < SHORT_DAYS:
        clock_h = (hourly["ship_time"].dt.hour).tolist()
        every_h = next(h for h in HOURS_APART if len(hourly) / h < most or h == HOURS_APART[-1])
        # On a clock that is half an hour off, the hour in which it strikes.
        marks = {
            _place(time - timedelta(minutes=ship.minute)): when_where.ship_time(
                time - timedelta(minutes=ship.minute),
                ship_offset_h=_ahead_h(time, ship),
            )[len("Sat ") :]
            for time, ship, hour in zip(hourly.index, hourly["ship_time"], clock_h, strict=True)
            if hour % every_h == 0
        }
    else:
        # The first day is that of the departure, and began before it.
        shown = list(zip(daily["start_utc"], daily.index, strict=True))[1:]
        every_days, marks, last = max(1, -(-len(shown) // most)), {}, -math.inf
        for start, date in shown:
            # A day is short where the clock or the date is changed.
            if _place(start) - last > every_days - 0.5:
                last = _place(start)
                marks[last] = when_where.short_date(date.tz_localize("UTC"))
    ax.xaxis.set_major_locator(FixedLocator(list(marks)))
    ax.xaxis.set_major_formatter(FuncFormatter(lambda place, _=None: marks.get(place, "")))
    ax.set_xlabel(axis_name(days))


def axis_name(days: float) -> str:
    """What is written along a picture of so many days."""
    return "ship's date" if days >= SHORT_DAYS else "ship's time"


def _place(when: datetime) -> float:
    """Along an axis of dates."""
    from matplotlib.dates import date2num

    return float(date2num(when))


def _ahead_h(time_utc: datetime, ship: datetime) -> float:
    """How far ship's time is ahead of UTC. [h]"""
    return (ship - time_utc.replace(tzinfo=None)).total_seconds() / 3600.0


def dates_along(ax: Axes, first: datetime, last: datetime, *, name: str = "date (UTC)") -> None:
    """Few dates along the bottom, each at midnight."""
    from matplotlib.dates import DayLocator, HourLocator

    days = (last - first).total_seconds() / 86400.0
    if days < SHORT_DAYS:
        ax.xaxis.set_major_locator(HourLocator(byhour=(0, 6, 12, 18)))
        ax.xaxis.set_major_formatter(_hour)
    else:
        every = max(1, -(-round(days) // _MOST_DATES))
        ax.xaxis.set_major_locator(DayLocator(interval=every))
        ax.xaxis.set_major_formatter(_date)
    ax.set_xlabel(name)


def _date(place: float, _=None) -> str:
    """5 Sep, whatever language the machine speaks."""
    from matplotlib.dates import num2date

    return when_where.short_date(num2date(place))


def _hour(place: float, _=None) -> str:
    from matplotlib.dates import num2date

    return when_where.ship_time(num2date(place))[len("Sat ") :]
