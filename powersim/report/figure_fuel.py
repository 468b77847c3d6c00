"""The picture of the diesel: what is left hour by hour, where the rest went, and the reserve."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from powersim.report.axes import (
    BLACK,
    BLUE,
    GREY,
    ORANGE,
    PURPLE,
    SKY,
    VERMILION,
    dates_along,
    entitle,
    new_axes,
)
from powersim.simulation.bands import quantiles

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from powersim.simulation.result import SimulationResult

#: Column of the hourly table -> name, colour and hatch, in the order in which they are stacked.
_LEDGERS = {
    "fuel_motoring_L": ("motoring", SKY, "////"),
    "fuel_charging_L": ("charging runs", ORANGE, "\\\\\\\\"),
    "fuel_alternator_motoring_L": ("alternator while motoring", "white", "||||"),
    "fuel_heater_L": ("heater", PURPLE, "xxxx"),
}
_ROOM = 1.05  # above the highest line


@dataclass(frozen=True, slots=True, kw_only=True)
class Burnt:
    """One ledger as it adds up.

    Attributes
    ----------
    name : str
        For the legend.
    total_L : tuple of float
        Wanted by the end of each hour, the first being departure. [L]
    color, hatch : str
        As matplotlib takes them.
    """

    name: str
    total_L: tuple[float, ...]
    color: str
    hatch: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FuelFigure:
    """The numbers of the picture.

    Attributes
    ----------
    times_utc : tuple of datetime
        The ends of the hours, departure first.
    usable_L, reserve_L : float
        What can be burnt at departure, the reserve included, and the reserve. [L]
    ledgers : tuple of Burnt
        Those that are not nothing.
    left_L : tuple of float
        What can still be burnt; what is wanted and not there makes the stack longer than that. [L]
    band_L : tuple of tuple of float
        Left with 1 in 10 members below, half, and 1 in 10 above; empty without members. [L]
    title : str
        Whose fuel it is.
    fuel : str
        What the engine burns.
    """

    times_utc: tuple[datetime, ...]
    usable_L: float
    reserve_L: float
    ledgers: tuple[Burnt, ...]
    left_L: tuple[float, ...]
    band_L: tuple[tuple[float, ...], ...]
    title: str
    fuel: str


def fuel_figure(result: SimulationResult) -> FuelFigure:
    """The numbers of the picture of a passage; ValueError if the boat carries no fuel."""
    passage, hourly, ensemble = result.passage, result.hourly, result.ensemble
    fuel = passage.boat.fuel
    if fuel is None:
        raise ValueError("a boat without an engine has no ledger of fuel")
    starts = [time.to_pydatetime() for time in hourly.index]
    ledgers = [
        Burnt(name=name, total_L=(0.0, *hourly[column].cumsum().tolist()), color=color, hatch=hatch)
        for column, (name, color, hatch) in _LEDGERS.items()
        if hourly[column].any()
    ]
    bands = () if ensemble is None else quantiles(ensemble.hour_fuel_left_L)
    return FuelFigure(
        times_utc=(starts[0], *(start + timedelta(hours=1) for start in starts)),
        usable_L=fuel.usable_L,
        reserve_L=fuel.reserve_L,
        ledgers=tuple(ledgers),
        left_L=(fuel.usable_L, *hourly["fuel_left_L"].tolist()),
        band_L=tuple((fuel.usable_L, *line.tolist()) for line in bands),
        title=f"{passage.name}: {passage.boat.fuel_word} that can be burnt",
        fuel=passage.boat.fuel_word,
    )


def plot_fuel(result: SimulationResult, ax: Axes | None = None) -> Axes:
    """Draw the fuel that is left, what was burnt stacked down to it; ValueError without fuel."""
    numbers = fuel_figure(result)
    ax = new_axes() if ax is None else ax
    times, upper_L = numbers.times_utc, [numbers.usable_L] * len(numbers.times_utc)
    for ledger in numbers.ledgers:
        lower_L = [high - burnt for high, burnt in zip(upper_L, ledger.total_L, strict=True)]
        ax.fill_between(
            times,
            lower_L,
            upper_L,
            facecolor=ledger.color,
            edgecolor=BLACK,
            linewidth=0.4,
            hatch=ledger.hatch,
            label=ledger.name,
        )
        upper_L = lower_L
    ax.plot(times, numbers.left_L, color=BLUE, linewidth=2.2, label="left")
    if numbers.band_L:
        low_L, _, high_L = numbers.band_L
        for line_L, name in ((low_L, "left, 8 in 10 lie between"), (high_L, None)):
            ax.plot(times, line_L, color=BLACK, linewidth=1.1, dashes=(4, 1.5), label=name)
    _finish(ax, numbers, lowest_L=min(0.0, *upper_L))
    return ax


def _finish(ax, numbers, *, lowest_L) -> None:
    for level_L, words, color, dashes in (
        (numbers.reserve_L, f"reserve {numbers.reserve_L:.0f} L", VERMILION, (6, 2)),
        (0.0, "none left", BLACK, (2, 2)),
    ):
        ax.axhline(level_L, color=color, linewidth=1.4, dashes=dashes)
        ax.annotate(
            words,
            (1.0, level_L),
            xycoords=("axes fraction", "data"),
            xytext=(4, 0),
            textcoords="offset points",
            va="center",
        )
    highest_L = max(numbers.usable_L, numbers.reserve_L, 1.0)
    ax.set_ylim(lowest_L - 0.03 * highest_L, _ROOM * highest_L)
    ax.set_ylabel(f"{numbers.fuel} that can be burnt [L]")
    ax.set_xlim(numbers.times_utc[0], numbers.times_utc[-1])
    dates_along(ax, numbers.times_utc[0], numbers.times_utc[-1])
    ax.grid(axis="y", color=GREY, alpha=0.4, linewidth=0.6)
    ax.set_axisbelow(True)
    ax.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), frameon=False)
    entitle(ax, numbers.title)
