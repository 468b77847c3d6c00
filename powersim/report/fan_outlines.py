"""The lines and areas of the fan as outlines, in hours after departure and fine steps."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from powersim.report import svg_paths
from powersim.report.figure_charge import TOP_PERCENT
from powersim.report.figure_fan import FanFigure

#: Steps in one per cent of charge or chance, and in an hour of the engine.
FINE = 20


def fan_outlines(figure: FanFigure, files: FanFigure | None) -> dict:
    """Every outline by its name; empty where there is nothing to draw.

    Parameters
    ----------
    figure : FanFigure
        What is answered.
    files : FanFigure or None
        What lies quietly behind it. Of a passage that takes longer, as much as there is room for.
    """
    charge, count = figure.charge, len(figure.charge.times_utc)
    low, median, high, edge = (
        _steps(values)
        for values in (
            figure.low_percent, figure.median_percent, figure.high_percent, figure.edge_percent
        )
    )  # fmt: skip
    chance = _chance(figure, count)
    floor, first = round(FINE * charge.floor_percent), min(charge.counted_from, count - 1)
    lost = [min(each, floor) for each in edge[first:]]
    broken = min(lost) < floor
    found = {
        "band": svg_paths.between(low, high),
        "median": svg_paths.line(median),
        "edge": svg_paths.line(edge),
        "floor": f"M{first} {floor}H{count - 1}",
        "below": svg_paths.between(lost, [floor] * len(lost), start=first) if broken else "",
        "chance": chance,
        "chance-area": f"{chance}V0H0z",
        **_engine(figure),
    }
    if files is not None:
        found["quiet-median"] = svg_paths.line(_steps(files.median_percent[:count]))
        found["quiet-edge"] = svg_paths.line(_steps(files.edge_percent[:count]))
    return found


def hours_after(figure: FanFigure, when_utc: datetime) -> float:
    """Hours after departure, without needless zeros.

    Parameters
    ----------
    figure : FanFigure
        With the departure.
    when_utc : datetime
        Time zone aware.
    """
    hours = (when_utc - figure.charge.times_utc[0]).total_seconds() / 3600.0
    return int(hours) if hours == int(hours) else round(hours, 2)


def _steps(values: Iterable[float]) -> list[int]:
    return [round(FINE * value) for value in values]


def _chance(figure: FanFigure, count: int) -> str:
    return svg_paths.stairs(_steps(100.0 * frac for frac in figure.fails_frac[:count]))


def chance_up_to(figure: FanFigure, count: int, *, top_percent: float) -> str:
    """The chance of having failed by then, up to where it leaves the frame: it only ever rises.

    Parameters
    ----------
    figure : FanFigure
        With the chance.
    count : int
        Of how many hours, at most.
    top_percent : float
        Where the frame ends. [%]
    """
    percents = [100.0 * frac for frac in figure.fails_frac[:count]]
    within = [percent for percent in percents if percent <= top_percent]
    line = svg_paths.stairs(_steps(within))
    if len(within) == len(percents):
        return line
    return f"{line}H{len(within)}V{round(FINE * top_percent)}"


def nights(figure: FanFigure, *, low_percent: float) -> str:
    """Sunset to sunrise as one outline, from the bottom of the frame to its top.

    Parameters
    ----------
    figure : FanFigure
        With the nights.
    low_percent : float
        Where the frame begins. [%]
    """
    low, top = round(FINE * low_percent), round(FINE * TOP_PERCENT)
    return svg_paths.bars(
        [
            (hours_after(figure, night.start_utc), hours_after(figure, night.end_utc), low, top)
            for night in figure.charge.nights
        ]
    )


def _engine(figure: FanFigure) -> dict:
    """Charging as an outline, motoring as bars: a hatch that was stretched would be no hatch."""
    charging, motoring = [], []
    for day in figure.charge.days:
        left, right = (hours_after(figure, when) for when in (day.start_utc, day.end_utc))
        low, high = round(FINE * day.charging_h), round(FINE * (day.charging_h + day.motoring_h))
        charging.append((left, right, 0, low))
        motoring.append((left, right, low, high))
    return {"charging": svg_paths.bars(charging), "motoring": motoring}
