"""The picture of the day's budget: one bar a load, the largest at the top."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from powersim.report import rounding
from powersim.report.axes import FIGURE_INCHES, entitle
from powersim.report.names import entitled
from powersim.report.palette import GRID, LOADS, PAPER, SOFT
from powersim.report.text import shortened

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from powersim.simulation.result import SimulationResult

#: Loads with a bar of their own; the rest are one bar.
_MOST_LOADS = 18
_LONGEST_NAME = 40  # characters
#: Group of loads -> its hatch.
_HATCHES = {"protected": "..", "essential": "", "useful": "////", "comfort": "xxxx", "": "||||"}
_BAR_INCHES, _MARGIN_INCHES = 0.27, 1.3
_ROOM = 1.3  # right of the longest bar, for its words


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """One load's day.

    Attributes
    ----------
    name : str
        On one line.
    group : str
        One of physics.demand.GROUPS, or "" for several loads.
    charge_Ah : float
        Taken a day, on average over the passage. [Ah]
    without_Ah : float
        What it went without. [Ah]
    """

    name: str
    group: str
    charge_Ah: float
    without_Ah: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetFigure:
    """The numbers of the picture.

    Attributes
    ----------
    bars : tuple of Bar
        The largest first, the small ones together at the end.
    total_Ah : float
        Of all loads, taken a day. [Ah]
    title : str
        Whose budget it is.
    """

    bars: tuple[Bar, ...]
    total_Ah: float
    title: str


def budget_figure(result: SimulationResult) -> BudgetFigure:
    """The numbers of the picture of a simulated passage."""
    loads = result.loads
    wanted = loads[(loads["Ah_per_day"] > 0.0) | (loads["unserved_Ah_per_day"] > 0.0)]
    named, rest = wanted.iloc[:_MOST_LOADS], wanted.iloc[_MOST_LOADS:]
    bars = [
        Bar(
            name=shortened(row.load, _LONGEST_NAME),
            group=row.group,
            charge_Ah=row.Ah_per_day,
            without_Ah=row.unserved_Ah_per_day,
        )
        for row in named.itertuples()
    ]
    if len(rest):
        bars.append(
            Bar(
                name=rounding.plural(len(rest), "smaller one"),
                group="",
                charge_Ah=float(rest["Ah_per_day"].sum()),
                without_Ah=float(rest["unserved_Ah_per_day"].sum()),
            )
        )
    total_Ah = float(loads["Ah_per_day"].sum())
    return BudgetFigure(
        bars=tuple(bars),
        total_Ah=total_Ah,
        title=entitled(
            result.passage,
            f"{result.passage.name}: loads take {rounding.ah(total_Ah)} a day on average",
        ),
    )


def plot_budget(result: SimulationResult, ax: Axes | None = None) -> Axes:
    """Draw what each load takes a day, on average over the passage."""
    numbers = budget_figure(result)
    ax = _axes_for(numbers) if ax is None else ax
    for group, hatch in _HATCHES.items():
        rows = [row for row, bar in enumerate(numbers.bars) if bar.group == group]
        if rows:
            ax.barh(
                rows,
                [numbers.bars[row].charge_Ah for row in rows],
                facecolor=LOADS.mark,
                edgecolor=PAPER.light,
                linewidth=0.6,
                hatch=hatch,
                label=group,
            )
    _mark_what_went_without(ax, numbers.bars)
    for row, bar in enumerate(numbers.bars):
        ax.annotate(
            _words(bar),
            (bar.charge_Ah + bar.without_Ah, row),
            xytext=(4, 0),
            textcoords="offset points",
            va="center",
        )
    _finish(ax, numbers)
    return ax


def _axes_for(numbers):
    """Axes in a figure of their own, as high as there are loads."""
    from matplotlib.figure import Figure

    high = _MARGIN_INCHES + _BAR_INCHES * max(len(numbers.bars), 3)
    return Figure(figsize=(FIGURE_INCHES[0], high), layout="constrained").subplots()


def _words(bar) -> str:
    """What stands beside a bar: what it takes, what it goes without, and how much it is needed."""
    gone = rounding.ah(bar.without_Ah)
    without = "" if gone == rounding.ah(0.0) else f", without {gone}"
    return f"{rounding.ah(bar.charge_Ah)}{without}" + (f", {bar.group}" if bar.group else "")


def _mark_what_went_without(ax, bars) -> None:
    rows = [row for row, bar in enumerate(bars) if bar.without_Ah > 0.0]
    if rows:
        ax.barh(
            rows,
            [bars[row].without_Ah for row in rows],
            left=[bars[row].charge_Ah for row in rows],
            facecolor=PAPER.light,
            edgecolor=SOFT.light,
            linewidth=0.9,
            linestyle=(0, (2, 2)),
            label="went without",
        )


def _finish(ax, numbers) -> None:
    rows = range(len(numbers.bars))
    ax.set_yticks(rows, [bar.name for bar in numbers.bars], parse_math=False)
    ax.set_ylim(len(numbers.bars) - 0.4, -0.6)
    longest_Ah = max((bar.charge_Ah + bar.without_Ah for bar in numbers.bars), default=1.0)
    ax.set_xlim(0.0, _ROOM * longest_Ah)
    ax.set_xlabel("charge a day [Ah]")
    ax.grid(axis="x", color=GRID.light, linewidth=0.6)
    ax.set_axisbelow(True)
    entitle(ax, numbers.title)
