"""The picture of each day's charge: what comes in stacked upward, what goes out downward."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from powersim.records.chargers import CHARGERS
from powersim.report.axes import (
    BLACK,
    BLUE,
    GREEN,
    GREY,
    ORANGE,
    PURPLE,
    SKY,
    VERMILION,
    YELLOW,
    dates_along,
    entitle,
    new_axes,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from powersim.simulation.result import SimulationResult

#: Of a day, so that days stand apart. [-]
_BAR_FRAC = 0.8
#: Colour and hatch of what other chargers give, in the order of CHARGERS.
_LOOKS = ((GREEN, ""), (GREEN, "||||"), ("white", "++++"), (SKY, "xxxx"))
_ROOM = 1.05  # above the highest bar and below the lowest


@dataclass(frozen=True, slots=True, kw_only=True)
class Stack:
    """One layer of the bars.

    Attributes
    ----------
    name : str
        For the legend.
    amounts_Ah : tuple of float
        One a day, none of them negative. [Ah]
    color, hatch : str
        As matplotlib takes them.
    """

    name: str
    amounts_Ah: tuple[float, ...]
    color: str
    hatch: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EnergyFigure:
    """The numbers of the picture.

    Attributes
    ----------
    noons : tuple of datetime
        The middle of each ship's day, without an offset.
    hours : tuple of float
        How much of the day the passage covers. [h]
    into : tuple of Stack
        What comes in, the surplus not taken last.
    out : tuple of Stack
        What goes out.
    change_Ah : tuple of float
        What the bank gains, the difference of what is taken in and what goes out. [Ah]
    title : str
        What passage it is.
    """

    noons: tuple[datetime, ...]
    hours: tuple[float, ...]
    into: tuple[Stack, ...]
    out: tuple[Stack, ...]
    change_Ah: tuple[float, ...]
    title: str


def energy_figure(result: SimulationResult) -> EnergyFigure:
    """The numbers of the picture of a simulated passage."""
    daily, passage = result.daily, result.passage
    served = daily[[name for name in daily.columns if name.endswith("_loads_Ah")]].sum(axis=1)
    # Controllers' own draw is in loads_Ah and in no group.
    lost = daily["gassing_Ah"] + daily["self_discharge_Ah"] + daily["loads_Ah"] - served
    lights = daily["protected_loads_Ah"] + daily["essential_loads_Ah"]

    def stack(name, amounts, color, hatch=""):
        return Stack(name=name, amounts_Ah=tuple(amounts.tolist()), color=color, hatch=hatch)

    others = [
        stack(record.called, daily[f"{record.source}_Ah"], *_LOOKS[place % len(_LOOKS)])
        for place, record in enumerate(CHARGERS)
        if f"{record.source}_Ah" in daily
    ]
    turned = stack("alternator", daily["alternator_Ah"], ORANGE, "\\\\\\\\")
    return EnergyFigure(
        noons=tuple(day.to_pydatetime() + timedelta(hours=12) for day in daily.index),
        hours=tuple(map(float, daily["hours"])),
        into=(
            stack("solar", daily["solar_Ah"], YELLOW),
            *([turned] if passage.boat.engine is not None else []),
            *others,
            stack("surplus", daily["surplus_Ah"], "white", ".."),
        ),
        out=(
            stack("essential loads", lights, BLUE),
            stack("useful loads", daily["useful_loads_Ah"], SKY, "////"),
            stack("comfort loads", daily["comfort_loads_Ah"], PURPLE, "xxxx"),
            stack("losses of bank and controllers", lost, GREY, "----"),
        ),
        change_Ah=tuple(daily["change_Ah"].tolist()),
        title=f"{passage.name}: charge in and out, day by day",
    )


def plot_energy(result: SimulationResult, ax: Axes | None = None) -> Axes:
    """Draw each day's charge in and out, stacked."""
    numbers = energy_figure(result)
    ax = new_axes() if ax is None else ax
    widths = [_BAR_FRAC * hours / 24.0 for hours in numbers.hours]
    for stacks, sign in ((numbers.into, 1.0), (numbers.out, -1.0)):
        bottom = [0.0] * len(widths)
        for stack in stacks:
            heights = [sign * amount for amount in stack.amounts_Ah]
            ax.bar(
                numbers.noons,
                heights,
                widths,
                bottom=bottom,
                color=stack.color,
                edgecolor=BLACK,
                linewidth=0.5,
                hatch=stack.hatch,
                label=stack.name,
            )
            bottom = [low + height for low, height in zip(bottom, heights, strict=True)]
    ax.plot(
        numbers.noons,
        numbers.change_Ah,
        linestyle="none",
        marker="D",
        markersize=5,
        color=VERMILION,
        markeredgecolor="white",
        label="the bank gains (up) or loses",
    )
    _finish(ax, numbers)
    return ax


def _finish(ax, numbers) -> None:
    ax.axhline(0.0, color=BLACK, linewidth=1.0)
    # No-break spaces, since an SVG draws others in a row as one.
    wide = 5 * "\u00a0"
    ax.set_ylabel(f"out{wide}charge a day [Ah]{wide}in")
    ax.set_ylim(-_ROOM * _highest_Ah(numbers.out) - 1.0, _ROOM * _highest_Ah(numbers.into) + 1.0)
    ax.yaxis.set_major_formatter(lambda amount, _: f"{abs(amount):.0f}")
    first, last = numbers.noons[0], numbers.noons[-1]
    half_day = timedelta(hours=14)
    ax.set_xlim(first - half_day, last + half_day)
    dates_along(ax, first, last, name="date (ship's)")
    ax.grid(axis="y", color=GREY, alpha=0.4, linewidth=0.6)
    ax.set_axisbelow(True)
    ax.legend(
        handles=_as_seen(ax, numbers),
        loc="upper left",
        bbox_to_anchor=(1.0, 1.0),
        frameon=False,
    )
    entitle(ax, numbers.title)


def _as_seen(ax, numbers) -> list:
    """Legend entries from top to bottom as the bars are stacked, the marks last."""
    handles, names = ax.get_legend_handles_labels()
    by_name = dict(zip(names, handles, strict=True))
    stacked = [stack.name for stack in (*reversed(numbers.into), *numbers.out)]
    return [by_name[name] for name in [*stacked, *(n for n in names if n not in stacked)]]


def _highest_Ah(stacks) -> float:
    return max(map(sum, zip(*(stack.amounts_Ah for stack in stacks), strict=True)))
