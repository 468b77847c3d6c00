"""The picture of a search for sizes: weight against engine hours, the cheapest adequate marked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from powersim.planning.size_front import is_adequate
from powersim.records import CHEMISTRIES
from powersim.report import rounding
from powersim.report.axes import entitle
from powersim.report.map_labels import Label, draw_labels
from powersim.report.palette import CHARGE, FAILS, GRID, INK, PAPER, SOFT

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from powersim.planning.size_front import Sized

#: By a chemistry's place in CHEMISTRIES: told apart by shape.
_SIGNS = ("o", "D", "s", "^", "v", "P")
_SIZE = 42.0  # of a sign, in square points
#: Points that are named, at most: those marked and the boat as she is, and all others if they fit.
_MOST_NAMES = 16
_NEAREST_PT = 11.0  # from a point to its name, so that it stands clear of a ring
_INCHES = (10.0, 7.0)
#: Left, bottom, width and height of the axes, as shares of the figure: the legend is below.
_AXES = (0.075, 0.2, 0.9, 0.74)
#: Room about the points, so that names find a place. [-]
_ROOM_FRAC = 0.12


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeFigure:
    """The numbers of the picture.

    Attributes
    ----------
    own : tuple of (float, float)
        Weight and charging hours of the boat as she is. [kg], [h]
    adequate, failing : dict of str to list of (float, float)
        The same of every choice, by chemistry.
    front : list of (float, float)
        The same of the marked choices, lightest first.
    names : list of str
        Their numbers, and what of them is not the same in all choices.
    own_name : str
        The same of the boat as she is.
    others : list of ((float, float), str)
        Weight, hours and name of all the others, where there are few enough to be named; or empty.
    title : str
        What passage, and how many choices.
    """

    own: tuple[float, float]
    adequate: dict[str, list[tuple[float, float]]]
    failing: dict[str, list[tuple[float, float]]]
    front: list[tuple[float, float]]
    names: list[str]
    own_name: str
    others: list[tuple[tuple[float, float], str]]
    title: str


def size_figure(sized: Sized, *, name: str) -> SizeFigure:
    """The numbers of the picture."""
    adequate: dict[str, list[tuple[float, float]]] = {}
    failing: dict[str, list[tuple[float, float]]] = {}
    for point in sized.points:
        where = adequate if is_adequate(point, sized.risk_frac) else failing
        where.setdefault(point.choice.chemistry, []).append(_place(point))
    told = [sized.own, *(one.point for one in sized.front)]
    others = [point for point in sized.points if not any(point is one for one in told)]
    count = rounding.plural(len(sized.points), "choice")
    return SizeFigure(
        own=_place(sized.own),
        adequate=adequate,
        failing=failing,
        front=[_place(one.point) for one in sized.front],
        names=[f"{at}: {_name(one.point, sized)}" for at, one in enumerate(sized.front, 1)],
        own_name=f"as she is: {_name(sized.own, sized)}",
        others=[
            (_place(point), _name(point, sized))
            for point in others
            if len(sized.points) <= _MOST_NAMES
        ],
        title=f"{name}: {count}, {len(sized.adequate)} adequate",
    )


def plot_size(sized: Sized, ax: Axes | None = None, *, name: str) -> Axes:
    """Draw weight against engine hours."""
    numbers = size_figure(sized, name=name)
    ax = _axes() if ax is None else ax
    for chemistry, places in numbers.failing.items():
        _scatter(ax, places, chemistry, filled=False, label=f"{chemistry}, fails too often")
    for chemistry, places in numbers.adequate.items():
        _scatter(ax, places, chemistry, filled=True, label=f"{chemistry}, adequate")
    _draw_front(ax, numbers)
    ax.scatter(
        *numbers.own, s=4.0 * _SIZE, marker="+", color=INK.light, linewidth=2.0,
        label="the boat as she is", zorder=4,
    )  # fmt: skip
    ax.set_xlabel("weight of bank, panels and alternator [kg]")
    ax.set_ylabel("engine run to charge, mean [h]")
    ax.margins(_ROOM_FRAC)
    ax.set_ylim(bottom=min(0.0, ax.get_ylim()[0]))
    ax.grid(color=GRID.light, linewidth=0.6)
    ax.set_axisbelow(True)
    ax.legend(loc="upper left", bbox_to_anchor=(0.0, -0.1), ncols=3, frameon=False)
    entitle(ax, numbers.title)
    _draw_names(ax, numbers)
    return ax


def _axes():
    """Axes that stay where they are, so that words can be measured against each other."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=_INCHES)
    FigureCanvasAgg(figure)
    return figure.add_axes(_AXES)


def _name(point, sized) -> str:
    """A choice by what is not the same in all of them."""
    own, choice = sized.own.choice, point.choice
    choices = [one.choice for one in sized.points]

    def varies(key):
        return any(getattr(one, key) != getattr(own, key) for one in choices)

    bank = [choice.chemistry] if varies("chemistry") else []
    bank += [f"{choice.battery_Ah:.4g} Ah"] if bank or varies("battery_Ah") else []
    parts = [" ".join(bank)] if bank else []
    parts += [f"{choice.solar_W:.4g} W"] if varies("solar_W") else []
    parts += [f"{choice.alternator_A:.4g} A"] if varies("alternator_A") else []
    return ", ".join(parts) or f"{choice.battery_Ah:.4g} Ah"


def _draw_names(ax, numbers) -> None:
    """Points that are named, each beside its point: first the boat as she is and those marked."""
    import numpy as np

    marked = list(zip(numbers.front, numbers.names, strict=True))[: _MOST_NAMES - 1]
    labels = [
        Label(x=x, y=y, words=words, bold=bold)
        for named, bold in (
            ([(numbers.own, numbers.own_name), *marked], True),
            (numbers.others, False),
        )
        for (x, y), words in named
    ]
    every = [*numbers.adequate.values(), *numbers.failing.values()]
    points = np.array([place for places in every for place in places])
    around = [_ring(ax, place) for place in (numbers.own, *numbers.front)]
    draw_labels(ax, labels, track=np.concatenate([points, *around]), nearest=_NEAREST_PT)


def _ring(ax, place):
    """Points on the ring about a point, which no name is to cover either."""
    import numpy as np

    turns = np.linspace(0.0, 2.0 * np.pi, 12, endpoint=False)
    radius = np.sqrt(_SIZE) * ax.figure.dpi / 72.0  # a sign of 4 * _SIZE square points
    dots = ax.transData.transform(place) + radius * np.column_stack((np.cos(turns), np.sin(turns)))
    return ax.transData.inverted().transform(dots)


def _draw_front(ax, numbers) -> None:
    """Rings, and the steps from one marked choice to the next."""
    if not numbers.front:
        return
    kg, hours = zip(*numbers.front, strict=True)
    ax.step(kg, hours, where="post", color=SOFT.light, linewidth=1.2, linestyle=(0, (5, 2)))
    ax.scatter(
        kg, hours, s=4.0 * _SIZE, facecolors="none", edgecolors=INK.light, linewidth=1.6,
        label="cheapest adequate, numbered as in the tables", zorder=3,
    )  # fmt: skip


def _scatter(ax, places, chemistry, *, filled: bool, label: str) -> None:
    sign = _SIGNS[list(CHEMISTRIES).index(chemistry) % len(_SIGNS)]
    kg, hours = zip(*places, strict=True)
    ax.scatter(
        kg,
        hours,
        s=_SIZE if filled else 0.6 * _SIZE,
        marker=sign,
        facecolors=CHARGE.mark if filled else "none",
        edgecolors=PAPER.light if filled else FAILS.mark,
        linewidth=0.7,
        label=label,
        zorder=2 if filled else 1,
    )


def _place(point) -> tuple[float, float]:
    return point.weight_kg, point.charging_h
