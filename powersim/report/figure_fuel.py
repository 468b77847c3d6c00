"""The picture of the diesel: litres left hour by hour, against the reserve, in every weather."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from powersim.physics.tank import strip
from powersim.records.units_aboard import aboard
from powersim.report import rounding
from powersim.report.axes import entitle, new_axes, ship_dates_along
from powersim.report.direct_labels import SideLabel, label_beside
from powersim.report.names import entitled
from powersim.report.palette import DIESEL, GRID, INK, RESERVE, SOFT
from powersim.simulation.bands import BAND, quantiles

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from powersim.records import Fuel
    from powersim.simulation.result import SimulationResult

_ROOM = 1.05  # above the highest line
#: Names stand so far off the axes, and so far where the stick's marks are between. [points]
_BESIDE, _BESIDE_STICK = 6.0, 66.0
#: Marks of the stick beside the litres, about so many.
_MOST_MARKS = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class FuelFigure:
    """The numbers of the picture.

    Attributes
    ----------
    times_utc : tuple of datetime
        The ends of the hours, departure first.
    usable_L, reserve_L : float
        What can be burnt at departure, the reserve included, and the reserve. [L]
    left_L : tuple of float
        What can still be burnt: the median, or in average weather where that is all there is. [L]
    low_L, high_L : tuple of float
        Left with 1 in 10 members below, and 1 in 10 above; empty without members. [L]
    risk_L : tuple of float
        Left with as many members below as the risk allows; empty without members. [L]
    risk_frac : float
        That risk. [-]
    stick : tuple of (float, float)
        Marks of the dip stick and what can then be burnt; empty without a tank whose shape is
        known. [cm], [L]
    cans : bool
        Whether there is fuel in cans too, which the stick shows once they are emptied into the
        tank.
    title : str
        Whose fuel it is.
    fuel : str
        What the engine burns.
    """

    times_utc: tuple[datetime, ...]
    usable_L: float
    reserve_L: float
    left_L: tuple[float, ...]
    low_L: tuple[float, ...]
    high_L: tuple[float, ...]
    risk_L: tuple[float, ...]
    risk_frac: float
    stick: tuple[tuple[float, float], ...]
    cans: bool
    title: str
    fuel: str


def fuel_figure(result: SimulationResult) -> FuelFigure:
    """The numbers of the picture of a passage; ValueError if the boat carries no fuel."""
    passage, hourly, ensemble = result.passage, result.hourly, result.ensemble
    fuel, risk_frac = passage.boat.fuel, result.risk_frac
    if fuel is None:
        raise ValueError("a boat without an engine has no fuel to draw")
    starts = [time.to_pydatetime() for time in hourly.index]

    def line(left_L):
        return (fuel.usable_L, *left_L.tolist())

    if ensemble is None:
        left, others, how = line(hourly["fuel_left_L"]), ((), (), ()), "in average weather"
    else:
        low, middle, high, risk = map(
            line, quantiles(ensemble.hour_fuel_left_L, (*BAND, risk_frac))
        )
        left, others, how = middle, (low, high, risk), f"{ensemble.members} simulated passages"
    word = passage.boat.fuel_word
    return FuelFigure(
        times_utc=(starts[0], *(start + timedelta(hours=1) for start in starts)),
        usable_L=fuel.usable_L,
        reserve_L=fuel.reserve_L,
        left_L=left,
        low_L=others[0],
        high_L=others[1],
        risk_L=others[2],
        risk_frac=risk_frac,
        stick=_stick(fuel),
        cans=fuel.jerrycans_L > 0.0,
        title=entitled(passage, f"{passage.name}: {word} that can be burnt, {how}"),
        fuel=word,
    )


def _stick(fuel: Fuel) -> tuple[tuple[float, float], ...]:
    """Even marks of the stick, from the pick-up to a full tank."""
    if fuel.shape is None:
        return ()
    top_cm = 100.0 * fuel.shape.top_m
    step_m = rounding.stick_marks(fuel.shape.top_m, _MOST_MARKS)
    below_L = fuel.tank_L * fuel.unusable_frac
    marks = strip(fuel.shape, step_m=step_m)
    return tuple(
        (cm, litres - below_L)
        for cm, litres in ((round(100.0 * depth_m, 6), litres) for depth_m, litres in marks)
        if litres >= below_L and cm <= top_cm + 1e-6
    )


def plot_fuel(result: SimulationResult, ax: Axes | None = None) -> Axes:
    """Draw the fuel that is left, and the reserve below it; ValueError without fuel."""
    numbers = fuel_figure(result)
    ax = new_axes() if ax is None else ax
    labels = [*_draw_left(ax, numbers), *_draw_levels(ax, numbers)]
    unit = aboard().volume
    highest = unit.of(max(numbers.usable_L, numbers.reserve_L, 1.0))
    ax.set_ylim(-0.03 * highest, _ROOM * highest)
    ax.set_ylabel(f"{numbers.fuel} that can be burnt [{unit.symbol}]")
    ax.set_xlim(numbers.times_utc[0], numbers.times_utc[-1])
    ship_dates_along(ax, result)
    ax.set_xlabel("ship's date")
    ax.grid(axis="y", color=GRID.light, linewidth=0.6)
    ax.set_axisbelow(True)
    label_beside(ax, labels, off=_draw_stick(ax, numbers))
    entitle(ax, numbers.title)
    return ax


def _aboard(litres) -> list[float]:
    """Volumes in the unit aboard."""
    return [aboard().volume.of(one) for one in litres]


def _draw_left(ax, numbers) -> list[SideLabel]:
    """What is left: a band, its median and its edge at the risk, each with its name."""
    times = numbers.times_utc
    ax.plot(times, _aboard(numbers.left_L), color=DIESEL.mark, linewidth=2.2, label="left")
    if not numbers.risk_L:
        words = f"left {rounding.litres(numbers.left_L[-1])}"
        return [SideLabel(y=_aboard(numbers.left_L)[-1], words=words, color=DIESEL.word, bold=True)]
    ax.fill_between(
        times, _aboard(numbers.low_L), _aboard(numbers.high_L),
        facecolor=DIESEL.mark, alpha=0.3, linewidth=0.0, label="8 in 10 lie between",
    )  # fmt: skip
    ax.plot(
        times,
        _aboard(numbers.risk_L),
        color=DIESEL.mark,
        linewidth=1.4,
        dashes=(2.0, 1.5),
        label="at risk",
    )
    your_risk = rounding.percent(numbers.risk_frac)
    low_L, high_L, risk_L, left_L = (
        line[-1] for line in (numbers.low_L, numbers.high_L, numbers.risk_L, numbers.left_L)
    )
    return [
        SideLabel(y=aboard().volume.of(y), words=words, color=DIESEL.word, bold=bold)
        for y, words, bold in (
            (high_L, f"1 in 10 above {rounding.litres(high_L)}", False),
            (left_L, f"median {rounding.litres(left_L)}", True),
            (low_L, f"1 in 10 below {rounding.litres(low_L)}", False),
            (risk_L, f"{your_risk} below {rounding.litres(risk_L)}: your risk", False),
        )
    ]


def _draw_levels(ax, numbers) -> list[SideLabel]:
    reserve = aboard().volume.of(numbers.reserve_L)
    ax.axhline(reserve, linewidth=1.6, **RESERVE.line)
    ax.axhline(0.0, color=INK.light, linewidth=1.2, dashes=(2.0, 2.0))
    return [
        SideLabel(
            y=reserve,
            words=f"reserve {rounding.litres(numbers.reserve_L)}",
            color=RESERVE.word,
            bold=True,
        ),
        SideLabel(y=0.0, words="none left"),
    ]


def _draw_stick(ax, numbers) -> float:
    """Marks of the dip stick along the right side; how far names stand off them. [points]"""
    if not numbers.stick:
        return _BESIDE
    side = ax.secondary_yaxis("right")
    words = [rounding.depth(cm / 100.0) for cm, _ in numbers.stick]
    words[0] += "\non the stick"
    side.set_yticks(_aboard([litres for _, litres in numbers.stick]), words)
    side.tick_params(labelsize=9.0, colors=SOFT.light)
    return _BESIDE_STICK
