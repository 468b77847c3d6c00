"""Words beside points of a map, put where they cover neither each other nor the track."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from powersim.report.axes import any_script
from powersim.report.palette import INK
from powersim.report.text import printable

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.transforms import Bbox

    from powersim.records.arrays import Array

#: Where words may stand about their point, the best first: direction and distance in points.
_SPOTS = tuple(
    (dx * far, dy * far)
    for far in (7.0, 11.0, 16.0, 30.0, 48.0)
    for dx, dy in (
        (1.0, 0.0), (-1.0, 0.0), (0.8, 0.8), (-0.8, 0.8), (0.8, -0.8), (-0.8, -0.8), (0.0, 1.2),
        (0.0, -1.2),
    )
)  # fmt: skip
#: Further off, in a crowd: tried where none of those is free.
_FAR_SPOTS = tuple(
    (far * math.cos(turn * math.pi / 12.0), far * math.sin(turn * math.pi / 12.0))
    for far in range(64, 320, 16)
    for turn in range(24)
)
#: Share of a label's height kept free about it. [-]
_ROOM_FRAC = 0.15
#: Further off than this, a line leads from the words to their point. [points]
_NEAR = 12.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """Words and the point that they belong to.

    Attributes
    ----------
    x, y : float
        On the paper of the projection.
    words : str
        One line.
    bold : bool
        Whether they are the ones to look at first.
    """

    x: float
    y: float
    words: str
    bold: bool = False


def draw_labels(
    ax: Axes, labels: Sequence[Label], *, track: Array, nearest: float = _SPOTS[0][0]
) -> None:
    """Write labels, each in the first spot that covers neither another nor the track.

    Where no spot is free the label takes the one that covers least, so that none is left out. The
    track is of points on the paper of the projection, shaped (points, 2); no label stands nearer to
    its point than `nearest`, in points of type.
    """
    import numpy as np

    ax.apply_aspect()
    dot = ax.figure.dpi / 72.0
    sailed, page = ax.transData.transform(track), ax.get_window_extent()
    taken: list[Bbox] = []
    for label in labels:
        text = _written(ax, label)
        with any_script():
            size = text.get_window_extent()
        x, y = ax.transData.transform((label.x, label.y))
        costs, spots = [], [spot for spot in _SPOTS if max(map(abs, spot)) >= nearest]
        spots += _FAR_SPOTS
        for dx, dy in spots:
            box = _box(size, x + dx * dot, y + dy * dot, dx, dy)
            outside = not (page.x0 <= box.x0 < box.x1 <= page.x1)
            outside |= not (page.y0 <= box.y0 < box.y1 <= page.y1)
            over = sum(_shared(box, other) for other in taken) / (box.width * box.height)
            under = np.all((sailed > box.min) & (sailed < box.max), axis=1)
            costs.append((10.0 * outside + 4.0 * over + 0.2 * float(np.count_nonzero(under)), box))
            if costs[-1][0] == 0.0:
                break
        place = min(range(len(costs)), key=lambda spot: costs[spot][0])
        _put(text, *spots[place])
        taken.append(costs[place][1])


def _written(ax, label):
    return ax.annotate(
        printable(label.words),
        (label.x, label.y),
        xytext=(0.0, 0.0),
        textcoords="offset points",
        fontsize=9,
        fontweight="bold" if label.bold else "normal",
        color=INK.light,
        parse_math=False,
        zorder=5,
        arrowprops={"arrowstyle": "-", "linewidth": 0.5, "shrinkA": 0, "shrinkB": 2},
    )


def _put(text, dx, dy) -> None:
    """Words at their spot, with a line to their point from further off."""
    text.set_position((dx, dy))
    text.set_horizontalalignment("left" if dx > 0 else "right" if dx < 0 else "center")
    text.set_verticalalignment("bottom" if dy > 0 else "top" if dy < 0 else "center")
    text.arrow_patch.set_visible(max(abs(dx), abs(dy)) > _NEAR)


def _box(size, x, y, dx, dy) -> Bbox:
    """Where words of that size come to stand about a spot, with a little room."""
    from matplotlib.transforms import Bbox

    left = x - size.width * (0.5 - 0.5 * _sign(dx))
    low = y - size.height * (0.5 - 0.5 * _sign(dy))
    return Bbox.from_bounds(left, low, size.width, size.height).padded(_ROOM_FRAC * size.height)


def _sign(value) -> int:
    return (value > 0) - (value < 0)


def _shared(box, other) -> float:
    """Area that two boxes share, in dots."""
    wide = min(box.x1, other.x1) - max(box.x0, other.x0)
    high = min(box.y1, other.y1) - max(box.y0, other.y0)
    return max(wide, 0.0) * max(high, 0.0)
