"""All pages together: from a folder to what happens hour by hour."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from recomputed import files
from recomputed.bank import KERNEL_STEP_h, simulate
from recomputed.loads import demand_of
from recomputed.panels import panel_W
from recomputed.sky import Climatology, STEP_h, sky_of

COLUMNS = ("soc", "bank_V", "solar_Ah", "alternator_Ah", "loads_Ah", "charging_h", "fuel_L")


def hourly(folder, *, climatology):
    """Some columns of hourly.csv, as docs/reference/results.md has them; diesel of all ledgers."""
    boat = files.boat_of(folder)
    track, sky = sky_of(
        files.waypoints_of(folder),
        Climatology(climatology),
        start_s=files.depart_s(boat),
    )
    solar_W = files.DEFAULT.controller_efficiency * sum(
        panel_W(panel["mount"], files.number(panel["power"], "W"), track=track, sky=sky)
        for panel in boat["panel"]
    )
    load_A, load_W, heater_L_per_h = demand_of(
        files.loads_of(folder), boat["supply"], track=track, sky=sky
    )

    def quarterly(values):
        return np.mean(np.reshape(values, (-1, round(KERNEL_STEP_h / STEP_h))), axis=1)

    # Ship's time as a quarter begins; the zone is that of its middle.
    begins_h = (sky.utc_s[::3] - 1800.0 * STEP_h) / 3600.0 + track.ship_offset_h[1::3]
    columns = zip(
        *map(quarterly, (solar_W, load_A, load_W, heater_L_per_h, sky.bank_C, track.motoring)),
        begins_h % 24.0,
        strict=True,
    )
    names = ("solar_W", "load_A", "load_W", "heater_L_per_h", "bank_C", "motoring", "ship_h")
    quarters = [SimpleNamespace(**dict(zip(names, row, strict=True))) for row in columns]
    steps = simulate(boat, quarters)

    def by_hour(name):
        values = np.reshape([getattr(one, name) for one in steps], (-1, round(1.0 / KERNEL_STEP_h)))
        if name == "soc":
            return values[:, -1]  # as the hour ends
        return values.mean(axis=1) if name == "bank_V" else values.sum(axis=1)

    return {name: by_hour(name) for name in COLUMNS}
