"""A log.csv drawn at random for the first part of a passage."""

from __future__ import annotations

from datetime import datetime, timedelta

from fuzz.routes import position
from fuzz.tables import Table

HEADS = ["time", "position", "soc", "voltage", "resting_h", "current", "engine_h", "dip",
         "needle", "cans_left", "absorb_A", "fuel_added", "solar_Ah", "cloud", "note"]  # fmt: skip


def drawn_log(chance, *, route, depart: datetime, nominal_V: float, tank: str) -> tuple[Table, str]:
    """Entries every few hours, and the moment that is taken for now.

    `tank` is "shape" where the stick is read in centimetres, "litres" where it is read in litres,
    and empty without an engine.
    """
    until_h = 24.0 * route.days * chance.choice((0.3, 0.6, 0.9, 1.0))
    every_h = max(chance.choice((3.0, 6.0, 12.0)), until_h / 16.0)
    engine_h, solar_Ah, soc = chance.uniform(0, 5000), chance.uniform(0, 900), 1.0
    rows, at_h = [], chance.uniform(0.1, 2.0)
    while at_h <= until_h:
        share = min(1.0, at_h / (24.0 * route.days))
        ran_h = chance.choice((0.0, 0.0, 1.5)) if tank else 0.0
        engine_h += min(ran_h, every_h)
        solar_Ah += chance.uniform(0, 8)
        soc = max(0.3, min(1.0, soc - chance.uniform(-0.05, 0.08)))
        rows.append(
            _row(chance, _along(route, share), depart + timedelta(hours=at_h), soc, nominal_V, tank,
                 engine_h=engine_h, solar_Ah=solar_Ah)
        )  # fmt: skip
        at_h += every_h * chance.uniform(0.7, 1.3)
    table = Table(list(HEADS), rows)
    if rows and chance.often(0.4):
        table = table.without_empty_columns()
    now = depart + timedelta(hours=at_h + 1.0)
    return table, f"{now:%Y-%m-%d %H:%M}"


def _along(route, share) -> tuple[float, float]:
    """A place near the route; its legs are taken as equally long."""
    legs = len(route.places) - 1
    leg = min(legs - 1, int(share * legs))
    part = share * legs - leg
    (lat, lon), (lat_to, lon_to) = route.places[leg], route.places[leg + 1]
    east = (lon_to - lon + 180.0) % 360.0 - 180.0
    return lat + part * (lat_to - lat), (lon + part * east + 180.0) % 360.0 - 180.0


def _row(chance, place, when, soc, nominal_V, tank, *, engine_h, solar_Ah) -> list[str]:
    scale = nominal_V / 12.0
    rested = chance.often(0.4)
    volts = (11.9 + 0.8 * soc + chance.uniform(-0.1, 0.1)) * scale
    dip = {"": "", "litres": chance.measure(10, 25, "L"), "shape": chance.measure(8, 16, "cm")}
    cells = {
        "time": f"{when:%Y-%m-%d %H:%M}",
        "position": position(chance, *place) if chance.often(0.7) else "",
        "soc": f"{100 * soc:.0f} %" if chance.often(0.3) else "",
        "voltage": f"{volts:.2f} V" if chance.often(0.7) else "",
        "resting_h": "3 h" if rested else "",
        "current": chance.choice(("", "", "-0.2 A" if rested else "-3 A", "12 A")),
        "engine_h": f"{engine_h:.1f}" if tank and chance.often(0.7) else "",
        "dip": dip[tank] if chance.often(0.4) else "",
        "needle": chance.choice(("", "", "", "1/4", "E")) if tank else "",
        "cans_left": chance.choice(("", "", "20 L")) if tank else "",
        "absorb_A": chance.choice(("", "", "", "4 A")) if tank else "",
        "fuel_added": chance.choice(("", "", "", "0 L")) if tank else "",
        "solar_Ah": f"{solar_Ah:.0f}" if chance.often(0.4) else "",
        "cloud": chance.choice(("", "6/8", "2 oktas")),
        "note": chance.choice(("", "grey, wet", "let go")),
    }
    if not cells["voltage"]:
        cells["resting_h"] = cells["current"] = ""
    return [cells[head] for head in HEADS]
