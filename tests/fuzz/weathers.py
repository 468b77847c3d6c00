"""Weather files drawn at random: measured light as a table, forecasts as GRIB messages."""

from __future__ import annotations

import math
from datetime import datetime, timedelta

from fuzz.tables import Table


def drawn_light(chance, *, depart: datetime, days: float, lon_deg: float) -> Table:
    """Light by the hour or so, in UTC; the sun is highest where it should be."""
    step_min = chance.choice((10, 30, 60, 180))
    clear = chance.uniform(200, 1000)
    start = depart.replace(minute=0) - timedelta(hours=chance.choice((0, 5, 24)))
    unit, factor = chance.choice((("ghi_W_m2", 1.0), ("ghi_kW_m2", 0.001)))
    rows = []
    for step in range(int(24 * 60 * min(days + 1.5, 4.0) / step_min)):
        when = start + timedelta(minutes=step * step_min)
        solar_h = when.hour + when.minute / 60.0 + step_min / 120.0 + lon_deg / 15.0
        light = max(0.0, -math.cos(math.radians(15.0 * solar_h))) * clear * chance.uniform(0.4, 1)
        cell = "" if chance.often(0.03) else f"{light * factor:.4g}"
        rows.append([f"{when:%Y-%m-%d %H:%M}", cell, chance.number(-5, 30), chance.number(0, 15)])
    return Table(["time", unit, "air_C", "wind_m_s"], rows)


def drawn_grib(chance, *, depart: datetime, places) -> bytes | None:
    """Some hours of cloud, or of light, over the waters of the passage; None without ecCodes."""
    try:
        import eccodes  # noqa: F401
    except ImportError:
        return None
    from grib_made import CLOUD, message

    lats = [lat for lat, _ in places]
    lon = places[0][1]
    area = (min(89.0, max(lats) + 3), lon - 12, max(-89.0, min(lats) - 3), lon + 12)
    run = depart.replace(hour=0, minute=0)
    date = {"dataDate": int(f"{run:%Y%m%d}")}
    every_h = chance.choice((3, 6, 12))
    messages = []
    for hour in range(0, chance.choice((24, 48)) + 1, every_h):
        cloud = [[chance.uniform(0, 100) for _ in range(3)] for _ in range(3)]
        messages.append(message(cloud, numbers=CLOUD | date, area=area, window_h=hour))
    return b"".join(messages)
