"""The charge in many passages: a fan, its edge at the risk, and the chance of failing by then."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from powersim.report import rounding
from powersim.report.axes import ship_dates_along
from powersim.report.charge_look import WIDE, Look, frames, head
from powersim.report.direct_labels import SideLabel
from powersim.report.figure_charge import (
    ChargeFigure,
    charge_figure,
    draw_engine,
    finish,
    levels,
    shade_nights,
)
from powersim.report.palette import CHARGE, FAILS, FLOOR, GRID
from powersim.report.text import held
from powersim.simulation.bands import quantiles
from powersim.simulation.edge import edge_soc, may_fail
from powersim.simulation.fails_by import first_fails, share_by

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from powersim.simulation.result import SimulationResult

#: The strip reaches to so many times its limit, or its last figure, and never less far. [-], [%]
_OVER_LIMIT, _OVER_LAST, _LEAST_PERCENT = 1.6, 1.15, 1.0


#: Of the strip of the engine's hours.
ENGINE_HEADING = "mean engine hours a day"


@dataclass(frozen=True, slots=True, kw_only=True)
class FanFigure:
    """The numbers of the picture.

    Attributes
    ----------
    charge : ChargeFigure
        Times, nights, levels and the title; the engine's hours are those of an average passage.
    low_percent, median_percent, high_percent : tuple of float
        State of charge at those times: 1 in 10 members below, half, 1 in 10 above. [%]
    edge_percent : tuple of float
        What all members stay above but for the share of them that may fail: those that fall lowest.
        Once the floor counts it crosses it where the charge alone fails the passage, and nowhere
        else. [%]
    fails_frac : tuple of float
        Share of the members that have broken floor or reserve, or gone dark, by those times. [-]
    risk_frac : float
        How large that may become. [-]
    members, failed, left_out : int
        How many there are, how many have failed at landfall, and how many the edge leaves out.
    """

    charge: ChargeFigure
    low_percent: tuple[float, ...]
    median_percent: tuple[float, ...]
    high_percent: tuple[float, ...]
    edge_percent: tuple[float, ...]
    fails_frac: tuple[float, ...]
    risk_frac: float
    members: int
    failed: int
    left_out: int

    @property
    def fails_told(self) -> str:
        """The share that has failed at landfall, as the verdict says it."""
        return self.share_told(self.fails_frac[-1])

    def share_told(self, frac: float) -> str:
        """A share that fails, with a decimal where it is next to the risk."""
        return rounding.apart(frac, self.risk_frac, form=rounding.percent)

    @property
    def last_told(self) -> str:
        """How many have failed at landfall, beside the strip of the chance."""
        return held(f"{self.failed} of {self.members}: {self.fails_told}")

    @property
    def limit_told(self) -> str:
        """How large the chance may become."""
        return f"limit {100.0 * self.risk_frac:g} %"

    @property
    def causes(self) -> str:
        """What fails a passage."""
        return causes(reserve=self.charge.has_engine)

    @property
    def stay_above(self) -> str:
        """How many members stay above the edge."""
        return stay_above(self.left_out, members=self.members)


def fan_figure(result: SimulationResult) -> FanFigure:
    """The numbers of the picture of a passage in many members.

    Parameters
    ----------
    result : SimulationResult
        Of a simulation in many members.
    """
    import numpy as np

    ensemble = result.ensemble
    assert ensemble is not None, "asked where there is one"
    charge = charge_figure(
        result,
        weather=f"{ensemble.members} simulated passages",
        charging_h=ensemble.hour_charging_frac.tolist(),
        motoring_h=ensemble.hour_motoring_frac.tolist(),
    )
    lines = (*quantiles(ensemble.hour_soc), edge_soc(ensemble, risk_frac=result.risk_frac))
    low, median, high, edge = ((charge.soc_percent[0], *(100.0 * line).tolist()) for line in lines)
    any_h = first_fails(ensemble, result.passage.boat.fuel).any_h
    return FanFigure(
        charge=charge,
        low_percent=low,
        median_percent=median,
        high_percent=high,
        edge_percent=edge,
        fails_frac=tuple(share_by(any_h, np.arange(len(charge.times_utc))).tolist()),
        risk_frac=result.risk_frac,
        members=ensemble.members,
        failed=int(np.isfinite(any_h).sum()),
        left_out=may_fail(ensemble.members, risk_frac=result.risk_frac),
    )


def causes(*, reserve: bool) -> str:
    """What fails a passage, of a boat with a reserve of fuel or without.

    Examples
    --------
    >>> causes(reserve=True), causes(reserve=False)
    ('floor or reserve broken, or dark', 'floor broken, or dark')
    """
    return f"floor{' or reserve' if reserve else ''} broken, or dark"


def stay_above(left_out: int, *, members: int) -> str:
    """How many members stay above the edge.

    Examples
    --------
    >>> stay_above(10, members=200), stay_above(6, members=200), stay_above(0, members=10)
    ('19 in 20', '194 of 200', 'all 10')
    """
    if left_out <= 0:
        return f"all {members}"
    if members % left_out == 0 and members > left_out:
        one_in = members // left_out
        return f"{one_in - 1} in {one_in}"
    return f"{members - left_out} of {members}"


def chance_top_percent(numbers: FanFigure) -> float:
    """How far the strip of the chance reaches: it is scaled to its limit. [%]"""
    limit, last = 100.0 * numbers.risk_frac, 100.0 * numbers.fails_frac[-1]
    return max(_OVER_LIMIT * limit, _OVER_LAST * last, _LEAST_PERCENT)


def plot_fan(result: SimulationResult, ax: Axes | None = None, *, look: Look = WIDE) -> Axes:
    """Draw the state of charge in many members, the chance of failing by then, and the engine."""
    numbers = fan_figure(result)
    charge, times = numbers.charge, numbers.charge.times_utc
    ax, risk, *engine = frames(ax, strips=1 + charge.has_engine, look=look)
    shade_nights(ax, charge)
    ax.fill_between(
        times, numbers.low_percent, numbers.high_percent,
        facecolor=CHARGE.mark, alpha=0.28, linewidth=0, gid="band",
    )  # fmt: skip
    first = charge.counted_from
    below = [min(edge, charge.floor_percent) for edge in numbers.edge_percent]
    ax.fill_between(
        times[first:], below[first:], charge.floor_percent,
        facecolor=FLOOR.mark, alpha=0.35, linewidth=0,
    )  # fmt: skip
    thin = 0.4 * look.line_points
    ax.plot(times, numbers.edge_percent, color=CHARGE.mark, linewidth=thin, gid="edge")
    ax.plot(
        times, numbers.median_percent, color=CHARGE.mark, linewidth=look.line_points, gid="median"
    )
    finish(ax, charge, lowest_percent=min(*numbers.edge_percent, charge.flat_percent), look=look)
    # From the lowest up, so that names keep their order where all lines end together.
    names = [
        SideLabel(
            y=numbers.edge_percent[-1], words=f"{numbers.stay_above} stay above", color=CHARGE.word
        ),
        SideLabel(y=numbers.median_percent[-1], words="median", color=CHARGE.word, bold=True),
        SideLabel(y=numbers.high_percent[-1], words="8 in 10 between", color=CHARGE.word),
    ]
    look.beside(ax, [*levels(ax, charge), *names])
    _draw_risk(risk, numbers, look=look)
    if engine:
        draw_engine(engine[0], charge.days, heading=ENGINE_HEADING, look=look)
    ship_dates_along((engine or [risk])[-1], result, most=look.most_dates)
    return ax


def _draw_risk(strip: Axes, numbers: FanFigure, *, look: Look) -> None:
    """The chance of having failed by then, against its limit, with its last figure at its end."""
    from matplotlib.ticker import FuncFormatter, MaxNLocator

    limit, last = 100.0 * numbers.risk_frac, 100.0 * numbers.fails_frac[-1]
    percents = [100.0 * frac for frac in numbers.fails_frac]
    strip.fill_between(
        numbers.charge.times_utc,
        percents,
        step="post",
        facecolor=FAILS.mark,
        alpha=0.25,
        linewidth=0,
    )
    strip.step(
        numbers.charge.times_utc,
        percents,
        where="post",
        color=FAILS.mark,
        linewidth=1.8,
        gid="chance",
    )
    strip.axhline(limit, color=FAILS.mark, linewidth=1.2, dashes=FAILS.dashes, gid="limit")
    strip.set_ylim(0.0, chance_top_percent(numbers))
    strip.yaxis.set_major_locator(MaxNLocator(nbins=2))
    strip.yaxis.set_major_formatter(FuncFormatter(lambda value, _=None: f"{value:g} %"))
    strip.grid(axis="y", color=GRID.light, linewidth=0.6)
    head(strip, f"{numbers.causes}, by then", look=look)
    look.beside(
        strip,
        [
            SideLabel(y=last, words=numbers.last_told, color=FAILS.word, bold=True),
            SideLabel(y=limit, words=numbers.limit_told, color=FAILS.word),
        ],
    )
