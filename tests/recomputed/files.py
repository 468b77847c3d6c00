"""docs/reference/files.md: the demo's files, and the values that stand where they are silent."""

from __future__ import annotations

import csv
import re
import tomllib
from datetime import UTC, datetime
from types import SimpleNamespace

#: What files.md, battery.md and loads-and-fuel.md give where boat.toml says nothing; `powersim
#: check` prints the same. Flooded, 12 V, mounts flat, a plain alternator.
DEFAULT = SimpleNamespace(
    health=0.85,
    floor=0.50,
    self_discharge_per_month=0.05,
    charge_efficiency=0.88,
    absorption_V=14.4,
    float_V=13.5,
    temp_comp_V_per_C=-0.030,
    full_tail=0.02,
    controller_idle_A=0.015,
    controller_efficiency=0.95,
    salt=0.04,
    wiring=0.03,
    power_per_C=-0.004,
    alternator_V=14.2,
    cable_drop_V=0.2,
    read_at=("06:00", "18:00"),
    shortest_run="0.5 h",
    longest_run="4 h",
    heel_deg=10.0,
)


def boat_of(folder):
    """boat.toml as a dict; numbers still have their units."""
    return tomllib.loads((folder / "boat.toml").read_text(encoding="utf-8"))


def depart_s(boat):
    """Unix time of departure. [s]"""
    at = datetime.strptime(boat["passage"]["depart"], "%Y-%m-%d %H:%M").replace(tzinfo=UTC)
    return at.timestamp()


def number(cell, unit):
    """The number of a cell in this unit; None for an empty cell or another unit."""
    value, _, rest = cell.partition(" ")
    return float(value) if rest == unit else None


def hours_of(cell):
    """A length of time: '2 h', '90 min'. [h]"""
    minutes = number(cell, "min")
    return number(cell, "h") if minutes is None else minutes / 60.0


def percent(cell):
    """A share of 1."""
    return number(cell, "%") / 100.0


def clock_h(text):
    """'08:30' as hours."""
    hours, minutes = text.split(":")
    return int(hours) + int(minutes) / 60.0


def spans_h(cell):
    """'06:00-09:00; 17:00-22:00' as pairs of hours."""
    return [tuple(map(clock_h, span.strip().split("-"))) for span in cell.split(";")]


def waypoints_of(folder):
    """route.csv: place, and what holds for the leg that begins there."""
    return [_waypoint(row) for row in _rows(folder / "route.csv")]


def _waypoint(row):
    lat, south, lon, west = re.fullmatch(
        r"(\d+ [\d.]+) ([NS]) (\d+ [\d.]+) ([EW])", row["position"]
    ).groups()
    motored, stop = row["motoring"], row["stop"]
    return SimpleNamespace(
        lat_deg=_degrees(lat) * (-1.0 if south == "S" else 1.0),
        lon_deg=_degrees(lon) * (-1.0 if west == "W" else 1.0),
        speed_kn=number(row["speed"], "kn"),
        start_h=_found(r"([\d.]+) h at start", motored),
        end_h=_found(r"([\d.]+) h at end", motored),
        of_calms=_found(r"([\d.]+) % of calms", motored) / 100.0,
        stop_h=24.0 * _found(r"([\d.]+) day", stop),
        stop_state="berthed" if "berthed" in stop else "anchored",
        heel_deg=number(row["heel"], "deg") if row["heel"] else DEFAULT.heel_deg,
        tack={"port": -1, "starboard": 1, "": 0}[row["tack"]],
    )


def _found(pattern, cell):
    """The number in a part of a cell; 0 where the cell has no such part."""
    match = re.search(pattern, cell)
    return float(match[1]) if match else 0.0


def _degrees(text):
    degrees, minutes = text.split()
    return int(degrees) + float(minutes) / 60.0


def loads_of(folder):
    """loads.csv: draws at the load itself, how long it is on, and when."""
    return [_load(row) for row in _rows(folder / "loads.csv")]


def _load(row):
    on = row["on"].removesuffix("/day")
    minutes, hours = number(on, "min"), number(on, "h")
    return SimpleNamespace(
        name=row["load"],
        draw_A=number(row["draw"], "A") or 0.0,
        draw_W=number(row["draw"], "W") or 0.0,
        standby_A=number(row["standby"], "A") or 0.0,
        standby_W=number(row["standby"], "W") or 0.0,
        count=int(row["count"]),
        states=row["when"].split(";"),
        window=row["window"],
        share=percent(on) if on.endswith("%") else None,
        day_h=_sessions_h(row) if row["often"] else hours if minutes is None else minutes / 60.0,
        beside=row["with"].split("; ") if row["with"] else [],
        heater=row["temp"] == "heater",
        fuel_L_per_h=number(row["fuel"], "L/h") or 0.0,
        supply=None if row["supply"] == "dc" else row["supply"],
    )


def _sessions_h(row):
    """Hours in a day of what is said as often, each and failed."""
    per_day = _found(r"^(\d+) ", row["often"])
    size_kB, rate_kB_per_s = (
        _found(r"of (\d+) kB", row["often"]),
        _found(r"([.\d]+) kB/s", row["each"]),
    )
    try_h = _found(r"(\d+) min", row["each"]) / 60.0
    if rate_kB_per_s:
        try_h += size_kB / rate_kB_per_s / 3600.0
    return per_day * try_h / (1.0 - percent(row["failed"] or "0 %"))


def _rows(path):
    lines = path.read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))
