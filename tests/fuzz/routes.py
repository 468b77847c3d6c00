"""A route drawn at random, short enough to be sailed thousands of times: route.csv or route.gpx."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fuzz.tables import Table

HEADS = ["waypoint", "position", "speed", "stop", "track", "motoring", "tack", "heel", "wind",
         "cabin_temp", "cloud"]  # fmt: skip


@dataclass
class Route:
    """Waypoints as numbers, and the table made of them."""

    places: list[tuple[float, float]]
    speed_kn: float
    days: float
    table: Table
    berthed: bool = False


def drawn_route(chance, *, engine: bool) -> Route:
    """Two to five waypoints, half a day to four days apart in all."""
    lat = chance.choice((chance.uniform(-65, 70), chance.uniform(-65, 70), chance.uniform(70, 88),
                         chance.uniform(-85, -60), 0.0))  # fmt: skip
    lon = chance.choice((chance.uniform(-180, 180), chance.uniform(-60, -10), 179.5, -179.5))
    days, speed = chance.uniform(0.5, 4.0), chance.uniform(2.5, 8.0)
    legs = chance.randint(1, 4)
    course = chance.uniform(0, 360)
    places, rows, stops_h = [(lat, lon)], [], 0.0
    for leg in range(legs):
        stop, hours = _stop(chance) if leg else ("", 0.0)
        stops_h += hours
        rows.append(_row(chance, leg, lat, lon, speed, stop=stop, engine=engine))
        nm = speed * 24.0 * days / legs
        course += chance.uniform(-40, 40)
        lat = max(-89.0, min(89.0, lat + nm * math.cos(math.radians(course)) / 60.0))
        lon += nm * math.sin(math.radians(course)) / 60.0 / max(0.05, math.cos(math.radians(lat)))
        lon = (lon + 180.0) % 360.0 - 180.0
        places.append((lat, lon))
    rows.append([f"W{legs}", position(chance, lat, lon), *[""] * (len(HEADS) - 2)])
    table = Table(list(HEADS), rows)
    if chance.often(0.3):
        table = table.without_empty_columns()
    berthed = any("berthed" in cell for row in rows for cell in row)
    return Route(places, speed, days + stops_h / 24.0, table, berthed)


def _stop(chance) -> tuple[str, float]:
    hours = chance.choice((0, 0, 6, 12, 30))
    if not hours:
        return "", 0.0
    lies = chance.choice(("", " at anchor", " berthed", " hove-to", " drifting"))
    return f"{hours} h{lies}", float(hours)


def _row(chance, leg, lat, lon, speed, *, stop, engine) -> list[str]:
    motoring = ("", "", "2 h at start", "1 h at start; 1 h at end", "60 % of calms", "none")
    cells = {
        "waypoint": chance.choice((f"W{leg}", f"Hafnarfjörður {leg}", f"off the cape, {leg}")),
        "position": position(chance, lat, lon),
        "speed": chance.spelled(speed, "kn", 2),
        "stop": stop,
        "track": chance.choice(("", "", "great circle", "rhumb")),
        "motoring": chance.choice(motoring) if engine else "",
        "tack": chance.choice(("", "port", "starboard", "both")),
        "heel": chance.choice(("", "", "12 deg", "25 deg")),
        "wind": chance.choice(("", "", "", "15 kn", "0 kn", "30 kn")),
        "cabin_temp": chance.choice(("", "", "", "18 degC", "28 °C", "2 degC", "41 degF")),
        "cloud": chance.choice(("", "", "", "0 oktas", "6/8", "8 oktas")),
    }
    return [cells[head] for head in HEADS]


def position(chance, lat: float, lon: float) -> str:
    """A position in one of the ways that a chart, a log or a plotter writes it."""
    if chance.often(0.3):
        return f"{lat:.4f}, {lon:.4f}"
    lat_min, lon_min = round(abs(lat) * 600), round(abs(lon) * 600)
    ns, ew = "NS"[lat < 0], "EW"[lon < 0]
    arcs = (*divmod(lat_min, 600), *divmod(lon_min, 600))
    a, b, c, d = arcs[0], arcs[1] / 10, arcs[2], arcs[3] / 10
    if chance.often(0.5):
        return f"{a:02d} {b:04.1f} {ns} {c:03d} {d:04.1f} {ew}"
    return f"{a:02d}°{b:04.1f}'{ns} {c:03d}°{d:04.1f}'{ew}"


def as_gpx(route: Route, chance) -> str:
    """The same waypoints as a plotter writes them, without speeds and stops."""
    kind, point = chance.choice((("rte", "rtept"), ("trk", "trkpt"), ("", "wpt")))
    points = "\n".join(
        f'<{point} lat="{lat:.5f}" lon="{lon:.5f}"><name>P{number} &amp; on</name></{point}>'
        for number, (lat, lon) in enumerate(route.places)
    )
    if kind == "trk":
        points = f"<trkseg>{points}</trkseg>"
    inner = f"<{kind}>{points}</{kind}>" if kind else points
    head = '<gpx version="1.1" creator="invented" xmlns="http://www.topografix.com/GPX/1/1">'
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{head}\n{inner}\n</gpx>\n'
