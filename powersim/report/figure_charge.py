"""The picture of the charge in one weather, and what it shares with that of many: frame and levels.

Below the charge lie strips with the same dates along them (`frames`): the engine's hours, and in
many passages the chance of having failed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from textwrap import fill
from typing import TYPE_CHECKING

from powersim.report import when_where
from powersim.report.axes import entitle, new_figure_axes, ship_dates_along
from powersim.report.direct_labels import SideLabel, label_beside
from powersim.report.names import headed
from powersim.report.palette import CHARGE, ENGINE, FLOOR, GRID, INK, NIGHT

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from powersim.simulation.result import SimulationResult

#: In what weather a single curve is.
ALONE = "average weather alone"
#: Strokes of the line at which electronics go dark. [points]
_FLAT_DASHES = (2, 2)
#: From the axes to the names beside them. [points]
_LEAD_POINTS = 9.0
#: How much of the night's colour is laid on, so that forty nights are no fence. [-]
_QUIET = 0.65
#: Above a full bank, and below the lowest line. [%]
_TOP_PERCENT, _BELOW_PERCENT = 103.0, 4.0
#: How far a strip reaches above its highest bar. [-]
_OVER = 1.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """How large a picture of the charge is drawn, and what there is room for.

    Attributes
    ----------
    width_in, frame_in, strip_in : float
        Of the whole, and heights of the charge and of a strip. [inch]
    left_in, labels_in, over_in, gap_in, below_in : float
        Margins: left of the axes, right of them for labels, over the charge, over each strip for
        its heading, and below for dates. [inch]
    font_points : float
        Of all words. [points]
    most_dates, most_latitudes : int
        Along the axes.
    title, label : int
        Characters that fit on the first line, and beside the axes.
    """

    width_in: float
    frame_in: float
    strip_in: float
    left_in: float
    labels_in: float
    over_in: float
    gap_in: float
    below_in: float
    font_points: float
    most_dates: int
    most_latitudes: int
    title: int
    label: int

    def beside(self, ax: Axes, names: Sequence[SideLabel]) -> None:
        """Write names to the right of axes, on as many lines as they need."""
        folded = [replace(name, words=fill(name.words, self.label)) for name in names]
        label_beside(ax, folded, off=_LEAD_POINTS, font_points=self.font_points, lead=True)


#: For a screen or a sheet of paper, and for a phone.
WIDE = Look(
    width_in=10.0, frame_in=3.3, strip_in=0.72, left_in=0.62, labels_in=1.5, over_in=0.82,
    gap_in=0.36, below_in=0.52, font_points=10.0, most_dates=9, most_latitudes=8, title=90,
    label=24,
)  # fmt: skip
NARROW = Look(
    width_in=3.9, frame_in=2.9, strip_in=0.72, left_in=0.56, labels_in=1.06, over_in=0.82,
    gap_in=0.46, below_in=0.54, font_points=9.5, most_dates=4, most_latitudes=4, title=38,
    label=13,
)  # fmt: skip


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


def charge_figure(result: SimulationResult) -> ChargeFigure:
    """The numbers of the picture of a simulated passage in average weather."""
    hourly, battery = result.hourly, result.passage.boat.battery
    starts = [time.to_pydatetime() for time in hourly.index]
    passage = result.passage
    ends = headed(passage.name, passage.waypoints[0].name, passage.waypoints[-1].name)
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
        days=ship_days(result, hourly["charging_h"].tolist(), hourly["motoring_h"].tolist()),
        has_engine=passage.boat.engine is not None,
        name=ends,
        weather=ALONE,
    )


def ship_days(
    result: SimulationResult, charging_h: Sequence[float], motoring_h: Sequence[float]
) -> tuple[ShipDay, ...]:
    """The ship's days with the engine's hours in each, of those of every hour."""
    daily, hours = result.daily, len(result.hourly)
    starts = [time.to_pydatetime() for time in daily["start_utc"]]
    end = result.hourly.index[-1].to_pydatetime() + timedelta(hours=1)
    places = [*(round((start - starts[0]).total_seconds() / 3600.0) for start in starts), hours]
    return tuple(
        ShipDay(
            start_utc=start,
            end_utc=following,
            charging_h=sum(charging_h[first:last]),
            motoring_h=sum(motoring_h[first:last]),
        )
        for start, following, first, last in zip(
            starts, [*starts[1:], end], places[:-1], places[1:], strict=True
        )
    )


def plot_alone(result: SimulationResult, ax: Axes | None = None, *, look: Look = WIDE) -> Axes:
    """Draw the state of charge in average weather alone, and the engine's hours below."""
    numbers = charge_figure(result)
    ax, *strips = frames(ax, strips=int(numbers.has_engine), look=look)
    shade_nights(ax, numbers)
    ax.plot(numbers.times_utc, numbers.soc_percent, color=CHARGE.mark, linewidth=1.8, gid="charge")
    lowest = min(*numbers.soc_percent, numbers.flat_percent)
    finish(ax, numbers, lowest_percent=lowest, look=look)
    end = SideLabel(y=numbers.soc_percent[-1], words=f"landfall {numbers.soc_percent[-1]:.0f} %")
    look.beside(ax, [end, *levels(ax, numbers)])
    if strips:
        draw_engine(strips[0], numbers.days, heading="engine hours a day", look=look)
    ship_dates_along((strips or [ax])[-1], result, most=look.most_dates)
    return ax


def frames(ax: Axes | None, *, strips: int, look: Look) -> list[Axes]:
    """The charge's axes and its strips below, one above the other with the same dates.

    Axes that are given are made smaller, so that all of it lies where they lay.
    """
    over_in, below_in = look.over_in, look.below_in
    high_in = look.frame_in + strips * (look.gap_in + look.strip_in)
    if ax is None:
        ax = new_figure_axes(
            (look.width_in, over_in + high_in + below_in),
            left_in=look.left_in, right_in=0.05, over_in=over_in, below_in=below_in,
        )  # fmt: skip
    box, figure = ax.get_position(), ax.figure
    whole_in = figure.bbox.width / figure.dpi if hasattr(figure, "dpi") else look.width_in
    width = box.width - min(look.labels_in / whole_in, 0.4 * box.width)
    per_in = box.height / high_in
    made, top = [], box.y1
    for place in range(strips + 1):
        high = (look.frame_in if place == 0 else look.strip_in) * per_in
        where = (box.x0, top - high, width, high)
        if place == 0:
            ax.set_position(where)
            made.append(ax)
        else:
            made.append(figure.add_axes(where, sharex=ax))
        top -= high + look.gap_in * per_in
    for each in made:
        each.tick_params(labelsize=look.font_points)
        each.set_axisbelow(True)
        for side in ("top", "right"):
            each.spines[side].set_visible(False)
    for each in made[:-1]:
        each.tick_params(labelbottom=False)
    return made


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
    ax.set_ylim(10.0 * max(0, (lowest_percent - _BELOW_PERCENT) // 10.0), _TOP_PERCENT)
    ax.yaxis.set_major_locator(_tens())
    ax.set_ylabel("state of charge [%]", fontsize=look.font_points)
    ax.set_xlim(numbers.times_utc[0], numbers.times_utc[-1])
    ax.grid(axis="y", color=GRID.light, linewidth=0.6)
    top = ax.secondary_xaxis("top")
    marks = _latitudes(numbers, most=look.most_latitudes)
    top.set_xticks([when for when, _ in marks], [words for _, words in marks])
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
    most_h = max(one + other for one, other in zip(charging_h, motoring_h, strict=True))
    strip.set_ylim(0.0, max(_OVER * most_h, 1.0))
    strip.yaxis.set_major_locator(_few())
    strip.grid(axis="y", color=GRID.light, linewidth=0.6)
    names = [f"charging {sum(charging_h):.0f}\N{NO-BREAK SPACE}h"]
    if any(motoring_h):
        names.append(f"motoring {sum(motoring_h):.0f}\N{NO-BREAK SPACE}h")
        heading += "; hatched: motoring"
    head(strip, heading, look=look)
    places = [charging_h[-1] / 2.0, charging_h[-1] + motoring_h[-1] / 2.0]
    marks = [
        SideLabel(y=at, words=words, color=ENGINE.word)
        for at, words in zip(places, names, strict=False)
    ]
    look.beside(strip, marks)


#: Fields of a ShipDay that are drawn, the lower first.
_ENGINE_HOURS = ("charging_h", "motoring_h")


def head(strip: Axes, words: str, *, look: Look) -> None:
    """What a strip shows, above it at the left."""
    strip.annotate(
        words, (0.0, 1.0), xycoords="axes fraction", xytext=(0, 3), textcoords="offset points",
        va="bottom", fontsize=look.font_points,
    )  # fmt: skip


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


def _latitudes(numbers: ChargeFigure, *, most: int) -> list[tuple[datetime, str]]:
    """Latitudes at even times."""
    hours = len(numbers.times_utc) - 1
    count = min(most, hours)
    places = [round(i * (hours - 1) / max(count - 1, 1)) for i in range(count)]
    return [
        (numbers.times_utc[place], when_where.latitude(numbers.lat_deg[place])) for place in places
    ]
