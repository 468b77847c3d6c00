"""The picture of the charge in words: what it says moment by moment, and as a whole."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from typing import TYPE_CHECKING

from powersim.report import rounding, when_where
from powersim.report.figure_charge import ChargeFigure, ShipDay, charge_figure
from powersim.report.figure_fan import FanFigure, fan_figure

if TYPE_CHECKING:
    from powersim.simulation.result import SimulationResult

#: Moments that are told, at most, and hours between them.
_MOST_MOMENTS = 160
_HOURS_APART = (1, 2, 3, 6, 12, 24)


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """What the picture says at a moment.

    Attributes
    ----------
    when_utc : datetime
        Time zone aware.
    words : str
        Ship's time, latitude, and what is drawn there.
    """

    when_utc: datetime
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ChargeWords:
    """The picture in words.

    Attributes
    ----------
    title, description : str
        What it is, and what it says, with its numbers.
    moments : tuple of Moment
        In order, at even hours of the ship's day.
    worst : int
        Which of them is nearest to the lowest charge.
    """

    title: str
    description: str
    moments: tuple[Moment, ...]
    worst: int


def charge_words(result: SimulationResult) -> ChargeWords:
    """The picture of the charge of a simulated passage, in words."""
    if result.ensemble is None:
        alone = charge_figure(result)
        places = _places(alone)
        return ChargeWords(
            title="State of charge in average weather alone, hour by hour",
            description=_alone_as_a_whole(alone),
            moments=tuple(_moment(alone, at, _alone_at(alone, at)) for at in places),
            worst=_nearest(places, _lowest(alone.soc_percent, first=alone.counted_from)),
        )
    return fan_words(fan_figure(result))


def fan_words(fan: FanFigure) -> ChargeWords:
    """The picture of many passages, in words.

    Parameters
    ----------
    fan : FanFigure
        Its numbers.
    """
    places, share_told = _places(fan.charge), cache(fan.share_told)
    return ChargeWords(
        title=f"State of charge in {fan.members} simulated passages, hour by hour",
        description=_fan_as_a_whole(fan),
        moments=tuple(_moment(fan.charge, at, _fan_at(fan, at, share_told)) for at in places),
        worst=_nearest(places, _lowest(fan.edge_percent, first=fan.charge.counted_from)),
    )


def _places(charge: ChargeFigure) -> list[int]:
    """Places among the picture's times: at even hours of the ship's day, and at both ends."""
    hours = len(charge.times_utc) - 1
    every = next((each for each in _HOURS_APART if hours / each < _MOST_MOMENTS), None)
    every = every or 24 * -(-hours // (24 * _MOST_MOMENTS))
    begin = charge.times_utc[0] + timedelta(hours=charge.ship_offset_h[0])
    # Of days that are told one by one, each by its morning.
    places, before = [0], 0
    for place, offset_h in enumerate(charge.ship_offset_h):
        ahead_h = offset_h - charge.ship_offset_h[0]
        clock_h = int(begin.hour + begin.minute / 60.0 + place + ahead_h)
        if clock_h % every == (_MORNING if every >= 12 else 0) and place - before > every // 2:
            places.append(place)
            before = place
    return places if places[-1] == hours else [*places, hours]


#: Before dawn, when the charge is about its lowest of the day. [h]
_MORNING = 6


def _nearest(places: list[int], place: int) -> int:
    return min(range(len(places)), key=lambda at: abs(places[at] - place))


def _lowest(percents: Sequence[float], *, first: int = 0) -> int:
    """Where it is lowest, from the first that counts on."""
    places = range(min(first, len(percents) - 1), len(percents))
    return min(places, key=percents.__getitem__)


def _moment(charge: ChargeFigure, at: int, told: str) -> Moment:
    """Ship's time and latitude stand first."""
    when = when_where.ship_time(charge.times_utc[at], ship_offset_h=charge.ship_offset_h[at])
    return Moment(
        when_utc=charge.times_utc[at],
        words=f"{when}, {when_where.latitude(charge.lat_deg[at])}: {told}.",
    )


def _alone_at(alone: ChargeFigure, at: int) -> str:
    charge = _by_floor(alone.soc_percent[at], alone)
    return f"{charge} in average weather{_engine(alone, at, average='')}"


def _fan_at(fan: FanFigure, at: int, share_told: Callable[[float], str]) -> str:
    low, high = f"{fan.low_percent[at]:.0f}", f"{fan.high_percent[at]:.0f}"
    band = f"8 in 10 between {low} and {high} %" if low != high else f"8 in 10 at {low} %"
    failed = round(fan.fails_frac[at] * fan.members)
    return (
        f"median {fan.median_percent[at]:.0f} %, {band}, {fan.stay_above} above "
        f"{_by_floor(fan.edge_percent[at], fan.charge)}. {_capital(fan.causes)}, by then: "
        f"{failed or 'none'} of {fan.members} ({share_told(fan.fails_frac[at])})"
        f"{_engine(fan.charge, at, average=' on average')}"
    )


def _by_floor(percent: float, charge: ChargeFigure) -> str:
    """A charge, with a decimal where whole per cents hide on which side of the floor it is."""
    return rounding.apart(percent / 100.0, charge.floor_percent / 100.0)


def _engine(charge: ChargeFigure, at: int, *, average: str) -> str:
    """What the engine does on the ship's day of a moment."""
    if not charge.has_engine:
        return ""
    when = charge.times_utc[at]
    day = next(each for each in charge.days if when < each.end_utc or each is charge.days[-1])
    return f". Engine that day{average}: {_hours(day)}"


def _hours(day: ShipDay) -> str:
    told = [
        f"{name} {hours:.1f} h"
        for name, hours in (("charging", day.charging_h), ("motoring", day.motoring_h))
        if hours >= 0.05
    ]
    return ", ".join(told) or "none"


def _percent(frac: float) -> str:
    return f"{100.0 * frac:.3g} %"


def _at(charge: ChargeFigure, place: int) -> str:
    return when_where.ship_time(charge.times_utc[place], ship_offset_h=charge.ship_offset_h[place])


def _alone_as_a_whole(alone: ChargeFigure) -> str:
    lowest = _lowest(alone.soc_percent)
    return " ".join(
        [
            f"One curve, in average weather alone: from {alone.soc_percent[0]:.0f} % at departure "
            f"to {alone.soc_percent[-1]:.0f} % at landfall, lowest "
            f"{_by_floor(alone.soc_percent[lowest], alone)} on {_at(alone, lowest)}.",
            _levels(alone),
            *_engine_as_a_whole(alone, average=""),
            "Nights are shaded. The time is ship's time.",
        ]
    )


def _fan_as_a_whole(fan: FanFigure) -> str:
    """Shape first, then the verdict's own figures."""
    charge, low = fan.charge, _lowest(fan.low_percent)
    edge = _lowest(fan.edge_percent, first=charge.counted_from)
    middle = _lowest(fan.median_percent)
    return " ".join(
        [
            f"The median goes from {fan.median_percent[0]:.0f} % at departure to "
            f"{fan.median_percent[-1]:.0f} % at landfall, lowest "
            f"{fan.median_percent[middle]:.0f} % on {_at(charge, middle)}.",
            f"The band that 8 in 10 lie in reaches down to {fan.low_percent[low]:.0f} % on "
            f"{_at(charge, low)}.",
            f"{_capital(fan.stay_above)} stay above a line that is lowest at "
            f"{_by_floor(fan.edge_percent[edge], charge)} on {_at(charge, edge)}.",
            _levels(charge),
            *_by_then(fan),
            *_engine_as_a_whole(charge, average=" on average"),
            "Nights are shaded. The time is ship's time.",
        ]
    )


def _levels(charge: ChargeFigure) -> str:
    counts = ""
    if charge.counted_from:
        last = len(charge.times_utc) - 1
        counts = f" and counts from {_at(charge, min(charge.counted_from, last))} on"
    floor, flat = f"{charge.floor_percent:.0f} %", f"{charge.flat_percent:.0f} %"
    return f"The floor is {floor}{counts}; flat is {flat}."


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _by_then(fan: FanFigure) -> Iterator[str]:
    """The strip below."""
    limit, charge = _percent(fan.risk_frac), fan.charge
    if not fan.failed:
        yield f"Below, {fan.causes}, by then: none of {fan.members}; the limit is {limit}."
        return
    half = next(at for at, frac in enumerate(fan.fails_frac) if 2 * frac >= fan.fails_frac[-1])
    when = "half of these by" if fan.failed > 1 else "since"
    yield (
        f"Below, {fan.causes}, by then: {fan.failed} of {fan.members} at landfall "
        f"({fan.fails_told}), {when} {_at(charge, half)}; the limit is {limit}."
    )


def _engine_as_a_whole(charge: ChargeFigure, *, average: str) -> Iterator[str]:
    if not charge.has_engine:
        return
    charging_h = sum(day.charging_h for day in charge.days)
    motoring_h = sum(day.motoring_h for day in charge.days)
    yield (
        f"At the bottom, the engine's hours day by day{average}: in all, charging "
        f"{charging_h:.0f} h, motoring {motoring_h:.0f} h."
    )
