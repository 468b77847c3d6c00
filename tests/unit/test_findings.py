"""What `check` answers, on a boat put together here."""

import re
from dataclasses import replace
from datetime import UTC, datetime

from powersim.errors import Problem
from powersim.records import (
    Alternator,
    Assumption,
    Boat,
    Caution,
    ChargingRule,
    Controller,
    Engine,
    Fuel,
    HeavyWeather,
    Load,
    Passage,
    ShorePower,
    WaterGenerator,
    Waypoint,
    WindGenerator,
    battery_of,
    panel_of,
)
from powersim.report.findings import findings_dict, findings_text, problems_dict, understood


def passage(**changes):
    boat = {
        "name": "Sula",
        "battery": battery_of(chemistry="flooded", capacity_Ah=220.0),
        "panels": (
            panel_of("aft", power_W=100.0, count=2),
            panel_of("rail", power_W=50.0, mount="rail"),
        ),
        "controllers": (Controller(),),
        "alternator": Alternator(charging_A=27.0, motoring_A=33.75),
        "engine": Engine(rated_kW=14.0, charging_L_per_h=0.75, motoring_L_per_h=2.1),
        "fuel": Fuel(tank_L=85.0, jerrycans_L=60.0, aboard_L=145.0, reserve_L=29.0),
        "charging": ChargingRule(start_soc=0.6, stop_soc=0.85),
    }
    return Passage(
        name="south",
        depart_utc=datetime(2026, 9, 5, 9, 0, tzinfo=UTC),
        waypoints=(
            Waypoint(name="Reykjavik", lat_deg=64.1, lon_deg=-22.0, speed_kn=4.5),
            Waypoint(name="Horta", lat_deg=38.5, lon_deg=-28.6),
        ),
        boat=Boat(**boat | changes),
        loads=(Load(name="pilot", draw_W=36.0), Load(name="VHF", draw_A=0.4, role="vhf")),
        assumptions=(
            Assumption(
                place="boat.toml battery.health",
                value="85 %",
                reason="a lead-acid bank of unknown age never gives its label; common practice, "
                "no source",
            ),
            Assumption(place="loads.csv count", value="1", reason="one of each"),
            Assumption(place="loads.csv supply", value="dc", reason="straight from the bank"),
        ),
    )


CAUTIONS = [Caution(text="no fuel is held in reserve", advice="set fuel.reserve")]
STANDING = ["Put a fuse at the battery's own terminal, sized for the cable."]


def test_everything_in_full():
    assert (
        # How sure a reading is moves with what is measured of banks: test_reading_told.py.
        re.sub(r"\b\d+(?= points;|\npanels)", "N", findings_text(passage(), CAUTIONS, STANDING))
        == """\
No mistakes in south, 1 warning.

boat        Sula
bank        220 Ah flooded at 12 V, counted as 187 Ah; 100 % at departure, floor
            50 %, flat 20 %
reading     by voltmeter: one time in three a charge read so is off by more than
            N points; two points of your own volts ('rested') make that N
panels      2 x 100 W (aft, arch), 1 x 50 W (rail)
alternator  27.0 A charging, 33.8 A motoring, hot; constant regulator
engine      14 kW; 0.75 L/h charging, 2.10 L/h motoring
diesel      145 L aboard, 4.2 L of it below the pick-up, 29.0 L kept in reserve
loads       2, of which 1 never switched off to save charge
route       Reykjavik to Horta, 2 waypoints
departure   Sat 5 Sep 2026, 09:00 UTC

Assumed, because the files do not say
-------------------------------------

boat.toml       value  reason
--------------  -----  ---------------------------------------------------------
battery.health  85 %   a lead-acid bank of unknown age never gives its label;
                       common practice, no source

loads.csv  value  reason
---------  -----  ----------------------
count      1      one of each
supply     dc     straight from the bank

Warnings
--------

- no fuel is held in reserve; set fuel.reserve

Care
----

- Put a fuse at the battery's own terminal, sized for the cable."""
    )


def test_a_panel_that_was_found_to_give_less_says_so():
    found = panel_of("aft", power_W=100.0, count=2, yield_frac=0.917)
    text = findings_text(passage(panels=(found,)), CAUTIONS, STANDING)
    assert "panels      2 x 100 W (aft, arch, gives 92 %)\n" in text


def test_in_brief_the_verdict_and_the_warnings():
    assert findings_text(passage(), CAUTIONS, STANDING, brief=True) == (
        "No mistakes in south, 1 warning.\n"
        "\n"
        "Warnings\n"
        "--------\n"
        "\n"
        "- no fuel is held in reserve; set fuel.reserve"
    )
    assert findings_text(passage(), [], STANDING, brief=True) == "No mistakes in south."


def test_a_boat_with_next_to_nothing():
    bare = passage(panels=(), controllers=(), alternator=None, engine=None, fuel=None)
    text = findings_text(bare, [], STANDING)
    assert "\npanels     none\n" in text
    for nothing in ("alternator", "engine", "diesel", "fuel"):
        assert nothing not in text


def test_other_chargers_are_named_with_the_most_that_they_give():
    boat = passage(
        chargers=(
            WindGenerator(name="windmill", speeds_m_s=(3.0, 9.0, 12.0), powers_W=(0.0, 120.0, 9.0)),
            WaterGenerator(name="towed", speeds_kn=(2.0, 6.0), powers_W=(0.0, 80.0)),
            ShorePower(name="marina", rated_A=15.0),
        )
    )
    lines = findings_text(boat, [], STANDING).split("\n")
    place = next(at for at, line in enumerate(lines) if line.startswith("chargers "))
    assert lines[place : place + 2] == [
        "chargers    windmill, wind, up to 120 W; towed, up to 80 W; marina, shore,",
        "            15.0 A at a berth",
    ]
    assert lines[place - 1].startswith("panels ")
    assert "chargers" not in dict(findings_dict(passage(), [], STANDING)["understood"])


def test_the_same_for_a_program():
    answer = findings_dict(passage(), CAUTIONS, STANDING)
    assert list(answer) == [
        "passage",
        "depart_utc",
        "understood",
        "assumptions",
        "warnings",
        "care",
    ]
    assert answer["depart_utc"] == "2026-09-05T09:00:00+00:00"
    assert answer["understood"]["route"] == "Reykjavik to Horta, 2 waypoints"
    assert answer["assumptions"][0]["value"] == "85 %"
    assert answer["warnings"] == [
        {"text": "no fuel is held in reserve", "advice": "set fuel.reserve"}
    ]
    assert answer["care"] == STANDING


def test_mistakes_for_a_program():
    problem = Problem(file="loads.csv", line=4, field=2, text="cannot read '3O W'")
    assert problems_dict([problem]) == {
        "problems": [
            {
                "file": "loads.csv",
                "text": "cannot read '3O W'",
                "line": 4,
                "field": 2,
                "expected": None,
                "row": None,
                "place": None,
            }
        ]
    }


def test_bad_weather_is_told_in_the_order_of_the_wind():
    heavy = HeavyWeather(
        lie_to_above_kn=34.0, no_engine_above_kn=28.0, spray_above_kn=24.0, rough_above_kn=22.0
    )
    plain = passage()
    rough = replace(plain, boat=replace(plain.boat, heavy_weather=heavy))
    assert "bad weather" not in dict(understood(plain))
    assert dict(understood(rough))["bad weather"] == (
        "above 22 kn pilot 150 %, above 24 kn panels 70 %, above 28 kn no engine, above 34 kn "
        "hove-to, the track as route.csv has it; and for 6 h after it"
    )
