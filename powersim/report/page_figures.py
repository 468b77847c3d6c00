"""The report's pictures: each as a piece of the page, with words for those who cannot see it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from powersim.report import rounding, when_where
from powersim.report.figures import PLOTS, names_for
from powersim.report.inline_svg import Strip, inline_svg
from powersim.report.ledger import ledger_sum
from powersim.report.verdict_view import verdict_view

if TYPE_CHECKING:
    from powersim.simulation.result import SimulationResult

#: Strips of the charge's picture that tell what is under the pointer, at most.
_MOST_STRIPS = 240


def figures_of(result: SimulationResult, summary: dict) -> dict:
    """The pictures of the page: the charge in one, in many members where they were tried."""
    told, strips, names = _told(result, summary), _strips(result), names_for(result)
    return {
        name: inline_svg(
            PLOTS[name](result),
            name=name,
            title=told[name][0],
            description=told[name][1],
            strips=strips if name in ("soc", "fan") else (),
        )
        for name in names
        if name != "soc" or "fan" not in names
    }


def _told(result, summary) -> dict[str, tuple[str, str]]:
    """Title and description of each picture."""
    lowest = dict(verdict_view(summary).figures)["lowest"]
    loads = summary["loads"][:5]
    largest = ", ".join(f"{load['load']} {rounding.ah(load['Ah_per_day'])}" for load in loads)
    passage, kind = summary["passage"], summary["average"]["fuel"]["kind"]
    fuel = kind or "fuel"
    turned = "engine, " if kind else ""
    below = ", engine runs below" if kind else ""
    charge = f"Nights shaded{below}. Lowest: {lowest}."
    return {
        "soc": ("State of charge hour by hour", charge),
        "fan": ("State of charge in many simulated passages", charge),
        "energy": (
            "Charge in and out, day by day",
            f"Stacked upward: sun, {turned}other chargers, surplus. Downward: the largest loads, "
            "all others, losses. In average weather; the tables have the numbers.",
        ),
        "fuel": (
            f"{fuel.capitalize()} that is left",
            f"Litres that can be burnt, hour by hour, and the reserve. In average weather: "
            f"{ledger_sum(summary)}.",
        ),
        "budget": ("What each load takes a day", f"The largest: {largest or 'none'}."),
        "map": (
            "The route on a map",
            f"From {passage['from']} to {passage['to']}, {rounding.miles(passage['distance_nm'])}. "
            f"The track is the wider the fuller the bank. Lowest: {lowest}.",
        ),
    }


def _strips(result) -> list[Strip]:
    """What the charge's picture tells when pointed at."""
    from matplotlib.dates import date2num

    hourly = result.hourly
    every = max(1, -(-len(hourly) // _MOST_STRIPS))
    strips = []
    for hour in hourly.iloc[::every].itertuples():
        when = when_where.moment(hour.Index, ship_offset_h=hour.ship_offset_h)
        start = date2num(hour.Index)
        strips.append(
            Strip(
                start=start,
                end=start + every / 24.0,
                words=f"{when}: {rounding.soc(hour.soc)}, {rounding.volts(hour.bank_V)}, "
                f"{when_where.position(hour.lat_deg, hour.lon_deg)}",
            )
        )
    return strips
