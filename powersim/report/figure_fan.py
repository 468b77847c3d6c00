"""The picture of the charge in many members: a band that widens, its median, the worst weather."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from powersim.report.axes import BLACK, BLUE, SKY, new_axes
from powersim.report.figure_charge import (
    ChargeFigure,
    charge_figure,
    draw_levels,
    draw_runs,
    finish,
    shade_nights,
)
from powersim.simulation.bands import quantiles

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from powersim.simulation.result import SimulationResult


@dataclass(frozen=True, slots=True, kw_only=True)
class FanFigure:
    """The numbers of the picture.

    Attributes
    ----------
    mean_sky : ChargeFigure
        The passage in the mean sky, with its times, nights, levels and latitudes.
    low_percent, median_percent, high_percent : tuple of float
        State of charge at those times: 1 in 10 members below, half, 1 in 10 above. [%]
    worst_percent : tuple of float
        Of the weather whose charge falls lowest. [%]
    worst_member : int
        Its number in members.csv.
    """

    mean_sky: ChargeFigure
    low_percent: tuple[float, ...]
    median_percent: tuple[float, ...]
    high_percent: tuple[float, ...]
    worst_percent: tuple[float, ...]
    worst_member: int


def fan_figure(result: SimulationResult) -> FanFigure:
    """The numbers of the picture of a passage in many members."""
    ensemble, mean_sky = result.ensemble, charge_figure(result)
    assert ensemble is not None, "asked where there is one"
    worst = int(ensemble.lowest_soc.argmin())
    lines = (*quantiles(ensemble.hour_soc), ensemble.hour_soc[:, worst])
    low, median, high, worst_line = (
        (mean_sky.soc_percent[0], *(100.0 * line).tolist()) for line in lines
    )
    title = f"{mean_sky.title}, {ensemble.members} simulated passages"
    return FanFigure(
        mean_sky=replace(mean_sky, title=title),
        low_percent=low,
        median_percent=median,
        high_percent=high,
        worst_percent=worst_line,
        worst_member=worst + 1,
    )


def plot_fan(result: SimulationResult, ax: Axes | None = None) -> Axes:
    """Draw the state of charge in many members."""
    numbers = fan_figure(result)
    ax = new_axes() if ax is None else ax
    mean_sky, times = numbers.mean_sky, numbers.mean_sky.times_utc
    shade_nights(ax, mean_sky)
    ax.fill_between(
        times,
        numbers.low_percent,
        numbers.high_percent,
        facecolor=SKY,
        alpha=0.55,
        edgecolor=BLUE,
        linewidth=0.6,
        label="8 in 10 lie between",
    )
    # Told apart by their strokes too, for a printer without colour.
    ax.plot(times, numbers.median_percent, color=BLUE, linewidth=2.0, label="median")
    ax.plot(
        times,
        numbers.worst_percent,
        color=BLACK,
        linewidth=1.0,
        linestyle=(0, (4, 1.5)),
        label=f"lowest passage (number {numbers.worst_member})",
    )
    draw_levels(ax, mean_sky)
    draw_runs(ax, mean_sky, when=", average weather")
    finish(ax, mean_sky)
    return ax
