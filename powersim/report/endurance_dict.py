"""What `endurance --json` prints: everything that was found, as strict JSON."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from powersim.report.changed_told import changed_dicts
from powersim.report.comms_view import sessions_dict
from powersim.report.endurance_losses import losses_dicts, spares_dicts
from powersim.report.endurance_moments import ship_offset_h
from powersim.report.plain import plain

if TYPE_CHECKING:
    from powersim.planning.endurance_table import EnduranceTable
    from powersim.simulation.result import SimulationResult

_PACES = ("mean", "hungriest", "no_sun")
_DARK = ("dark_frac", "no_sun_dark_frac")


def endurance_dict(found: EnduranceTable, result: SimulationResult) -> dict:
    """The endurance table for a program.

    Parameters
    ----------
    found : EnduranceTable
        Of planning.endurance.
    result : Result
        Of the simulation that it starts from.

    Returns
    -------
    dict
        Null where landfall, or the end of the time held after it, comes first; where members were
        tried, a band (p10, p50, p90) stands in place of each number that differs between them.
    """
    start_utc = result.passage.depart_utc + timedelta(hours=found.from_h)
    worst = found.worst or (found.beside and found.beside.worst)
    drawn = {} if found.seed is None else {"members": found.passages, "seed": found.seed}
    return {
        "passage": result.passage.name,
        "changed": changed_dicts(result.passage),
        "from_utc": start_utc.isoformat(),
        "ship_offset_h": ship_offset_h(found, result),
        **({} if worst is None else {"worst_moment": plain(worst)}),
        **({"ensemble": drawn} if drawn else {}),
        "soc": plain(found.soc),
        "floor_soc": result.passage.boat.battery.floor_soc,
        "too_cold_h": result.summary["cold"]["too_cold_h"],
        **plain(
            {
                name: getattr(found, name)
                for name in ("days_to_landfall", "held_days", "lines", "notes")
            }
        ),
        **_beside(found, result),
        "dropping": _dropping(found.dropping),
        "sessions": sessions_dict(found.sessions),
        "devices": result.summary.get("devices"),
        "loads_lost": losses_dicts(result.passage, found.dropping),
        "spares": spares_dicts(found, result.passage),
        "fuel": [_course(one) for one in found.fuel],
    }


def _beside(found, result) -> dict:
    """The lines from the other moment, the worst or departure."""
    beside = found.beside
    if beside is None:
        return {}
    moment_utc = result.passage.depart_utc + timedelta(hours=beside.from_h)
    told = {
        "moment": "departure" if beside.worst is None else "worst",
        "from_utc": moment_utc.isoformat(),
        "ship_offset_h": ship_offset_h(beside, result),
        **plain({name: getattr(beside, name) for name in ("soc", "days_to_landfall", "lines")}),
    }
    return {"beside": told}


def _dropping(dropping) -> dict | None:
    if dropping is None:
        return None
    order = [gain.load for gain in dropping.switch_off]
    return plain(dropping) | {"passages": dropping.passages, "switch_off": order}


def _course(course) -> dict:
    days = {f"{pace}_days": plain(course.days_of(pace)) for pace in _PACES}
    # Of passages the share, for nothing lies between dark and not dark.
    dark = {name: _share(getattr(course, name)) for name in _DARK}
    return plain(course) | days | dark


def _share(value) -> float:
    return value if isinstance(value, float) else float(value.mean())
