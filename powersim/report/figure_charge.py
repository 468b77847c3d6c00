"""The picture of the state of charge: nights shaded, engine runs marked, floor and flat drawn."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from powersim.report import when_where
from powersim.report.axes import (
    BLACK,
    BLUE,
    GREY,
    ORANGE,
    SKY,
    VERMILION,
    dates_along,
    entitle,
    new_axes,
)
from powersim.report.engine_runs import engine_runs
from powersim.report.names import headed

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from powersim.simulation.result import SimulationResult

#: Latitudes written along the top, at most.
_MOST_LATITUDES = 8
#: Entries of a legend that fit in one row.
_ONE_ROW = 4
#: Lanes of engine runs, below the charge's own scale: where each begins, and its height. [%]
_CHARGING_LANE, _MOTORING_LANE, _LANE_HIGH = -9.0, -18.0, 6.0
#: A run is drawn at least this wide, as a share of the passage. [-]
_LEAST_WIDTH_FRAC = 0.004


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
class ChargeFigure:
    """The numbers of the picture.

    Attributes
    ----------
    times_utc : tuple of datetime
        The ends of the hours, departure first.
    soc_percent : tuple of float
        State of charge at those times. [%]
    floor_percent, flat_percent : float
        The levels that matter. [%]
    nights : tuple of Span
        Sunset to sunrise at the boat, to the hour.
    charging, motoring : tuple of Span
        Engine runs by what they are for.
    latitudes : tuple of (datetime, str)
        Where along the time which latitude is reached.
    title : str
        What passage it is.
    """

    times_utc: tuple[datetime, ...]
    soc_percent: tuple[float, ...]
    floor_percent: float
    flat_percent: float
    nights: tuple[Span, ...]
    charging: tuple[Span, ...]
    motoring: tuple[Span, ...]
    latitudes: tuple[tuple[datetime, str], ...]
    title: str

    @property
    def days(self) -> float:
        """Length of the passage. [days]"""
        return (self.times_utc[-1] - self.times_utc[0]).total_seconds() / 86400.0


def charge_figure(result: SimulationResult) -> ChargeFigure:
    """The numbers of the picture of a simulated passage."""
    hourly, battery = result.hourly, result.passage.boat.battery
    starts = [time.to_pydatetime() for time in hourly.index]
    passage = result.passage
    return ChargeFigure(
        times_utc=(starts[0], *(start + timedelta(hours=1) for start in starts)),
        soc_percent=(
            100.0 * battery.soc_at_departure,
            *(100.0 * soc for soc in hourly["soc"].tolist()),
        ),
        floor_percent=100.0 * battery.floor_soc,
        flat_percent=100.0 * battery.flat_soc,
        nights=_nights(starts, hourly["night_h"].tolist()),
        charging=_runs(result.engine, "charging"),
        motoring=_runs(result.engine, "motoring"),
        latitudes=_latitudes(starts, hourly["lat_deg"].tolist()),
        title=headed(passage.name, passage.waypoints[0].name, passage.waypoints[-1].name),
    )


def plot_soc(result: SimulationResult, ax: Axes | None = None) -> Axes:
    """Draw the state of charge, with nights shaded and engine runs marked."""
    numbers = charge_figure(result)
    ax = new_axes() if ax is None else ax
    shade_nights(ax, numbers)
    ax.plot(numbers.times_utc, numbers.soc_percent, color=BLUE, linewidth=1.8)
    draw_levels(ax, numbers)
    draw_runs(ax, numbers)
    finish(ax, numbers)
    return ax


def draw_runs(ax: Axes, numbers: ChargeFigure, *, when: str = "") -> None:
    """Engine runs in lanes below the charge's own scale, by what they are for.

    `when` is for the legend, where not all that is drawn is of the same weather.
    """
    lanes = (
        ("engine charging", numbers.charging, _CHARGING_LANE, ORANGE, ""),
        ("motoring", numbers.motoring, _MOTORING_LANE, SKY, "//////"),
    )
    for name, runs, lane, color, hatch in lanes:
        if runs:
            ax.broken_barh(
                _bars(runs, least_days=_LEAST_WIDTH_FRAC * numbers.days),
                (lane, _LANE_HIGH),
                facecolor=color,
                edgecolor=BLACK,
                linewidth=0.7,
                hatch=hatch,
                label=name + when,
            )
            _beside(ax, lane + _LANE_HIGH / 2.0, name.removeprefix("engine "))


def shade_nights(ax: Axes, numbers: ChargeFigure) -> None:
    """Grey from sunset to sunrise."""
    for night in numbers.nights:
        ax.axvspan(night.start_utc, night.end_utc, color=GREY, alpha=0.25, linewidth=0)


def draw_levels(ax: Axes, numbers: ChargeFigure) -> None:
    """Floor and flat as lines, named at the right."""
    for level, name, color, dashes in (
        (numbers.floor_percent, "floor", VERMILION, (6, 2)),
        (numbers.flat_percent, "flat", BLACK, (2, 2)),
    ):
        ax.axhline(level, color=color, linewidth=1.4, dashes=dashes)
        _beside(ax, level, f"{name} {level:.0f} %")


def _bars(runs, *, least_days):
    """Start and length of each run, in matplotlib's days."""
    from matplotlib.dates import date2num

    starts = [date2num(run.start_utc) for run in runs]
    lengths = [date2num(run.end_utc) - start for run, start in zip(runs, starts, strict=True)]
    return [(start, max(length, least_days)) for start, length in zip(starts, lengths, strict=True)]


def _beside(ax, level, words) -> None:
    """Words to the right of the axes, at a level of the charge's scale."""
    ax.annotate(
        words,
        (1.0, level),
        xycoords=("axes fraction", "data"),
        xytext=(4, 0),
        textcoords="offset points",
        va="center",
    )


def finish(ax: Axes, numbers: ChargeFigure) -> None:
    """Axes with their units, latitudes along the top, a legend below, and the title."""
    from matplotlib.patches import Patch

    lanes = numbers.charging or numbers.motoring
    ax.set_ylim(_MOTORING_LANE - 3.0 if lanes else 0.0, 103.0)
    ax.set_yticks(range(0, 101, 10))
    ax.set_ylabel("state of charge [%]")
    ax.set_xlim(numbers.times_utc[0], numbers.times_utc[-1])
    dates_along(ax, numbers.times_utc[0], numbers.times_utc[-1])
    ax.xaxis.set_label_coords(0.0, -0.09)
    ax.xaxis.label.set_horizontalalignment("left")
    ax.grid(axis="y", color=GREY, alpha=0.4, linewidth=0.6)
    top = ax.secondary_xaxis("top")
    top.set_xticks(
        [when for when, _ in numbers.latitudes], [latitude for _, latitude in numbers.latitudes]
    )
    top.set_xlabel("latitude [deg]")
    handles, _ = ax.get_legend_handles_labels()
    night = Patch(facecolor=GREY, alpha=0.25, label="night")
    # Beside the axis' name where it fits in one row, else below it.
    one_row = len(handles) < _ONE_ROW
    ax.legend(
        handles=[night, *handles],
        loc="upper right",
        bbox_to_anchor=(1.0, -0.07 if one_row else -0.12),
        ncols=_ONE_ROW if one_row else 3,
        frameon=False,
    )
    entitle(ax, numbers.title)


def _runs(engine, kind) -> tuple[Span, ...]:
    runs = engine[engine["kind"] == kind]
    return tuple(
        Span(
            start_utc=run.start_utc.to_pydatetime(),
            end_utc=run.start_utc.to_pydatetime() + timedelta(hours=run.run_h),
        )
        for run in engine_runs(runs)
    )


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


def _latitudes(starts, lat_deg) -> tuple[tuple[datetime, str], ...]:
    """Latitudes at even times."""
    count = min(_MOST_LATITUDES, len(starts))
    places = [round(i * (len(starts) - 1) / max(count - 1, 1)) for i in range(count)]
    return tuple((starts[place], when_where.latitude(lat_deg[place])) for place in places)
