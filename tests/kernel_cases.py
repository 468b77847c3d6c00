"""Boats and passages that between them meet every branch of the kernel."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
from builders import LOADS, boat_of, passage_of

from powersim.records import (
    CHEMISTRIES,
    Controller,
    DailyRun,
    Device,
    Load,
    Shedding,
    ShorePower,
    Supply,
    WaterGenerator,
    Waypoint,
    WindGenerator,
)
from powersim.simulation.prepare import prepare

SOCS = np.array([0.22, 0.45, 0.62, 0.97])
DAYTIME = {"start_soc": 0.6, "stop_soc": 0.75}
TWO_CONTROLLERS = {
    "panel_W": (100.0, 80.0),
    "controllers": (
        Controller(name="a", absorption_V=14.6, float_V=13.8),
        Controller(name="b", kind="pwm", absorption_V=14.1, float_V=13.4),
    ),
}
ON_SUPPLY = (*LOADS, Load(name="kettle", draw_W=300.0, on_frac=0.05, supply="inverter"))
HEATER = Load(name="heater", draw_A=1.0, on_frac=0.5, temperature_rule="heater", fuel_L_per_h=0.2)
WIND = WindGenerator(speeds_m_s=(3.0, 6.0, 12.0), powers_W=(0.0, 30.0, 240.0))
WATER = WaterGenerator(speeds_kn=(2.0, 5.0, 8.0), powers_W=(0.0, 60.0, 150.0))
SHORE = ShorePower(rated_A=8.0)
A_DAY_ASHORE = (
    Waypoint(
        name="A", lat_deg=40.0, lon_deg=-30.0, speed_kn=5.0, stop_h=24.0, stop_state="berthed"
    ),
    Waypoint(name="B", lat_deg=38.0, lon_deg=-30.0),
)
JULY = datetime(2026, 7, 8, 9, tzinfo=UTC)
#: Where the month's mean air takes a bank in the cabin below freezing on the way.
INTO_THE_COLD = (
    Waypoint(name="A", lat_deg=-53.5, lon_deg=-20.0, speed_kn=5.0),
    Waypoint(name="B", lat_deg=-57.5, lon_deg=-20.0),
)

DEVICES = (
    Device(name="phone", battery_Wh=15.0, use_Wh_per_day=8.0, when_soc=0.6),
    Device(name="power bank", battery_Wh=40.0, use_Wh_per_day=60.0, charge_W=20.0, when_soc=0.6),
)

#: name -> (boat, passage, what must happen in it, in some member and not in all of its steps).
CASES = {
    **{chemistry: ({"chemistry": chemistry}, {}, "solar_A") for chemistry in CHEMISTRIES},
    **{
        f"{chemistry} pwm": (
            {"chemistry": chemistry, "controllers": (Controller(kind="pwm"),)},
            {},
            "solar_A",
        )
        for chemistry in CHEMISTRIES
    },
    "rated mppt": ({"controllers": (Controller(rated_A=2.0),)}, {}, "solar_A"),
    "rated pwm": ({"controllers": (Controller(kind="pwm", rated_A=2.0),)}, {}, "solar_A"),
    "24 volts": ({"battery": {"nominal_V": 24.0}}, {}, "solar_A"),
    "two controllers": (TWO_CONTROLLERS, {}, "solar_A"),
    "constant regulator": ({"charging": DAYTIME}, {}, "charging"),
    "multi-stage regulator": (
        {"charging": DAYTIME, "alternator": {"regulator": "multi-stage", "absorption_h": 0.5}},
        {},
        "charging",
    ),
    "shedding": (
        {"shedding": Shedding(comfort_below_soc=0.6, useful_below_soc=0.4)},
        {},
        "comfort_on",
    ),
    "devices": (
        {"devices": DEVICES},
        {},
        "pack_W",
    ),
    "shared start battery": (
        {"charging": DAYTIME, "engine": {"start_battery": "shared"}},
        {},
        "charging",
    ),
    "dark": ({"panel_W": (), "engine": None}, {"loads": LOADS * 3}, "dark"),
    "dark and charged": (
        {"charging": DAYTIME, "engine": {"charges_flat_bank": True}},
        {"loads": LOADS * 2},
        "dark",
    ),
    "full every day": ({"charging": DAYTIME | {"full_every_days": 1.0}}, {}, "for_full"),
    "motoring": ({}, {"leg": {"motoring_start_h": 5.0}}, "motoring"),
    "out of fuel": (
        {"fuel": {"aboard_L": 8.0, "reserve_L": 0.0}},
        {"leg": {"motoring_start_h": 9.0}},
        "fuel_short_L",
    ),
    "on a supply": (
        {"supplies": (Supply(name="inverter", idle_W=8.0),)},
        {"loads": ON_SUPPLY},
        "load_A",
    ),
    "bare": ({"panel_W": (), "engine": None}, {"loads": LOADS[:1]}, "dark"),
    "wind": ({"chargers": (WIND,)}, {}, "wind_A"),
    "all chargers": (
        TWO_CONTROLLERS | {"chargers": (SHORE, WATER, WIND), "charging": DAYTIME},
        {"waypoints": A_DAY_ASHORE},
        "shore_A",
    ),
    "no sun": ({"panel_W": (), "chargers": (SHORE, WATER)}, {"waypoints": A_DAY_ASHORE}, "water_A"),
    "timetable": (
        {
            "charging": DAYTIME
            | {"daily": (DailyRun(at_h=7.4, run_h=1.3), DailyRun(at_h=22.0, run_h=0.5))}
        },
        {},
        "charging",
    ),
    "cold lithium": (
        {"chemistry": "lifepo4", "charging": DAYTIME, "chargers": (WATER,)},
        {"depart_utc": JULY, "waypoints": INTO_THE_COLD},
        "in_A",
    ),
    "cold lead-acid": (
        {"charging": DAYTIME, "alternator": {"battery_sensing": True}},
        {"depart_utc": JULY, "waypoints": INTO_THE_COLD, "loads": (*LOADS, HEATER)},
        "heater_L",
    ),
    "heater out of fuel": (
        {"fuel": {"aboard_L": 5.0, "reserve_L": 0.0}},
        {"leg": {"cabin_C": 2.0}, "loads": (*LOADS, HEATER)},
        "fuel_short_L",
    ),
    "full and floating": (
        {"panel_W": (400.0,), "chargers": (WIND,), "battery": {"standby_A": 0.05}},
        {"loads": LOADS[:1]},
        "since_full_h",
    ),
}


def prepared_of(name, *, step_h=0.25):
    """A case's passage, made ready: two days of it where it says no more."""
    boat, passage, _ = CASES[name]
    return prepare(passage_of(boat=boat_of(**boat), **{"days": 2.0} | passage), step_h=step_h)
