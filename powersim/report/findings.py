"""What `check` answers: how the files were understood, what was assumed, what to beware of."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Any

from powersim.records import Caution, Passage
from powersim.report import rounding, when_where
from powersim.report.names import between
from powersim.report.plain import plain
from powersim.report.reading_told import reading_told
from powersim.report.text import bullets, join, key_values, paragraph, table, title

if TYPE_CHECKING:
    from powersim.errors import Problem


def findings_text(
    passage: Passage, cautions: Sequence[Caution], standing: Sequence[str], *, brief: bool = False
) -> str:
    """The findings for a reader.

    Parameters
    ----------
    passage : Passage
        As its files were understood.
    cautions : sequence of Caution
        What is allowed in the files but not wise.
    standing : sequence of str
        What every such boat should know.
    brief : bool
        The verdict and the cautions alone.

    Returns
    -------
    str
        At most 80 columns wide.
    """
    warned = join(title("Warnings"), bullets(f"{c.text}; {c.advice}" for c in cautions))
    if brief:
        return join(_verdict(passage, cautions), warned if cautions else "")
    return join(
        _verdict(passage, cautions),
        key_values(understood(passage)),
        _assumed(passage.assumptions),
        warned if cautions else "",
        join(title("Care"), bullets(standing)),
    )


def findings_dict(
    passage: Passage, cautions: Sequence[Caution], standing: Sequence[str]
) -> dict[str, Any]:
    """The same for a program.

    Parameters
    ----------
    passage, cautions, standing
        As in `findings_text`.

    Returns
    -------
    dict
        Of texts, lists and dicts only.
    """
    return {
        "passage": passage.name,
        "depart_utc": passage.depart_utc.isoformat(),
        "understood": dict(understood(passage)),
        "assumptions": [
            {"place": a.place, "value": a.value, "reason": a.reason} for a in passage.assumptions
        ],
        "warnings": plain(list(cautions)),
        "care": list(standing),
    }


def problems_dict(problems: Iterable[Problem]) -> dict:
    """Mistakes in the files for a program.

    Parameters
    ----------
    problems : iterable of Problem
        As an InputError holds them.

    Returns
    -------
    dict
        With one key, "problems".
    """
    return {"problems": plain(list(problems))}


def understood(passage: Passage) -> list[tuple[str, str]]:
    """How the files were understood, as (what, in words), in the order of boat.toml.

    What the boat does not have says "none", but for other chargers, and all that goes with an
    engine on a boat without one.
    """
    boat = passage.boat
    return [
        ("boat", boat.name),
        ("bank", _bank(boat.battery)),
        *([("reading", read)] if (read := reading_told(boat)) else []),
        ("panels", _panels(boat.panels)),
        *([("chargers", _chargers(boat.chargers))] if boat.chargers else []),
        *_engine_room(boat),
        *([("bad weather", heavy)] if (heavy := _heavy_weather(boat.heavy_weather)) else []),
        ("loads", _loads(passage.loads)),
        ("route", _route(passage.waypoints)),
        ("departure", f"{when_where.date(passage.depart_utc)}, {passage.depart_utc:%H:%M} UTC"),
    ]


def _verdict(passage, cautions) -> str:
    warned = f", {rounding.plural(len(cautions), 'warning')}" if cautions else ""
    return paragraph(f"No mistakes in {passage.name}{warned}.")


def _assumed(assumptions) -> str:
    if not assumptions:
        return ""
    files = groupby(assumptions, key=lambda assumption: assumption.place.partition(" ")[0])
    tables = [
        table(
            [(a.place.partition(" ")[2] or a.place, a.value, a.reason) for a in group],
            aligns="lll",
            header=(file, "value", "reason"),
        )
        for file, group in files
    ]
    return join(title("Assumed, because the files do not say"), *tables)


def _bank(battery) -> str:
    return (
        f"{rounding.ah(battery.capacity_Ah)} {battery.chemistry} at {battery.nominal_V:.0f} V, "
        f"counted as {rounding.ah(battery.real_capacity_Ah)}; "
        f"{rounding.soc(battery.soc_at_departure)} at departure, "
        f"floor {rounding.soc(battery.floor_soc)}, flat {rounding.soc(battery.flat_soc)}"
    )


def _panels(panels) -> str:
    return ", ".join(map(_panel, panels)) or "none"


def _panel(panel) -> str:
    place = panel.name if panel.name == panel.mount else f"{panel.name}, {panel.mount}"
    found = "" if panel.yield_frac == 1.0 else f", gives {rounding.soc(panel.yield_frac)}"
    return f"{panel.count} x {rounding.watts(panel.power_W)} ({place}{found})"


def _chargers(chargers) -> str:
    return "; ".join(map(_charger, chargers))


def _charger(charger) -> str:
    name = charger.name if charger.name == charger.kind else f"{charger.name}, {charger.kind}"
    if charger.in_amperes:
        most = rounding.amps(charger.most)
    else:
        most = f"up to {rounding.watts(charger.most)}"
    return f"{name}, {most} {charger.where}".rstrip()


def _engine_room(boat) -> list[tuple[str, str]]:
    if boat.engine is None:
        return []
    return [
        ("alternator", _alternator(boat.alternator)),
        ("engine", _engine(boat.engine)),
        (boat.fuel_word, _fuel(boat.fuel)),
    ]


def _alternator(alternator) -> str:
    if alternator is None:
        return "none"
    return (
        f"{rounding.amps(alternator.charging_A)} charging, "
        f"{rounding.amps(alternator.motoring_A)} motoring, hot; {alternator.regulator} regulator"
    )


def _engine(engine) -> str:
    return (
        f"{engine.rated_kW:.4g} kW; {rounding.litres_per_hour(engine.charging_L_per_h)} charging, "
        f"{rounding.litres_per_hour(engine.motoring_L_per_h)} motoring"
    )


def _fuel(fuel) -> str:
    return (
        f"{rounding.litres(fuel.aboard_L)} aboard, {rounding.litres(fuel.unusable_L)} of it below "
        f"the pick-up, {rounding.litres(fuel.reserve_L)} kept in reserve"
    )


def _heavy_weather(heavy) -> str:
    """What is done above which wind; empty for nothing."""
    seas = (
        (heavy.rough_above_kn, f"pilot {rounding.soc(heavy.rough_pilot_frac)}"),
        (heavy.spray_above_kn, f"panels {rounding.soc(heavy.spray_yield_frac)}"),
        (heavy.no_engine_above_kn, "no engine"),
        (heavy.very_rough_above_kn, f"pilot {rounding.soc(heavy.very_rough_pilot_frac)}"),
        (heavy.lie_to_above_kn, f"{heavy.lie_to}, the track as route.csv has it"),
    )
    given = [(above_kn, said) for above_kn, said in seas if above_kn is not None]
    if not given:
        return ""
    in_order = sorted(given, key=lambda one: one[0])
    told = ", ".join(f"above {above_kn:.4g} kn {said}" for above_kn, said in in_order)
    return f"{told}; and for {heavy.sea_lasts_h:.4g} h after it"


def _loads(loads) -> str:
    protected = sum(load.protected for load in loads)
    return f"{len(loads)}, of which {protected} never switched off to save charge"


def _route(waypoints) -> str:
    ends = between(waypoints[0].name, waypoints[-1].name)
    places = len({(each.name, each.lat_deg, each.lon_deg) for each in waypoints})
    return f"{ends}, {'1 waypoint' if places == 1 else f'{len(waypoints)} waypoints'}"
