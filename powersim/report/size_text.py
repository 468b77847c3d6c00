"""What `size` prints: the boat as she is, the cheapest adequate choices, and the next best."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from powersim.report import rounding
from powersim.report.cold_text import cold_told
from powersim.report.rounding import percent
from powersim.report.size_rules import rules_text
from powersim.report.text import bullets, join, paragraph, table, title
from powersim.simulation.cold import cold_along

if TYPE_CHECKING:
    from powersim.planning.size_front import Sized
    from powersim.planning.size_point import Study

#: Rows of each table; size.csv has all.
MOST_MARKED, _MOST_NEAREST = 12, 5
_HEADS = (
    "",
    "bank",
    "solar",
    "alter-\nnator",
    "weight",
    "below\nfloor",
    "fails",
    "engine\nhours",
    "fuel",
    "without\nengine",
)
_ALIGNS = "rl" + "r" * 8
KEY = (
    "below floor: share of the simulated passages in which the charge falls below its floor",
    "fails: below the floor, all dark, or into the reserve of fuel",
    "engine hours: run to charge, mean; fuel: all that is burnt, motoring included, mean",
    "without engine: days until the floor if the engine never runs, sooner in 1 in 10; "
    "never: landfall comes first",
    "weight: bank, panels and alternator; what is usual where boat.toml gives none",
)
_CARE = (
    "A larger bank or alternator, and lithium above all, needs other fuses, cables and belts: "
    "high-current wiring is for qualified people, and local codes come first. Lithium needs its "
    "protection system, an alternator protected from overload, and no charge below {}. A "
    "forecast is no promise."
)


def care() -> str:
    """What to mind with another bank or alternator."""
    return _CARE.format(rounding.celsius(0.0))


def size_text(
    sized: Sized, study: Study, *, stays: Sequence[str] = (), written: str = "", brief: bool = False
) -> str:
    """The answer for a reader.

    Parameters
    ----------
    sized : Sized
        All choices, judged.
    study : Study
        What they were tried on.
    stays : sequence of str
        Settings of boat.toml that stay with another chemistry.
    written : str
        Where the files are.
    brief : bool
        The verdict and the marked choices alone.

    Returns
    -------
    str
        At most 80 columns wide.
    """
    now = _table([("", sized.own)])
    marked = _marked(sized)
    nearest = _nearest(sized)
    if brief:
        best = marked or nearest
        return join(_verdict(sized, study), best, rules_text(sized, sized.rules))
    return join(
        _verdict(sized, study),
        f"{title('The boat as she is')}\n{now}",
        marked,
        _saved(sized),
        rules_text(sized, sized.rules),
        nearest,
        bullets(KEY),
        bullets(_notes(sized, study, stays)),
        paragraph(care()),
        paragraph(written),
    )


def _verdict(sized, study) -> str:
    tried = rounding.plural(len(sized.points), "choice")
    risk = rounding.number(100.0 * sized.risk_frac, decimals=0 if _whole(sized.risk_frac) else 1)
    count = len(sized.adequate)
    found = "None is" if not count else f"{count} is" if count == 1 else f"{count} are"
    each = f"{tried}, each" if len(sized.points) > 1 else tried
    return paragraph(
        f"{study.passage.name}: {each} in the same {study.members} simulated passages. "
        f"{found} adequate: failing in no more than {risk} % of them."
    )


def _whole(frac) -> bool:
    return round(100.0 * frac) == round(100.0 * frac, 6)


def _marked(sized) -> str:
    if not sized.front:
        return ""
    rows = [(str(place), one.point) for place, one in enumerate(sized.front, 1)][:MOST_MARKED]
    more = len(sized.front) - len(rows)
    return join(
        f"{title('Cheapest adequate choices')}\n{_table(rows)}",
        paragraph(
            "Cheapest in weight, as no prices are known here: no other adequate choice is lighter "
            "than one of these without charging longer"
            + (f"; {more} more are in size.csv." if more else ".")
        ),
    )


def _nearest(sized) -> str:
    rest = _others(sized)
    if not rest:
        return ""
    heading = "The next best" if sized.front else "The nearest"
    return f"{title(heading)}\n{_table([('', point) for point in rest])}"


def _others(sized) -> list:
    """The best of the choices that are not marked."""
    return [point for point in sized.nearest if point is not sized.own][:_MOST_NEAREST]


def _saved(sized) -> str:
    """What each step along the marked choices brings for its weight."""
    if not sized.front:
        return ""
    own = sized.own
    rows = [
        (
            str(place),
            rounding.signed(one.added_kg, unit="kg"),
            rounding.signed(one.point.charging_h - own.charging_h, decimals=1, unit="h"),
            rounding.more_litres(one.point.fuel_L - own.fuel_L),
            "–" if one.saved_h_per_kg is None else f"{one.saved_h_per_kg:.2f} h",
        )
        for place, one in enumerate(sized.front[:MOST_MARKED], 1)
    ]
    heads = ("", "weight", "engine\nhours", "fuel", "hours saved for each\nkg over the lightest")
    return f"{title('Against the boat as she is')}\n{table(rows, aligns='rrrrr', header=heads)}"


def _table(rows: Sequence) -> str:
    return table([(mark, *_cells(point)) for mark, point in rows], aligns=_ALIGNS, header=_HEADS)


def _cells(point) -> tuple[str, ...]:
    choice = point.choice
    return (
        _bank(choice),
        _watts(choice.solar_W) + ("*" if point.clips else ""),
        _amps(choice.alternator_A),
        f"{rounding.number(point.weight_kg)} kg",
        percent(point.floor_frac),
        percent(point.fails_frac),
        rounding.hours(point.charging_h),
        rounding.litres(point.fuel_L),
        _days(point.floor_days_p10),
    )


def _bank(choice) -> str:
    return f"{choice.chemistry} {choice.battery_Ah:.4g} Ah"


def _watts(watts) -> str:
    return f"{watts:.4g} W"


def _amps(amps) -> str:
    return f"{amps:.4g} A"


def _days(days) -> str:
    return "never" if days is None else rounding.bare_days(days)


def _notes(sized, study, stays) -> list[str]:
    """What to mind with these numbers."""
    boat = study.passage.boat
    cold = [
        f"{name}: {cold.text}; {cold.advice}"
        for name, one in study.boats.items()
        for cold in cold_told(cold_along(replace(study.passage, boat=one)), mean_air=True)
    ]
    shown = [one.point for one in sized.front] + list(sized.nearest) + [sized.own]
    notes = [*_dark(sized), *cold, _how_sure(sized, study)]
    if any(point.clips for point in shown):
        notes.append(
            "*: these panels can give more than the solar controller is rated for; what is beyond "
            "is lost, and counted as lost here"
        )
    if stays:
        notes.append(f"kept with every chemistry, as boat.toml says: {'; '.join(stays)}")
    if boat.engine is not None and boat.engine.charging_burn_loaded:
        alternators = {point.choice.alternator_A for point in sized.points}
        if len(alternators) > 1:
            notes.append(
                "charging_burn was measured with the alternator that she has; another one is "
                "counted as burning the same by the hour, which flatters a larger one"
            )
    return notes


def _dark(sized) -> list[str]:
    """Which of the choices shown let all go dark, which their row does not say."""
    shown = [sized.own, *(one.point for one in sized.front[:MOST_MARKED]), *_others(sized)]
    fracs = {
        f"{_bank(one.choice)}, {_watts(one.choice.solar_W)}, {_amps(one.choice.alternator_A)} "
        f"in {percent(one.flat_frac)}": None
        for one in shown
        if one.flat_frac
    }
    return [f"all goes dark in some of the passages: {'; '.join(fracs)}"] if fracs else []


def _how_sure(sized, study) -> str:
    """What the number of members leaves open, told of the choice that matters most."""
    point = sized.front[0].point if sized.front else sized.nearest[0]
    which = "choice 1" if sized.front else "the nearest"
    between = rounding.span(point.fails_least_frac, point.fails_most_frac, percent)
    return (
        f"{which} fails in {percent(point.fails_frac)} of {study.members} simulated passages; with "
        f"ever more passages, {between} would fail (19 times in 20). The best of many was "
        "also lucky: try what you mean to buy in other weather, with simulate and another --seed"
    )
