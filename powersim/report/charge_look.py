"""How large a picture of the charge is, what it has room for, and its axes above each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from powersim.report.axes import new_figure_axes
from powersim.report.direct_labels import SideLabel, folded, label_beside

if TYPE_CHECKING:
    from matplotlib.axes import Axes

#: From the axes to the names beside them. [points]
_LEAD_POINTS = 9.0


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
    font_points, line_points : float
        Of all words, and of the line that matters most. [points]
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
    line_points: float
    most_dates: int
    most_latitudes: int
    title: int
    label: int

    def beside(self, ax: Axes, names: Sequence[SideLabel]) -> None:
        """Write names to the right of axes, on as many lines as they need."""
        fitted = [replace(name, words=folded(name.words, self.label)) for name in names]
        label_beside(ax, fitted, off=_LEAD_POINTS, font_points=self.font_points, lead=True)


#: For a screen or a sheet of paper, and for a phone.
WIDE = Look(
    width_in=10.0, frame_in=3.3, strip_in=0.72, left_in=0.62, labels_in=1.5, over_in=0.82,
    gap_in=0.36, below_in=0.52, font_points=10.0, most_dates=9, most_latitudes=8, title=90,
    label=24,
    line_points=2.2,
)  # fmt: skip
NARROW = Look(
    width_in=3.9, frame_in=2.9, strip_in=0.72, left_in=0.56, labels_in=1.06, over_in=0.82,
    gap_in=0.46, below_in=0.54, font_points=9.5, most_dates=4, most_latitudes=4, title=38,
    label=13, line_points=1.3,
)  # fmt: skip


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


def head(strip: Axes, words: str, *, look: Look) -> None:
    """What a strip shows, above it at the left."""
    strip.annotate(
        words, (0.0, 1.0), xycoords="axes fraction", xytext=(0, 3), textcoords="offset points",
        va="bottom", fontsize=look.font_points,
    )  # fmt: skip
