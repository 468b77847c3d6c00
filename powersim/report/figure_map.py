"""The picture of the route: a map whose track tells each day's lowest charge."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from powersim.report import rounding, when_where
from powersim.report.axes import entitle
from powersim.report.names import entitled
from powersim.report.palette import CHARGE_STEPS, FLOOR, INK, PAPER
from powersim.report.text import shortened
from powersim.simulation.bands import quantiles

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from powersim.records.arrays import Array
    from powersim.simulation.result import SimulationResult

#: Days between marks along the track: the least that gives no more than _MOST_MARKS.
_STRIDES_DAYS = (1, 2, 5, 7, 14, 28)
_MOST_MARKS = 6
#: Looks of the track from the fullest bank down: colour and width in points. The last is below the
#: floor, and has a dotted core.
_LOOKS = (
    *((shade.light, wide) for shade, wide in zip(CHARGE_STEPS, (6.5, 5.0, 3.5), strict=True)),
    (FLOOR.mark, 4.5),
)
_LONG_SIDE_INCHES = 7.5
_LONGEST_NAME = 32  # characters
#: Waypoints closer to a named one than this share of the map's width have a mark and no name. [-]
_NEAR_FRAC = 0.04
_MARGINS_INCHES = (0.6, 2.4, 0.4, 0.4)  # left, right, below, above


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A point of the track with words.

    Attributes
    ----------
    lat_deg, lon_deg : float
        Longitude in the track's own count. [deg]
    words : str
        For its label.
    """

    lat_deg: float
    lon_deg: float
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MapFigure:
    """The numbers of the picture.

    Attributes
    ----------
    lat_deg, lon_deg : tuple of float
        Hour by hour, departure first; longitude goes on past 180 over the date line. [deg]
    soc_percent : tuple of float
        The lowest charge of that ship's day: so low that no more members are lower on that day than
        the risk allows, or in average weather where that is all there is. [%]
    levels_percent : tuple of float
        Where the look of the track changes, from the highest down; the last is the floor. [%]
    waypoints : tuple of Mark
        Each place once, with its name.
    days : tuple of Mark
        Dates along the track, with that day's lowest charge.
    lowest : Mark
        Where the bank is lowest.
    scale : str
        What the looks tell, as a head above them.
    title : str
        Whose track it is.
    """

    lat_deg: tuple[float, ...]
    lon_deg: tuple[float, ...]
    soc_percent: tuple[float, ...]
    levels_percent: tuple[float, ...]
    waypoints: tuple[Mark, ...]
    days: tuple[Mark, ...]
    lowest: Mark
    scale: str
    title: str

    @property
    def ends(self) -> tuple[Mark, ...]:
        """Where the passage begins and where it ends, once if they are one place."""
        return (self.waypoints[0], *self.waypoints[1:][-1:])

    @property
    def between(self) -> tuple[Mark, ...]:
        """The other waypoints."""
        return self.waypoints[1:-1]


def map_figure(result: SimulationResult) -> MapFigure:
    """The numbers of the picture of a simulated passage."""
    import numpy as np

    track, passage, hourly = result.prepared.track, result.passage, result.hourly
    per_hour = round(1.0 / track.step_h)
    lat_deg = track.edge_lat_deg[::per_hour]
    lon_deg = np.unwrap(track.edge_lon_deg[::per_hour], period=360.0)
    battery = passage.boat.battery
    by_hour, by_day = (100.0 * soc for soc in _lowest_soc(result))
    hours = result.daily["hours"].to_numpy(dtype=int)
    # An hour is drawn from its start to its end: the first point stands for departure.
    soc_percent = np.repeat(by_day, hours)
    soc_percent = np.concatenate([soc_percent[:1], soc_percent])
    first = int(hours[: by_day.argmin()].sum())
    lowest = first + int(by_hour[first : first + hours[by_day.argmin()]].argmin())

    def told(percent):
        return rounding.apart(percent / 100.0, battery.floor_soc)

    def mark(hour, words):
        return Mark(lat_deg=float(lat_deg[hour]), lon_deg=float(lon_deg[hour]), words=words)

    return MapFigure(
        lat_deg=tuple(lat_deg.tolist()),
        lon_deg=tuple(lon_deg.tolist()),
        soc_percent=tuple(soc_percent.tolist()),
        levels_percent=_levels(100.0 * battery.floor_soc),
        waypoints=_waypoints(passage.waypoints, lon_deg),
        days=tuple(
            mark(hour, f"{_date(track, per_hour * hour)}, {told(soc_percent[hour + 1])}")
            for hour in _marked(len(hourly))
        ),
        lowest=mark(lowest, f"lowest: {told(by_day.min())}"),
        scale=_scale(result),
        title=entitled(passage, f"{passage.name}: each day's lowest charge"),
    )


def _lowest_soc(result) -> tuple[Array, Array]:
    """How low the charge comes in each hour and in each ship's day, on the careful side."""
    import numpy as np

    ensemble, daily = result.ensemble, result.daily
    if ensemble is None:
        return result.hourly["lowest_soc"].to_numpy(), daily["lowest_soc"].to_numpy()
    starts = [0, *daily["hours"].cumsum().iloc[:-1].astype(int)]
    of_days = np.minimum.reduceat(ensemble.hour_soc, starts, axis=0)
    soc = result.passage.boat.battery.soc_at_departure
    of_days[0] = np.minimum(of_days[0], soc)
    ((by_hour,), (by_day,)) = (
        quantiles(lowest, (result.risk_frac,)) for lowest in (ensemble.hour_soc, of_days)
    )
    return by_hour, by_day


def _scale(result) -> str:
    if result.ensemble is None:
        return "the day's lowest charge,\nin average weather"
    return f"the day's lowest charge;\n{rounding.percent(result.risk_frac)} of passages are lower"


def _levels(floor_percent) -> tuple[float, ...]:
    """Even fives between the floor and full, then the floor itself."""
    third = (100.0 - floor_percent) / 3.0
    return (*(5.0 * round((floor_percent + n * third) / 5.0) for n in (2, 1)), floor_percent)


def _waypoints(waypoints, lon_deg) -> tuple[Mark, ...]:
    """Waypoints in the track's count of longitude; a place that comes twice is named once."""
    marks: dict[tuple[float, float], Mark] = {}
    middle_deg = (lon_deg.min() + lon_deg.max()) / 2.0
    for one in waypoints:
        turns = round((middle_deg - one.lon_deg) / 360.0)
        place = (one.lat_deg, one.lon_deg + 360.0 * turns)
        words = shortened(one.name, _LONGEST_NAME)
        marks.setdefault(place, Mark(lat_deg=place[0], lon_deg=place[1], words=words))
    return tuple(marks.values())


def _marked(hours) -> list[int]:
    """Hours at which a date is written, each a whole number of days after departure."""
    days = hours / 24.0
    fitting = [stride for stride in _STRIDES_DAYS if days / stride <= _MOST_MARKS]
    stride = fitting[0] if fitting else 28 * -(-int(days) // (28 * _MOST_MARKS))
    return list(range(24 * stride, hours - 6, 24 * stride))


def _date(track, step) -> str:
    when = datetime.fromtimestamp(track.edge_utc_s[step], UTC)
    return when_where.short_date(when, ship_offset_h=float(track.ship_offset_h[step]))


def plot_map(result: SimulationResult, ax: Axes | None = None) -> Axes:
    """Draw the route on a map, with land, dates and the state of charge."""
    import numpy as np

    from powersim.report.map_frame import draw_frame, frame_of
    from powersim.report.map_labels import draw_labels

    numbers = map_figure(result)
    lat_deg, lon_deg = np.array(numbers.lat_deg), np.array(numbers.lon_deg)
    frame = frame_of(lat_deg, lon_deg)
    ax = _axes_for(frame) if ax is None else ax
    draw_frame(ax, frame)
    track = np.column_stack(frame.projection.place(lat_deg, lon_deg))
    looks = _draw_track(ax, track, numbers)
    _dots(ax, frame, numbers.days, "o", PAPER.light, 4.5)
    _dots(ax, frame, numbers.waypoints, "s", INK.light, 4.5)
    _dots(ax, frame, (numbers.lowest,), "v", PAPER.light, 9.0)
    entitle(ax, numbers.title)
    ax.legend(
        [*looks.values()],
        [*looks],
        loc="upper left",
        bbox_to_anchor=(1.01, 1.0),
        frameon=False,
        handlelength=3.2,
        title=numbers.scale,
        alignment="left",
    )
    draw_labels(
        ax,
        [
            *_labels(frame, numbers.ends, bold=True),
            *_labels(frame, (numbers.lowest,), bold=True),
            *_labels(frame, numbers.days),
            *_apart(_labels(frame, numbers.between), frame, _labels(frame, numbers.ends)),
        ],
        track=track,
    )
    return ax


def _axes_for(frame):
    """Axes in a figure of their own, in the shape of the map, with room for names and legend."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    wide, high = frame.x[1] - frame.x[0], frame.y[1] - frame.y[0]
    wide, high = (_LONG_SIDE_INCHES * side / max(wide, high) for side in (wide, high))
    left, right, low, top = _MARGINS_INCHES
    figure = Figure(figsize=(left + wide + right, low + high + top))
    FigureCanvasAgg(figure)  # which can measure words
    across, up = figure.get_size_inches()
    return figure.add_axes((left / across, low / up, wide / across, high / up))


def _draw_track(ax, track, numbers) -> dict:
    """The track in stretches of one look, the wide ones first; what each is called."""
    import numpy as np

    steps = np.array(numbers.soc_percent)[1:]
    below = np.array(numbers.levels_percent)[:, None] > steps
    look = below.sum(axis=0)
    looks = {}
    for index, (color, width) in enumerate(_LOOKS):
        x, y = _stretches(track, look == index)
        name = _look_name(index, numbers.levels_percent)
        looks[name] = ax.plot(
            x, y, color=color, linewidth=width, solid_capstyle="butt", label=name, zorder=2
        )[0]
    core = ax.plot(x, y, color=INK.light, linewidth=1.2, linestyle=(0, (1.5, 1.5)), zorder=3)[0]
    ax.plot(*track.T, color=INK.light, linewidth=0.5, zorder=2.5)
    return looks | {name: (looks[name], core)}


def _stretches(track, here):
    """The track where it has one look, lifted between."""
    import numpy as np

    starts = np.flatnonzero(here)
    lifted = np.full((len(starts), 1, 2), np.nan)
    points = np.concatenate([track[starts][:, None], track[starts + 1][:, None], lifted], axis=1)
    return points.reshape(-1, 2).T


def _look_name(index, levels_percent) -> str:
    if index == len(levels_percent):
        return f"below the floor, {levels_percent[-1]:.0f} %"
    high = 100.0 if index == 0 else levels_percent[index - 1]
    return f"{levels_percent[index]:.0f} to {high:.0f} %"


def _dots(ax, frame, marks, shape, color, size) -> None:
    x, y = frame.projection.place([one.lat_deg for one in marks], [one.lon_deg for one in marks])
    ax.plot(
        x, y, marker=shape, linestyle="none", markersize=size, markerfacecolor=color,
        markeredgecolor=INK.light, zorder=4,
    )  # fmt: skip


def _apart(labels, frame, named):
    """Those of some labels whose points do not crowd: the route's table has the rest."""
    import math

    near, taken = _NEAR_FRAC * (frame.x[1] - frame.x[0]), list(named)
    for label in labels:
        if all(math.hypot(label.x - one.x, label.y - one.y) > near for one in taken):
            taken.append(label)
            yield label


def _labels(frame, marks, *, bold=False):
    from powersim.report.map_labels import Label

    for one in marks:
        x, y = frame.projection.place(one.lat_deg, one.lon_deg)
        yield Label(x=float(x), y=float(y), words=one.words, bold=bold)
