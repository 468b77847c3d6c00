"""A trial.csv and a logger.csv drawn at random, to lie beside a log."""

from __future__ import annotations

import math
from datetime import datetime, timedelta

from fuzz.tables import Table


def drawn_trial(chance, *, loads: Table) -> Table:
    """Some loads switched one after the other, now and then with a fridge that starts by itself."""
    names = [row[0] for row in loads.rows] or ["lamp"]
    always_A, rows = chance.uniform(0.0, 1.0), [["", "", "", f"{chance.uniform(0, 1):.2f}", ""]]
    for name in chance.sample(names, min(len(names), chance.randint(1, 12))):
        draw_A = chance.choice((0.05, 0.5, 5.0, 30.0)) * chance.uniform(0.5, 2.0)
        always_A += chance.choice((0.0, 0.0, 0.0, 3.0, -3.0))
        idle = f"{always_A + 0.1 * draw_A:.2f} A" if chance.often(0.4) else ""
        off = f"{always_A:.2f} A" if chance.often(0.9) else ""
        volts = f"{chance.uniform(11.8, 13.2):.2f} V" if chance.often(0.7) else ""
        rows.append([name, idle, f"{always_A + draw_A:.2f}", off, volts])
    return Table(["load", "idle", "on", "off", "voltage"], rows)


def drawn_logger(chance, *, depart: datetime, lon_deg: float) -> Table:
    """Some days of volts and amperes in one of the forms that loggers write."""
    every_min, days = chance.choice((10, 20, 60)), chance.uniform(0.5, 4.0)
    draw_A, sun_A = chance.uniform(0.0, 8.0), chance.uniform(0.0, 20.0)
    sign = chance.choice((1.0, -1.0))
    form = chance.choice(("%Y-%m-%d %H:%M:%S", "%d/%m/%Y %H:%M", "%m/%d/%Y %H:%M"))
    heads = chance.choice(
        (["Timestamp", "Battery voltage (V)", "Battery current (A)"], ["time", "V", "I [mA]"])
    )
    milli = 1000.0 if "mA" in heads[2] else 1.0
    begin = depart - timedelta(days=chance.choice((0.0, 1.0)))
    rows = []
    for step in range(int(days * 1440.0 / every_min)):
        moment = begin + timedelta(minutes=step * every_min)
        noon_h = (moment.hour + moment.minute / 60.0 + lon_deg / 15.0) % 24.0 - 12.0
        net_A = sun_A * max(math.cos(noon_h * math.pi / 12.0), 0.0) - draw_A
        volts = 12.5 + 0.02 * net_A
        rows.append([moment.strftime(form), f"{volts:.2f}", f"{sign * milli * net_A:.2f}"])
    return Table(list(heads), rows)
