"""The picture of a search for sizes: weight against engine hours, the cheapest adequate marked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from powersim.planning.size_front import is_adequate
from powersim.records import CHEMISTRIES
from powersim.report import rounding
from powersim.report.axes import BLACK, BLUE, GREEN, GREY, ORANGE, PURPLE, VERMILION, entitle

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from powersim.planning.size_front import Sized

#: By a chemistry's place in CHEMISTRIES; told apart by shape, for a printer without colour.
_SIGNS = (("o", BLUE), ("D", GREEN), ("s", PURPLE), ("^", ORANGE), ("v", VERMILION), ("P", GREY))
_SIZE = 42.0  # of a sign, in square points
_MOST_NUMBERS = 12


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
    labels : list of str
        Their numbers, with the hours saved for each kilogram over the first.
    title : str
        What passage, and how many choices.
    """

    own: tuple[float, float]
    adequate: dict[str, list[tuple[float, float]]]
    failing: dict[str, list[tuple[float, float]]]
    front: list[tuple[float, float]]
    labels: list[str]
    title: str


def size_figure(sized: Sized, *, name: str) -> SizeFigure:
    """The numbers of the picture."""
    adequate: dict[str, list[tuple[float, float]]] = {}
    failing: dict[str, list[tuple[float, float]]] = {}
    for point in sized.points:
        where = adequate if is_adequate(point, sized.risk_frac) else failing
        where.setdefault(point.choice.chemistry, []).append(_place(point))
    count = rounding.plural(len(sized.points), "choice")
    return SizeFigure(
        own=_place(sized.own),
        adequate=adequate,
        failing=failing,
        front=[_place(one.point) for one in sized.front],
        labels=[_label(place, one) for place, one in enumerate(sized.front, 1)],
        title=f"{name}: {count}, {len(sized.adequate)} adequate",
    )


def plot_size(sized: Sized, ax: Axes | None = None, *, name: str) -> Axes:
    """Draw weight against engine hours."""
    numbers = size_figure(sized, name=name)
    if ax is None:
        from matplotlib.figure import Figure

        ax = Figure(figsize=(9.0, 6.0), layout="constrained").subplots()
    for chemistry, places in numbers.failing.items():
        _scatter(ax, places, chemistry, filled=False, label=f"{chemistry}, fails too often")
    for chemistry, places in numbers.adequate.items():
        _scatter(ax, places, chemistry, filled=True, label=f"{chemistry}, adequate")
    _draw_front(ax, numbers)
    ax.scatter(
        numbers.own[0],
        numbers.own[1],
        s=4.0 * _SIZE,
        marker="+",
        color=BLACK,
        linewidth=2.0,
        label="the boat as she is",
        zorder=4,
    )
    ax.set_xlabel("weight of bank, panels and alternator [kg]")
    ax.set_ylabel("engine run to charge, mean [h]")
    ax.set_ylim(bottom=min(0.0, ax.get_ylim()[0]))
    ax.grid(color=GREY, alpha=0.4, linewidth=0.6)
    ax.legend(loc="upper left", bbox_to_anchor=(0.0, -0.11), ncols=3, frameon=False)
    entitle(ax, numbers.title)
    return ax


def _label(place, marked) -> str:
    if marked.saved_h_per_kg is None:
        return f"{place}"
    return f"{place}: {marked.saved_h_per_kg:.2f} h/kg"


def _draw_front(ax, numbers) -> None:
    """Rings and numbers, and the steps from one marked choice to the next."""
    if not numbers.front:
        return
    kg, hours = zip(*numbers.front, strict=True)
    ax.step(kg, hours, where="post", color=VERMILION, linewidth=1.2, linestyle=(0, (5, 2)))
    ax.scatter(
        kg,
        hours,
        s=4.0 * _SIZE,
        facecolors="none",
        edgecolors=VERMILION,
        linewidth=1.6,
        label="cheapest adequate; hours saved a kg over 1",
        zorder=3,
    )
    for label, place in list(zip(numbers.labels, numbers.front, strict=True))[:_MOST_NUMBERS]:
        ax.annotate(
            label,
            place,
            xytext=(5, 9),
            textcoords="offset points",
            rotation=30,
            color=BLACK,
            fontweight="bold",
        )


def _scatter(ax, places, chemistry, *, filled: bool, label: str) -> None:
    sign, color = _SIGNS[list(CHEMISTRIES).index(chemistry) % len(_SIGNS)]
    kg, hours = zip(*places, strict=True)
    ax.scatter(
        kg,
        hours,
        s=_SIZE if filled else 0.6 * _SIZE,
        marker=sign,
        facecolors=color if filled else "none",
        edgecolors=BLACK if filled else GREY,
        linewidth=0.7,
        label=label,
        zorder=2 if filled else 1,
    )


def _place(point) -> tuple[float, float]:
    return point.weight_kg, point.charging_h
