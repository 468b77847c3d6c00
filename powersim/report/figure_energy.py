"""The picture of each day's charge: what comes in stacked upward, what goes out downward."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from powersim.records.chargers import CHARGERS
from powersim.report import rounding
from powersim.report.axes import dates_along, entitle, new_axes
from powersim.report.direct_labels import SideLabel, label_beside
from powersim.report.names import entitled
from powersim.report.palette import (
    CHARGE,
    ENGINE,
    GRID,
    INK,
    LOADS,
    OF_SOURCE,
    OTHERS,
    PAPER,
    SOFT,
    SUN,
    Thing,
)
from powersim.report.text import shortened
from powersim.simulation.tables import loads_by_day

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from powersim.simulation.result import SimulationResult

#: Of a day, so that days stand apart. [-]
_BAR_FRAC = 0.8
_ROOM = 1.05  # above the highest bar and below the lowest
#: Loads that have a layer of their own, the largest; and their hatches, so that they stand apart.
_NAMED = 3
_HATCHES = ("", "////", "xxxx")
_LONGEST_NAME = 24  # characters
_ALL_OTHERS = "all other loads"


@dataclass(frozen=True, slots=True, kw_only=True)
class Stack:
    """One layer of the bars.

    Attributes
    ----------
    name : str
        Of what it is.
    amounts_Ah : tuple of float
        One a day, none of them negative. [Ah]
    thing : Thing or None
        Whose colour it has; None for what is neither taken in nor used: the surplus and losses.
    hatch : str
        As matplotlib takes it.
    """

    name: str
    amounts_Ah: tuple[float, ...]
    thing: Thing | None
    hatch: str = ""

    @property
    def look(self) -> dict:
        """How it is filled, as a patch of matplotlib takes it."""
        return {
            "facecolor": PAPER.light if self.thing is None else self.thing.mark,
            "edgecolor": SOFT.light if self.thing is None else PAPER.light,
            "linewidth": 0.6,
            "hatch": self.hatch,
        }


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
        What comes in: sun, engine, other chargers; the surplus not taken last.
    out : tuple of Stack
        What goes out: the largest loads, all others together, losses.
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
    turned = [_stack("engine", daily["alternator_Ah"], ENGINE)]
    return EnergyFigure(
        noons=tuple(day.to_pydatetime() + timedelta(hours=12) for day in daily.index),
        hours=tuple(map(float, daily["hours"])),
        into=(
            _stack("sun", daily["solar_Ah"], SUN),
            *(turned if passage.boat.engine is not None else []),
            *_other_chargers(daily),
            _stack("surplus, not taken", daily["surplus_Ah"], None),
        ),
        out=(
            *_loads(result),
            _stack("losses", lost, None, "----"),
        ),
        change_Ah=tuple(daily["change_Ah"].tolist()),
        title=entitled(
            passage, f"{passage.name}: charge in and out, day by day, in average weather"
        ),
    )


def _stack(name, amounts, thing, hatch=None) -> Stack:
    if hatch is None:
        hatch = "" if thing is None else thing.hatch
    return Stack(name=name, amounts_Ah=tuple(amounts.tolist()), thing=thing, hatch=hatch)


def _other_chargers(daily) -> list[Stack]:
    """All of them in one layer; a single one keeps its own colour."""
    aboard = [record for record in CHARGERS if f"{record.source}_Ah" in daily]
    if not aboard:
        return []
    amounts = sum(daily[f"{record.source}_Ah"] for record in aboard)
    if len(aboard) == 1:
        return [_stack(aboard[0].called, amounts, OF_SOURCE[aboard[0].source])]
    return [_stack("other chargers", amounts, OTHERS)]


def _loads(result) -> list[Stack]:
    """The largest loads of the passage, and all others together."""
    import numpy as np

    demand, daily = result.prepared.demand, result.daily
    if not demand.names:
        return []
    by_day_Ah = loads_by_day(
        prepared=result.prepared, flow=result.flow, hours=daily["hours"].tolist()
    )
    order = np.argsort(-by_day_Ah.sum(axis=1), kind="stable")
    named, rest = order[:_NAMED], order[_NAMED:]
    stacks = [
        _stack(shortened(demand.names[load], _LONGEST_NAME), by_day_Ah[load], LOADS, hatch)
        for load, hatch in zip(named, _HATCHES, strict=False)
    ]
    if len(rest):
        stacks.append(_stack(_ALL_OTHERS, by_day_Ah[rest].sum(axis=0), LOADS, ".."))
    return stacks


def plot_energy(result: SimulationResult, ax: Axes | None = None) -> Axes:
    """Draw each day's charge in and out, stacked."""
    numbers = energy_figure(result)
    ax = new_axes() if ax is None else ax
    widths = [_BAR_FRAC * hours / 24.0 for hours in numbers.hours]
    for stacks, sign in ((numbers.into, 1.0), (numbers.out, -1.0)):
        bottom = [0.0] * len(widths)
        for stack in stacks:
            heights = [sign * amount for amount in stack.amounts_Ah]
            ax.bar(numbers.noons, heights, widths, bottom=bottom, label=stack.name, **stack.look)
            bottom = [low + height for low, height in zip(bottom, heights, strict=True)]
    ax.plot(
        numbers.noons,
        numbers.change_Ah,
        linestyle="none",
        marker="D",
        markersize=5,
        color=CHARGE.mark,
        markeredgecolor=PAPER.light,
        label="the bank gains (up) or loses",
    )
    _finish(ax, numbers)
    return ax


def _finish(ax, numbers) -> None:
    ax.axhline(0.0, color=INK.light, linewidth=1.0)
    # No-break spaces, since an SVG draws others in a row as one.
    wide = 5 * "\u00a0"
    ax.set_ylabel(f"out{wide}charge a day [Ah]{wide}in")
    ax.set_ylim(-_ROOM * _highest_Ah(numbers.out) - 1.0, _ROOM * _highest_Ah(numbers.into) + 1.0)
    ax.yaxis.set_major_formatter(lambda amount, _: f"{abs(amount):.0f}")
    first, last = numbers.noons[0], numbers.noons[-1]
    half_day = timedelta(hours=14)
    ax.set_xlim(first - half_day, last + half_day)
    dates_along(ax, first, last, name="ship's date")
    ax.grid(axis="y", color=GRID.light, linewidth=0.6)
    ax.set_axisbelow(True)
    label_beside(ax, _labels(numbers))
    entitle(ax, numbers.title)


def _labels(numbers) -> list[SideLabel]:
    """Names in the order of the layers, with the mean of a day, each at its layer's mean height."""
    days, labels = sum(numbers.hours) / 24.0, []
    for stacks, sign in ((numbers.into, 1.0), (numbers.out, -1.0)):
        edge = 0.0
        for stack in stacks:
            mean_Ah = sum(stack.amounts_Ah) / days
            labels.append(
                SideLabel(
                    y=sign * (edge + mean_Ah / 2.0),
                    words=f"{stack.name} {rounding.ah(mean_Ah)}",
                    color=SOFT.light if stack.thing is None else stack.thing.word,
                    sample=stack.look,
                )
            )
            edge += mean_Ah
    gain_Ah = sum(numbers.change_Ah) / days
    return [*labels, SideLabel(y=gain_Ah, words="◆ the bank gains or loses", color=CHARGE.word)]


def _highest_Ah(stacks) -> float:
    return max(map(sum, zip(*(stack.amounts_Ah for stack in stacks), strict=True)))
