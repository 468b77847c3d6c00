"""What `endurance --json` prints: everything in the table, as strict JSON."""

from __future__ import annotations

import math
from dataclasses import asdict
from datetime import timedelta

from powersim.report.endurance_text import ship_offset_h
from powersim.simulation.bands import band

_PACES = ("mean", "hungriest", "no_sun")
_DARK = ("dark_frac", "no_sun_dark_frac")


def endurance_dict(found, result) -> dict:
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
        Null where landfall, or the end of the time held after it, comes first; where weathers were
        tried, a band (p10, p50, p90) stands in place of each number that differs between them.
    """
    start_utc = result.passage.depart_utc + timedelta(hours=found.from_h)
    in_weathers = found.seed is not None
    tried = {"weathers": {"tried": len(found.soc), "seed": found.seed}} if in_weathers else {}
    worst = {} if found.worst is None else {"worst_moment": asdict(found.worst)}
    dropping = found.dropping
    return {
        "passage": result.passage.name,
        "from_utc": start_utc.isoformat(),
        "ship_offset_h": ship_offset_h(found, result),
        **worst,
        **tried,
        "soc": _one(found.soc),
        "floor_soc": result.passage.boat.battery.floor_soc,
        "too_cold_h": result.summary["cold"]["too_cold_h"],
        "days_to_landfall": found.days_to_landfall,
        "held_days": found.held_days,
        "lines": [_told(line) for line in found.lines],
        "notes": list(found.notes),
        "dropping": dropping
        and {"beside": dropping.beside, "gains": [_told(one) for one in dropping.gains]},
        "fuel": [_course(one) for one in found.fuel],
    }


def _course(course) -> dict:
    days = {f"{pace}_days": _one(course.days_of(pace)) for pace in _PACES}
    # Of weathers the share, for nothing lies between dark and not dark.
    dark = {name: _share(getattr(course, name)) for name in _DARK}
    return _told(course) | days | dark


def _share(value) -> float:
    return value if isinstance(value, float) else float(value.mean())


def _told(record) -> dict:
    return {name: _one(value) for name, value in asdict(record).items()}


def _one(value):
    """A number, a band over members, or null for never; words as they are."""
    if isinstance(value, str | bool):
        return value
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    return band(value)
