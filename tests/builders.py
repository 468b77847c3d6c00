"""Boats and short passages for tests: every record with a plain default that a test can replace."""

from __future__ import annotations

from datetime import UTC, datetime

import powersim
from powersim.records import (
    Alternator,
    Boat,
    ChargingRule,
    Controller,
    Engine,
    Fuel,
    Load,
    Passage,
    Waypoint,
    Window,
    battery_of,
    panel_of,
)

NM_PER_DEGREE = 60.0  # of latitude, to a third of a per cent


ONE_MPPT = Controller()


def engine_of(**given):
    """A diesel of 14 kW that burns 0.5 L/h at charging revs."""
    return Engine(**({"rated_kW": 14.0, "charging_L_per_h": 0.5, "motoring_L_per_h": 2.0} | given))


def boat_of(
    *,
    chemistry="flooded",
    capacity_Ah=220.0,
    battery=(),
    panel_W=(100.0,),
    controllers=(ONE_MPPT,),
    alternator=(),
    engine=(),
    fuel=(),
    charging=(),
    **given,
):
    """A small boat whose charge is always known.

    `battery`, `alternator`, `engine`, `fuel`, `charging` replace single fields.

    `panel_W` has one panel for each controller. `engine=None` is a boat without one.
    """
    if not panel_W:
        controllers = ()
    power = {"alternator": None, "engine": None, "fuel": None}
    if engine is not None:
        power = {
            "alternator": Alternator(
                **({"charging_A": 45.0, "motoring_A": 50.0} | dict(alternator))
            ),
            "engine": engine_of(**dict(engine)),
            "fuel": Fuel(
                **(
                    {"tank_L": 80.0, "jerrycans_L": 20.0, "aboard_L": 100.0, "reserve_L": 20.0}
                    | dict(fuel)
                )
            ),
        }
    return Boat(
        name="a boat for tests",
        battery=battery_of(chemistry, capacity_Ah=capacity_Ah, **dict(battery)),
        panels=tuple(
            panel_of(f"panel {place}", power_W=watts, controller=controller.name)
            for place, (watts, controller) in enumerate(zip(panel_W, controllers, strict=True))
        ),
        controllers=tuple(controllers),
        charging=ChargingRule(
            **({"start_soc": 0.55, "stop_soc": 0.8, "read_at_h": ()} | dict(charging))
        ),
        **power,
        **given,
    )


LOADS = (
    Load(name="instruments", draw_A=1.0, priority="essential"),
    Load(name="laptop", draw_W=30.0, on_frac=None, on_h_per_day=6.0, priority="comfort"),
    Load(name="lights", draw_A=0.5, window=Window(kind="night"), role="sailing lights"),
    Load(name="pilot", draw_A=2.0, on_frac=0.3, priority="useful"),
    Load(name="winch", draw_A=25.0, on_frac=None, on_h_per_day=0.1, priority="useful"),
)


def passage_of(
    *,
    boat=None,
    loads=LOADS,
    days=3.0,
    lat_deg=40.0,
    lon_deg=-30.0,
    depart_utc=datetime(2026, 9, 5, 9, tzinfo=UTC),
    leg=(),
    waypoints=None,
    ship_offset_h=None,
):
    """A passage due south at 5 kn for some days; `leg` replaces fields of the first waypoint."""
    if waypoints is None:
        lat_end_deg = lat_deg - 5.0 * 24.0 * days / NM_PER_DEGREE
        start = {"name": "A", "lat_deg": lat_deg, "lon_deg": lon_deg, "speed_kn": 5.0} | dict(leg)
        waypoints = (
            Waypoint(**start),
            Waypoint(name="B", lat_deg=lat_end_deg, lon_deg=lon_deg),
        )
    return Passage(
        name="a passage for tests",
        depart_utc=depart_utc,
        waypoints=tuple(waypoints),
        boat=boat or boat_of(),
        loads=tuple(loads),
        ship_offset_h=ship_offset_h,
    )


def calm_seas(**given):
    """A passage in which nothing but the loads happens: no sun, no engine, 25 degrees aboard."""
    boat = given.pop("boat", {})
    still = {"self_discharge_frac_per_month": 0.0, "standby_A": 0.0}
    boat = {"panel_W": (), "engine": None} | boat
    boat["battery"] = still | dict(boat.get("battery", {}))
    leg = {"cabin_C": 25.0} | dict(given.pop("leg", {}))
    return passage_of(boat=boat_of(**boat), leg=leg, **given)


def in_average(passage, **how):
    """A passage simulated in average weather alone, for tests that ask for no members."""
    return powersim.simulate(passage, members=1, **how)
