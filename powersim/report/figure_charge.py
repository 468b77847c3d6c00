"""The picture of the charge in one weather, and what it shares with that of many: frame and levels.

Below the charge lie strips with the same dates along them (`frames`): the engine's hours, and in
many passages the chance of having failed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from powersim.report import when_where
from powersim.report.axes import entitle, ship_dates_along
from powersim.report.charge_look import WIDE, Look, frames, head
from powersim.report.direct_labels import SideLabel
from powersim.report.names import entitled, headed
from powersim.report.palette import CHARGE, ENGINE, FLOOR, GRID, INK, NIGHT

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from powersim.simulation.result import SimulationResult

#: In what weather a single curve is.
ALONE = "average weather alone"
#: Strokes of the line at which electronics go dark. [points]
_FLAT_DASHES = (2, 2)
#: How much of the night's colour is laid on, so that forty nights are no fence. [-]
_QUIET = 0.65
#: Above a full bank, and below the lowest line. [%]
TOP_PERCENT, _BELOW_PERCENT = 103.0, 4.0
#: How far a strip reaches above its highest bar. [-]
_OVER = 1.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A stretch of time.

    Attributes
    ----------
    start_utc, end_utc : datetime
        Time zone aware.
    """

    start_utc: datetime
    end_utc: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class ShipDay:
    """A day on the ship's calendar; the first and the last are short.

    Attributes
    ----------
    start_utc, end_utc : datetime
        Time zone aware.
    charging_h, motoring_h : float
        Engine at rest, and in gear; in many passages what they come to on average. [h]
    """

    start_utc: datetime
    end_utc: datetime
    charging_h: float
    motoring_h: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ChargeFigure:
    """The numbers of the picture.

    Attributes
    ----------
    times_utc : tuple of datetime
        The ends of the hours, departure first.
    ship_offset_h : tuple of float
        How far ship's time is ahead of UTC at those times. [h]
    lat_deg : tuple of float
        Latitude at those times. [deg]
    soc_percent : tuple of float
        State of charge at those times, in average weather. [%]
    floor_percent, flat_percent : float
        The levels that matter. [%]
    counted_from : int
        Which of the times is the first at which the floor counts: a bank that leaves near it has a
        day to come up.
    nights : tuple of Span
        Sunset to sunrise at the boat, to the hour.
    days : tuple of ShipDay
        All of the passage, with the engine's hours.
    has_engine : bool
        Whether there is one.
    name, weather : str
        What passage it is, and in what weather it is drawn.
    """

    times_utc: tuple[datetime, ...]
    ship_offset_h: tuple[float, ...]
    lat_deg: tuple[float, ...]
    soc_percent: tuple[float, ...]
    floor_percent: float
    flat_percent: float
    counted_from: int
    nights: tuple[Span, ...]
    days: tuple[ShipDay, ...]
    has_engine: bool
    name: str
    weather: str

    @property
    def title(self) -> str:
        """Passage and weather."""
        return f"{self.name}, {self.weather}"


def charge_figure(
    result: SimulationResult,
    *,
    weather: str = ALONE,
    charging_h: Sequence[float] | None = None,
    motoring_h: Sequence[float] | None = None,
) -> ChargeFigure:
    """The numbers of the picture of a simulated passage in average weather.

    Parameters
    ----------
    result : SimulationResult
        Of the simulation.
    weather : str
        In which it is drawn.
    charging_h, motoring_h : sequence of float, optional
        The engine's hours in every hour, where they are not those of average weather. [h]
    """
    hourly, battery = result.hourly, result.passage.boat.battery
    starts = list(hourly.index.to_pydatetime())  # type: ignore[attr-defined]
    passage = result.passage
    ends = entitled(
        passage, headed(passage.name, passage.waypoints[0].name, passage.waypoints[-1].name)
    )
    lat_deg, offset_h = hourly["lat_deg"].tolist(), hourly["ship_offset_h"].tolist()
    return ChargeFigure(
        times_utc=(starts[0], *(start + timedelta(hours=1) for start in starts)),
        ship_offset_h=(*offset_h, offset_h[-1]),
        lat_deg=(*lat_deg, lat_deg[-1]),
        soc_percent=(
            100.0 * battery.soc_at_departure,
            *(100.0 * soc for soc in hourly["soc"].tolist()),
        ),
        floor_percent=100.0 * battery.floor_soc,
        flat_percent=100.0 * battery.flat_soc,
        counted_from=math.ceil(result.summary["verdict"]["counted_from_h"]),
        nights=_nights(starts, hourly["night_h"].tolist()),
        days=_ship_days(
            hourly,
            starts,
            hourly["charging_h"].tolist() if charging_h is None else list(charging_h),
            hourly["motoring_h"].tolist() if motoring_h is None else list(motoring_h),
        ),
        has_engine=passage.boat.engine is not None,
        name=ends,
        weather=weather,
    )


def _ship_days(hourly, starts, charging_h, motoring_h) -> tuple[ShipDay, ...]:
    """The ship's days with the engine's hours in each, of those of every hour.

    They are those of `result.daily`, whose sums take as long as the rest of the picture.
    """
    places = [*_day_places(hourly), len(starts)]
    ends = [*(starts[place] for place in places[1:-1]), starts[-1] + timedelta(hours=1)]
    return tuple(
        ShipDay(
            start_utc=starts[first],
            end_utc=end,
            charging_h=sum(charging_h[first:last]),
            motoring_h=sum(motoring_h[first:last]),
        )
        for first, last, end in zip(places[:-1], places[1:], ends, strict=True)
    )


def _day_places(hourly) -> list[int]:
    """The hours in which a new date of the ship begins.

    A clock that is put back at midnight begins no new day, but eastward over the date line a date
    comes twice: two days, not one of forty-eight hours.
    """
    dates = hourly["ship_time"].to_numpy().astype("datetime64[D]").tolist()
    turns = (hourly["ship_offset_h"].diff().abs() > 12.0).cumsum().tolist()
    first: dict[tuple[int, object], int] = {}
    for place, day in enumerate(zip(turns, dates, strict=True)):
        first.setdefault(day, place)
    return list(first.values())


def plot_alone(result: SimulationResult, ax: Axes | None = None, *, look: Look = WIDE) -> Axes:
    """Draw the state of charge in average weather alone, and the engine's hours below."""
    numbers = charge_figure(result)
    ax, *strips = frames(ax, strips=int(numbers.has_engine), look=look)
    shade_nights(ax, numbers)
    ax.plot(
        numbers.times_utc,
        numbers.soc_percent,
        color=CHARGE.mark,
        linewidth=look.line_points,
        gid="charge",
    )
    lowest = min(*numbers.soc_percent, numbers.flat_percent)
    finish(ax, numbers, lowest_percent=lowest, look=look)
    end = SideLabel(y=numbers.soc_percent[-1], words=f"landfall {numbers.soc_percent[-1]:.0f} %")
    look.beside(ax, [end, *levels(ax, numbers)])
    if strips:
        draw_engine(strips[0], numbers.days, heading="engine hours a day", look=look)
    ship_dates_along((strips or [ax])[-1], result, most=look.most_dates)
    return ax


def shade_nights(ax: Axes, numbers: ChargeFigure) -> None:
    """Sunset to sunrise, quietly."""
    for night in numbers.nights:
        ax.axvspan(
            night.start_utc, night.end_utc, color=NIGHT.light, alpha=_QUIET, linewidth=0, zorder=0
        )


def levels(ax: Axes, numbers: ChargeFigure) -> list[SideLabel]:
    """Floor and flat as lines, and their names for the right; the floor from when on it counts."""
    counted = numbers.times_utc[min(numbers.counted_from, len(numbers.times_utc) - 1)]
    floor = (numbers.floor_percent, numbers.floor_percent)
    ax.plot((counted, numbers.times_utc[-1]), floor, linewidth=1.6, gid="floor", **FLOOR.line)
    ax.axhline(numbers.flat_percent, color=INK.light, linewidth=1.2, dashes=_FLAT_DASHES)
    return [
        SideLabel(
            y=numbers.floor_percent, words=f"floor {numbers.floor_percent:.0f} %", color=FLOOR.word
        ),
        SideLabel(y=numbers.flat_percent, words=f"flat {numbers.flat_percent:.0f} %"),
    ]


def finish(ax: Axes, numbers: ChargeFigure, *, lowest_percent: float, look: Look) -> None:
    """Axes with their units, latitudes along the top, and the title."""
    ax.set_ylim(bottom_percent(lowest_percent), TOP_PERCENT)
    ax.yaxis.set_major_locator(_tens())
    ax.set_ylabel("state of charge [%]", fontsize=look.font_points)
    ax.set_xlim(numbers.times_utc[0], numbers.times_utc[-1])
    ax.grid(axis="y", color=GRID.light, linewidth=0.6)
    top = ax.secondary_xaxis("top")
    marks = latitudes(numbers, most=look.most_latitudes)
    top.set_xticks([numbers.times_utc[at] for at, _ in marks], [words for _, words in marks])
    top.tick_params(labelsize=look.font_points)
    top.set_xlabel("latitude", fontsize=look.font_points)
    top.spines["top"].set_visible(False)
    # The weather is what a reader must know; the page has the passage's name besides.
    weather = numbers.weather[:1].upper() + numbers.weather[1:]
    title = numbers.title if len(numbers.title) <= look.title else weather
    entitle(ax, title, longest=look.title, font_points=1.15 * look.font_points)


def draw_engine(strip: Axes, days: Sequence[ShipDay], *, heading: str, look: Look) -> None:
    """The engine's hours day by day: charging below, and motoring, hatched, on top of it."""
    from matplotlib.dates import date2num

    starts = [date2num(day.start_utc) for day in days]
    widths = [date2num(day.end_utc) - start for day, start in zip(days, starts, strict=True)]
    charging_h, motoring_h = ([getattr(day, name) for day in days] for name in _ENGINE_HOURS)
    bars = {"align": "edge", "linewidth": 0.5, "edgecolor": ENGINE.word}
    strip.bar(starts, charging_h, widths, facecolor=ENGINE.mark, **bars)
    strip.bar(
        starts, motoring_h, widths, bottom=charging_h, facecolor="none", hatch=ENGINE.hatch[:2] * 2,
        **bars,
    )  # fmt: skip
    strip.set_ylim(0.0, engine_top_h(days))
    strip.yaxis.set_major_locator(_few())
    strip.grid(axis="y", color=GRID.light, linewidth=0.6)
    head(strip, engine_heading(heading, days), look=look)
    places = [charging_h[-1] / 2.0, charging_h[-1] + motoring_h[-1] / 2.0]
    marks = [
        SideLabel(y=at, words=words, color=ENGINE.word)
        for at, words in zip(places, engine_names(days), strict=False)
    ]
    look.beside(strip, marks)


#: Fields of a ShipDay that are drawn, the lower first.
_ENGINE_HOURS = ("charging_h", "motoring_h")


def _tens():
    from matplotlib.ticker import MultipleLocator

    return MultipleLocator(10.0)


def _few():
    from matplotlib.ticker import MaxNLocator

    return MaxNLocator(nbins=2, integer=True)


def _nights(starts, night_h) -> tuple[Span, ...]:
    """Nights as spans: in the hour of sunset the dark part comes last, at sunrise first."""
    spans = []
    begin = None
    for start, dark_h in zip(starts, night_h, strict=True):
        if dark_h > 0 and begin is None:
            begin = start + timedelta(hours=1.0 - dark_h)
        elif dark_h < 1 and begin is not None:
            spans.append(Span(start_utc=begin, end_utc=start + timedelta(hours=dark_h)))
            begin = None
    if begin is not None:
        spans.append(Span(start_utc=begin, end_utc=starts[-1] + timedelta(hours=1)))
    return tuple(spans)


def bottom_percent(lowest_percent: float) -> float:
    """Where the picture begins, a little below what is lowest in it. [%]

    Examples
    --------
    >>> bottom_percent(20.0), bottom_percent(36.0), bottom_percent(1.0)
    (10.0, 30.0, 0.0)
    """
    return 10.0 * max(0.0, (lowest_percent - _BELOW_PERCENT) // 10.0)


def engine_top_h(days: Sequence[ShipDay]) -> float:
    """How far the strip of the engine's hours reaches. [h]"""
    return max(_OVER * max(day.charging_h + day.motoring_h for day in days), 1.0)


def engine_names(days: Sequence[ShipDay]) -> list[str]:
    """What its bars come to: charging, and motoring if there is any."""
    charging_h, motoring_h = (sum(getattr(day, name) for day in days) for name in _ENGINE_HOURS)
    names = [f"charging {charging_h:.0f}\N{NO-BREAK SPACE}h"]
    return [*names, f"motoring {motoring_h:.0f}\N{NO-BREAK SPACE}h"] if motoring_h else names


def engine_heading(heading: str, days: Sequence[ShipDay]) -> str:
    """What the strip shows, and what its hatch means where there is one.

    Examples
    --------
    >>> engine_heading("engine hours a day", ())
    'engine hours a day'
    """
    return f"{heading}; hatched: motoring" if any(day.motoring_h for day in days) else heading


def latitudes(numbers: ChargeFigure, *, most: int) -> list[tuple[int, str]]:
    """Latitudes at even times: which of the times, and the words."""
    hours = len(numbers.times_utc) - 1
    count = min(most, hours)
    places = [round(i * (hours - 1) / max(count - 1, 1)) for i in range(count)]
    return [(place, when_where.latitude(numbers.lat_deg[place])) for place in places]
