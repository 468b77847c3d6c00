"""Names beside what they name, at the right of a picture: in place of a legend to go back to."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from textwrap import fill
from typing import TYPE_CHECKING

from powersim.report.palette import INK, SOFT
from powersim.report.text import printable

if TYPE_CHECKING:
    from matplotlib.axes import Axes

#: Between the axes and the names, a sample's width and height, and what keeps lines apart. [points]
_OFF, _SAMPLE_WIDE, _SAMPLE_HIGH, _LEADING = 6.0, 11.0, 9.0, 13.0
#: From one line of words to the next, as a share of their size. [-]
_LINE = 1.3
#: A thin line from the words to where they belong.
_LEAD = {
    "arrowstyle": "-", "color": SOFT.light, "linewidth": 0.7, "shrinkA": 0.0, "shrinkB": 1.0,
    "relpos": (0.0, 0.5),
}  # fmt: skip

#: Spaces at which no quantity is broken.
_WITHIN = re.compile(r"(?<=\d) (?=[A-Z%]|imp gal)|(?<=US) (?=gal)|(?<=imp) (?=gal)")
#: In a figure less wide than this, names are broken into lines of so many characters. [inch]
_NARROW_IN, _NARROW_WORDS = 5.0, 15


@dataclass(frozen=True, slots=True, kw_only=True)
class SideLabel:
    """A name at the right of the axes.

    Attributes
    ----------
    y : float
        Where it belongs, in the data of the axis upward.
    words : str
        One line or several.
    color : str
        Of the words.
    bold : bool
        Whether it is one to look at first.
    sample : dict or None
        How what it names is filled, as a patch of matplotlib takes it: a small one is drawn before
        the words. None for a line, which ends beside its name.
    """

    y: float
    words: str
    color: str = INK.light
    bold: bool = False
    sample: dict | None = None


def spread(wanted: Sequence[float], highs: Sequence[float], low: float, top: float) -> list[float]:
    """Places along a line, as near as can be to those wanted, that keep their order and their room.

    Parameters
    ----------
    wanted : sequence of float
        Where the middle of each would be, rising.
    highs : sequence of float
        Room that each takes.
    low, top : float
        Ends of the line; too many for it hang over both alike.

    Examples
    --------
    >>> spread([1.0, 1.0, 9.0], [2.0, 2.0, 2.0], 0.0, 10.0)
    [1.0, 3.0, 9.0]
    >>> spread([5.0, 5.0], [2.0, 2.0], 0.0, 10.0)
    [4.0, 6.0]
    """
    # Neighbours that touch move as one, about the mean of what each of them wants.
    groups: list[list[int]] = []
    for place in range(len(wanted)):
        groups.append([place])
        while len(groups) > 1 and _start(groups[-1], wanted, highs, low, top) < _end(
            groups[-2], wanted, highs, low, top
        ):
            last = groups.pop()
            groups[-1] += last
    places = [0.0] * len(wanted)
    for group in groups:
        at = _start(group, wanted, highs, low, top)
        for place in group:
            places[place] = at + highs[place] / 2.0
            at += highs[place]
    return places


def _start(group, wanted, highs, low, top) -> float:
    high, offset, middle = sum(highs[place] for place in group), 0.0, 0.0
    for place in group:
        middle += (wanted[place] - offset - highs[place] / 2.0) / len(group)
        offset += highs[place]
    if high > top - low:
        return (low + top - high) / 2.0
    return min(max(middle, low), top - high)


def _end(group, wanted, highs, low, top) -> float:
    return _start(group, wanted, highs, low, top) + sum(highs[place] for place in group)


def label_beside(
    ax: Axes,
    labels: Sequence[SideLabel],
    *,
    off: float = _OFF,
    font_points: float | None = None,
    lead: bool = False,
) -> None:
    """Write names at the right of the axes, none over another.

    They are spread by the height that the axes have as this is called; `off` is how far from the
    axes they begin, in points. With `lead` a thin line goes from each to where it belongs.
    """
    figure = ax.figure.get_figure(root=True)
    if figure.get_size_inches()[0] < _NARROW_IN:
        labels = [replace(label, words=_for_phone(label.words)) for label in labels]
    high = ax.get_position().height * figure.get_size_inches()[1] * 72.0
    labels = sorted(labels, key=lambda label: label.y)
    low_y, high_y = ax.get_ylim()
    wanted = [(label.y - low_y) / (high_y - low_y) * high for label in labels]
    leading = _LEADING if font_points is None else _LINE * font_points
    rooms = [leading * (1 + label.words.count("\n")) for label in labels]
    for label, at, place in zip(labels, wanted, spread(wanted, rooms, 0.0, high), strict=True):
        if label.sample is not None:
            _draw_sample(ax, place / high, off, label.sample)
        ax.annotate(
            printable(label.words),
            (1.0, (at if lead else place) / high),
            xycoords="axes fraction",
            xytext=(
                off + (0.0 if label.sample is None else _SAMPLE_WIDE + 4.0),
                place - at if lead else 0.0,
            ),
            textcoords="offset points",
            va="center",
            fontweight="bold" if label.bold else "normal",
            color=label.color,
            fontsize=font_points,
            linespacing=1.0,
            parse_math=False,
            arrowprops=_LEAD if lead else None,
        )


def folded(words: str, most: int) -> str:
    """Words on lines of so many characters, a number and its unit on one."""
    held = _WITHIN.sub("\u00a0", words)
    return fill(held, most).replace("\u00a0", " ")


def _for_phone(words: str) -> str:
    """Words on lines that a phone has room for; left alone where they are on such already."""
    if max(map(len, words.split("\n"))) <= _NARROW_WORDS and "\n" in words:
        return words
    return folded(words, _NARROW_WORDS)


def _draw_sample(ax, height_frac, off, look) -> None:
    from matplotlib.offsetbox import AnnotationBbox, DrawingArea
    from matplotlib.patches import Rectangle

    area = DrawingArea(_SAMPLE_WIDE, _SAMPLE_HIGH)
    area.add_artist(Rectangle((0.0, 0.0), _SAMPLE_WIDE, _SAMPLE_HIGH, **look))
    ax.add_artist(
        AnnotationBbox(
            area, (1.0, height_frac), xycoords="axes fraction", xybox=(off, 0.0),
            boxcoords="offset points", box_alignment=(0.0, 0.5), pad=0.0, frameon=False,
            annotation_clip=False,
        )
    )  # fmt: skip
