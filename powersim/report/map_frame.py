"""The paper under a track: its frame, land, and named lines of latitude and longitude."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from powersim.report.coastline import is_shore, land_in
from powersim.report.palette import COAST, GRID, INK, LAND, PAPER
from powersim.report.projection import Mercator, Polar, projection_for

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from powersim.records.arrays import Array

#: Room around the track, as a share of its longer side. [-]
_ROOM_FRAC = 0.12
#: A map is never of less than this. [radians at the middle of the projection]
_LEAST = 0.05
#: The shorter side is at least this share of the longer one. [-]
_LEAST_ASPECT = 0.75
#: Steps between lines of a graticule. [deg]
_STEPS_DEG = (1, 2, 5, 10, 15, 20, 30, 45)
_MOST_LINES = 7
_POINTS = 361  # of a drawn parallel or meridian
#: About a pole: between drawn meridians, and how near the pole they end. [deg]
_SPOKES_DEG, _SPOKES_TO_DEG = 30, 88.0
#: A side of land is never longer than this where a parallel is round. [deg]
_BEND_DEG = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """What of the world is shown.

    Attributes
    ----------
    projection : Mercator or Polar
        From the globe to the paper.
    x, y : tuple of float
        From and to, on the paper of the projection.
    west_deg, east_deg, south_deg, north_deg : float
        A box of positions that covers it. [deg]
    """

    projection: Mercator | Polar
    x: tuple[float, float]
    y: tuple[float, float]
    west_deg: float
    east_deg: float
    south_deg: float
    north_deg: float


def frame_of(lat_deg: Array, lon_deg: Array) -> Frame:
    """A frame around a track."""
    import numpy as np

    projection = projection_for(lat_deg, lon_deg)
    x, y = projection.place(lat_deg, lon_deg)
    wide, high = float(np.ptp(x)), float(np.ptp(y))
    longer = max(wide, high, _LEAST)
    half_x, half_y = (
        max(side, _LEAST_ASPECT * longer) / 2.0 + _ROOM_FRAC * longer for side in (wide, high)
    )
    middle_x, middle_y = (float(side.min() + side.max()) / 2.0 for side in (x, y))
    box = _box(projection, middle_x, middle_y, half_x, half_y)
    return Frame(
        projection=projection,
        x=(middle_x - half_x, middle_x + half_x),
        y=(middle_y - half_y, middle_y + half_y),
        **box,
    )


def _box(projection, middle_x, middle_y, half_x, half_y):
    """Latitudes and longitudes that surely cover a frame, a little beyond its sides."""
    import numpy as np

    if isinstance(projection, Mercator):
        x, y = (
            middle + 1.05 * half * np.array((-1.0, 1.0))
            for middle, half in ((middle_x, half_x), (middle_y, half_y))
        )
        west_deg, east_deg = (projection.middle_lon_deg + np.degrees(x)).tolist()
        south_deg, north_deg = np.degrees(np.arctan(np.sinh(y))).tolist()
        return {
            "west_deg": west_deg,
            "east_deg": east_deg,
            "south_deg": south_deg,
            "north_deg": north_deg,
        }
    furthest = 1.05 * np.hypot(abs(middle_x) + half_x, abs(middle_y) + half_y)
    nearest_deg = float(90.0 - 2.0 * np.degrees(np.arctan(furthest / 2.0)))
    sides = {"west_deg": -180.0, "east_deg": 180.0}
    if projection.north:
        return sides | {"south_deg": nearest_deg, "north_deg": 90.0}
    return sides | {"south_deg": -90.0, "north_deg": -nearest_deg}


def draw_frame(ax: Axes, frame: Frame) -> None:
    """Draw land and graticule, and set the axes to the frame."""
    ax.set_aspect("equal")
    ax.set_xlim(frame.x)
    ax.set_ylim(frame.y)
    _draw_land(ax, frame)
    if isinstance(frame.projection, Mercator):
        _straight_graticule(ax, frame)
    else:
        _round_graticule(ax, frame)


def _draw_land(ax, frame) -> None:
    import numpy as np
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path

    land = land_in(
        west_deg=frame.west_deg,
        east_deg=frame.east_deg,
        south_deg=frame.south_deg,
        north_deg=frame.north_deg,
    )
    if not land:
        return
    points, whole, shore = [], [], []
    for ring in land:
        if isinstance(frame.projection, Polar):
            ring = _bent(ring)
        points.append(np.column_stack(frame.projection.place(ring[:, 1], ring[:, 0])))
        codes = np.full(len(ring), Path.LINETO)
        codes[0] = Path.MOVETO
        whole.append(codes)
        lifted = codes.copy()
        lifted[1:][~is_shore(ring)] = Path.MOVETO
        shore.append(lifted)
    every = np.concatenate(points)
    # One path for all, so that no seam shows where two rings meet on the date line.
    fill = PathPatch(
        Path(every, np.concatenate(whole)), facecolor=LAND.light, edgecolor="none", zorder=0.5
    )
    line = PathPatch(
        Path(every, np.concatenate(shore)),
        facecolor="none",
        edgecolor=COAST.light,
        lw=0.5,
        zorder=0.6,
    )
    for patch in (fill, line):
        ax.add_patch(patch)


def _bent(ring):
    """A ring with points put in, so that a cut along a parallel is drawn round."""
    import numpy as np

    counts = np.ceil(np.abs(np.diff(ring[:, 0])) / _BEND_DEG).astype(int)
    first, after = ring[:-1].repeat(np.maximum(counts, 1), axis=0), np.maximum(counts, 1)
    share = np.concatenate([np.arange(count) / count for count in after])
    sides = np.diff(ring, axis=0).repeat(after, axis=0)
    return np.concatenate([first + share[:, None] * sides, ring[-1:]])


def _straight_graticule(ax, frame) -> None:
    lons, lats = (
        _even(low, high)
        for low, high in ((frame.west_deg, frame.east_deg), (frame.south_deg, frame.north_deg))
    )
    xs, _ = frame.projection.place([0.0] * len(lons), lons)
    _, ys = frame.projection.place(lats, [0.0] * len(lats))
    ax.set_xticks(*_within(xs, [longitude(lon) for lon in lons], frame.x))
    ax.set_yticks(*_within(ys, [latitude(lat) for lat in lats], frame.y))
    ax.grid(color=GRID.light, linewidth=0.5)
    ax.set_axisbelow(True)


def _within(places, words, limits):
    """Ticks within the frame, with their words."""
    kept = [
        (place, word)
        for place, word in zip(places, words, strict=True)
        if limits[0] <= place <= limits[1]
    ]
    return tuple(map(list, zip(*kept, strict=True))) if kept else ([], [])


def _round_graticule(ax, frame) -> None:
    import numpy as np

    ax.set_xticks([])
    ax.set_yticks([])
    around_deg = np.linspace(-180.0, 180.0, _POINTS)
    between = np.isclose(around_deg % _SPOKES_DEG, _SPOKES_DEG / 2)  # a name stands on no spoke
    for lat in _even(frame.south_deg, frame.north_deg):
        if abs(lat) < 90.0:
            level_deg = np.full(_POINTS, float(lat))
            _named_line(ax, frame, level_deg, around_deg, latitude(lat), best=between)
    span_deg = np.linspace(frame.south_deg, frame.north_deg, _POINTS)
    span_deg = span_deg[np.abs(span_deg) <= _SPOKES_TO_DEG]
    for lon in range(-180, 180, _SPOKES_DEG):
        upright_deg = np.full(len(span_deg), float(lon))
        _named_line(ax, frame, span_deg, upright_deg, longitude(lon), best=-np.abs(span_deg))


def _named_line(ax, frame, lat_deg, lon_deg, words, *, best) -> None:
    """A line of the graticule, named in the frame where `best` is greatest, and lowest there."""
    import numpy as np

    x, y = frame.projection.place(lat_deg, lon_deg)
    ax.plot(x, y, color=GRID.light, linewidth=0.5, zorder=0.7)
    (left, right), (low, high) = frame.x, frame.y
    edge_x, edge_y = 0.05 * (right - left), 0.04 * (high - low)
    seen = (x > left + edge_x) & (x < right - edge_x) & (y > low + edge_y) & (y < high - edge_y)
    if not seen.any():
        return
    place = np.flatnonzero(seen)[np.lexsort((y[seen], -best[seen].astype(float)))[0]]
    ax.text(
        x[place], y[place], words, fontsize=8, color=INK.light, ha="center", va="center",
        zorder=0.8, bbox={"facecolor": PAPER.light, "edgecolor": "none", "pad": 0.8},
    )  # fmt: skip


def _even(low_deg, high_deg) -> list[int]:
    """Whole degrees in even steps, not too many of them."""
    import math

    span = high_deg - low_deg
    step = next((one for one in _STEPS_DEG if span / one <= _MOST_LINES), _STEPS_DEG[-1])
    return list(range(math.ceil(low_deg / step) * step, math.floor(high_deg) + 1, step))


def latitude(lat_deg: float) -> str:
    """A parallel's name.

    Examples
    --------
    >>> latitude(-30), latitude(0)
    ('30°S', '0°')
    """
    return f"{abs(lat_deg):.0f}°" + ("" if lat_deg == 0 else "N" if lat_deg > 0 else "S")


def longitude(lon_deg: float) -> str:
    """A meridian's name, wrapped to 180 degrees.

    Examples
    --------
    >>> longitude(190), longitude(-180), longitude(0)
    ('170°W', '180°', '0°')
    """
    wrapped = (lon_deg + 180.0) % 360.0 - 180.0
    plain = wrapped == 0 or abs(wrapped) == 180
    return f"{abs(wrapped):.0f}°" + ("" if plain else "E" if wrapped > 0 else "W")
