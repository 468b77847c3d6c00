"""The report's pictures: each as a piece of the page, with words for those who cannot see it."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from powersim.records.units_aboard import aboard
from powersim.report import rounding
from powersim.report.charge_look import NARROW, WIDE
from powersim.report.charge_words import ChargeWords, charge_words
from powersim.report.figures import PLOTS, names_for, plot_soc
from powersim.report.inline_svg import inline_svg
from powersim.report.ledger import ledger_sum
from powersim.report.phone_look import LOOKS as PHONE_LOOKS
from powersim.report.phone_look import plot_for_phone
from powersim.report.read_out import Strip, read_out
from powersim.report.verdict_view import verdict_view

if TYPE_CHECKING:
    from markupsafe import Markup

    from powersim.simulation.result import SimulationResult

#: The charge for a screen or paper, and for a phone: prefix in the style sheet, and the look.
_LOOKS = {"": WIDE, "narrow-": NARROW}


def figures_of(result: SimulationResult, summary: dict) -> dict:
    """The pictures of the page by their names."""
    told = _told(result, summary)
    drawn = {name: _drawn(result, name, *told[name]) for name in names_for(result) if name != "soc"}
    return {"soc": _charge(result)} | drawn


def _drawn(result, name, title, description) -> Markup:
    """A picture, and where it has one its look for a phone: the style sheet shows one of them."""
    from markupsafe import Markup

    words = {"title": title, "description": description}
    wide = PLOTS[name](result)
    if name not in PHONE_LOOKS:
        return inline_svg(wide, name=name, **words)
    return Markup("\n").join(
        (
            inline_svg(wide, name=name, kind="broad-look", **words),
            inline_svg(
                plot_for_phone(result, name), name=f"narrow-{name}", kind="narrow-look", **words
            ),
        )
    )


def _charge(result) -> Markup:
    """The charge in two widths, of which the style sheet shows one, and what is read on it."""
    from markupsafe import Markup

    told = charge_words(result)
    axes = {prefix: plot_soc(result, look=look) for prefix, look in _LOOKS.items()}
    svgs = [
        inline_svg(
            ax,
            name=f"{prefix}soc",
            title=told.title,
            description=told.description,
            kind=f"{prefix or 'broad-'}look",
        )
        for prefix, ax in axes.items()
    ]
    return read_out(
        Markup("\n").join(svgs),
        axes,
        _strips(told),
        name="soc",
        legend="The picture moment by moment",
        first=told.worst,
    )


def _strips(told: ChargeWords) -> list[Strip]:
    """Each moment's part of the width: half-way to its neighbours."""
    from matplotlib.dates import date2num

    at = [float(date2num(moment.when_utc)) for moment in told.moments]
    edges = [at[0], *((one + other) / 2.0 for one, other in pairwise(at)), at[-1]]
    return [
        Strip(start=start, end=end, words=moment.words)
        for start, end, moment in zip(edges, edges[1:], told.moments, strict=False)
    ]


def _told(result, summary) -> dict[str, tuple[str, str]]:
    """Title and description of each picture."""
    lowest = dict(verdict_view(summary).figures)["lowest"]
    loads = summary["loads"][:5]
    largest = ", ".join(f"{load['load']} {rounding.ah(load['Ah_per_day'])}" for load in loads)
    passage, kind = summary["passage"], summary["average"]["fuel"]["kind"]
    fuel = kind or "fuel"
    turned = "engine, " if kind else ""
    return {
        "energy": (
            "Charge in and out, day by day",
            f"Stacked upward: sun, {turned}other chargers, surplus. Downward: the largest loads, "
            "all others, losses. In average weather; the tables have the numbers.",
        ),
        "fuel": (
            f"{fuel.capitalize()} that is left",
            f"{aboard().volume.heading} that can be burnt, hour by hour, and the reserve. In "
            f"average weather: {ledger_sum(summary)}.",
        ),
        "budget": ("What each load takes a day", f"The largest: {largest or 'none'}."),
        "map": (
            "The route on a map",
            f"From {passage['from']} to {passage['to']}, {rounding.miles(passage['distance_nm'])}. "
            f"The track is the wider the fuller the bank. Lowest: {lowest}.",
        ),
    }
