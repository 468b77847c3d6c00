"""Small passages put together in tests: what is not named is as in the hand-worked passage.

Its sums are in tests/reference/test_hand_worked_passage.py: two days from 30 N northwards, 54 Ah a
day, no panels, three hours of motoring for 6 L. The run is from 60.25 % to 71.5 % here: 22.5 Ah at
18 A are 1 h 15 min from 11:15 on, for 25 Ah and 1 L.
"""

from dataclasses import replace
from datetime import UTC, datetime

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

BY_NIGHT = Window(kind="clock", spans_h=((18.0, 6.0),))
LOADS = (
    Load(name="instruments", draw_A=1.0),
    Load(name="pilot", draw_A=4.0, on_frac=0.25),
    Load(name="lights", draw_A=0.5, window=BY_NIGHT),
)
WAYPOINTS = (
    Waypoint(name="A", lat_deg=30.0, lon_deg=-40.0, speed_kn=5.0, motoring_start_h=3.0),
    Waypoint(name="B", lat_deg=34.1, lon_deg=-40.0),
)


def bank_of(chemistry="lifepo4", **changes):
    """A 200 Ah bank that loses nothing."""
    given = {
        "capacity_Ah": 200.0,
        "health_frac": 1.0,
        "self_discharge_frac_per_month": 0.0,
        "standby_A": 0.0,
        "charge_efficiency_frac": 1.0,
    }
    return battery_of(chemistry, **given | changes)


def boat_of(**changes):
    """A boat with an engine and without panels."""
    engine = Engine(
        rated_kW=10.0, charging_L_per_h=0.8, charging_burn_loaded=True, motoring_L_per_h=2.0
    )
    given = {
        "name": "hand-worked",
        "battery": bank_of(),
        "alternator": Alternator(charging_A=20.0, motoring_A=0.0),
        "engine": engine,
        "fuel": Fuel(tank_L=40.0, jerrycans_L=20.0, aboard_L=60.0, reserve_L=20.0),
        "charging": ChargingRule(
            start_soc=0.6025, stop_soc=0.715, read_at_h=(), hours_h=(8.0, 20.0)
        ),
    }
    return Boat(**given | changes)


def passage_of(**changes):
    """Two days at sea."""
    given = {
        "name": "two days",
        "depart_utc": datetime(2026, 5, 1, tzinfo=UTC),
        "ship_offset_h": 0.0,
        "waypoints": WAYPOINTS,
        "boat": boat_of(),
        "loads": LOADS,
    }
    return Passage(**given | changes)


def without_engine(**changes):
    """The same boat with neither engine nor alternator nor fuel."""
    return boat_of(alternator=None, engine=None, fuel=None, **changes)


def with_panels(power_W=100.0, **changes):
    """The same boat with a panel on an arch."""
    panels = (panel_of("arch", power_W=power_W),)
    return boat_of(panels=panels, controllers=(Controller(),), **changes)


def waypoints_of(*, days, **first_leg):
    """Straight south from 50 N at 5 knots for about so many days."""
    start, end = WAYPOINTS
    given = {"lat_deg": 50.0, "motoring_start_h": 0.0} | first_leg
    return (replace(start, **given), replace(end, lat_deg=50.0 - 2.0 * days))
