"""The warnings of `check`: each alone, on a passage that deserves no other."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from powersim.inputs.cautions import (
    cautions_of,
    motoring_planned_h,
    states_planned,
)
from powersim.inputs.standing_cautions import standing_cautions
from powersim.records import (
    STATES,
    Alternator,
    Boat,
    ChargingRule,
    Engine,
    Fuel,
    HeavyWeather,
    Load,
    Passage,
    ShorePower,
    WaterGenerator,
    Waypoint,
    WindGenerator,
    Window,
    battery_of,
)


def light(role, state):
    return Load(name=role, role=role, window=Window(kind="night"), states=frozenset({state}))


LIGHTS = {
    "sailing": light("sailing lights", "sailing"),
    "motoring": light("power lights", "motoring"),
    "anchored": light("anchor light", "anchored"),
}
ENGINE = Engine(rated_kW=14.0, charging_L_per_h=0.6, motoring_L_per_h=2.0)
#: 100 L aboard, 5 of them below the pick-up, 30 held back: 65 to burn.
FUEL = Fuel(tank_L=100.0, aboard_L=100.0, reserve_L=30.0)
ALTERNATOR = Alternator(charging_A=36.0, motoring_A=45.0)
BOAT = Boat(
    name="invented",
    battery=battery_of("flooded", capacity_Ah=220.0),
    engine=ENGINE,
    fuel=FUEL,
    alternator=ALTERNATOR,
    charging=ChargingRule(start_soc=0.6, stop_soc=0.85),
)
HARBOUR = Waypoint(name="Reykjavik", lat_deg=64.15, lon_deg=-21.95, speed_kn=4.5)
ISLAND = Waypoint(name="Horta", lat_deg=38.53, lon_deg=-28.63)


def passage(*, start=HARBOUR, end=ISLAND, boat=BOAT, loads=None):
    waypoints = (start, end)
    planned = Passage(
        name="test", depart_utc=datetime(2026, 9, 5, tzinfo=UTC), waypoints=waypoints, boat=boat
    )
    if loads is None:  # the lights that this route needs, and nothing else
        loads = [LIGHTS[state] for state in states_planned(planned) if state in LIGHTS]
    return replace(planned, loads=tuple(loads))


def texts(planned):
    return [caution.text for caution in cautions_of(planned)]


def test_a_sound_passage_gets_no_warning():
    assert texts(passage()) == []


@pytest.mark.parametrize(
    ("start", "end", "state", "text"),
    [
        (
            HARBOUR,
            ISLAND,
            "sailing",
            "no light that shines all night under sail: Rules 20(b), 25(a) and 25(b) of the "
            "collision regulations ask for sidelights and a sternlight, or under 20 m all three "
            "in one lantern at the masthead",
        ),
        (
            replace(HARBOUR, motoring_calm_frac=0.5),
            ISLAND,
            "motoring",
            "no light that shines all night under engine: Rules 20(b), 23(a) and 23(d) of the "
            "collision regulations ask for a masthead (steaming) light, sidelights and a "
            "sternlight, or under 12 m an all-round white light and sidelights",
        ),
        (
            HARBOUR,
            replace(ISLAND, stop_h=48.0),
            "anchored",
            "no light that shines all night at anchor: Rules 20(b) and 30(b) of the collision "
            "regulations ask for one all-round white light where it can best be seen",
        ),
    ],
)
def test_a_state_without_its_light_is_told_its_own_rule(start, end, state, text):
    route = passage(start=start, end=end)
    without = replace(route, loads=tuple(load for load in route.loads if load is not LIGHTS[state]))
    assert texts(route) == []
    assert texts(without) == [text]


def test_advice_names_the_line_to_add():
    (caution,) = cautions_of(passage(loads=[]))
    assert caution.advice == (
        "add a line with role 'sailing lights', when 'sailing', window 'night', on '100 %'"
    )


def test_alongside_no_light_is_asked_for():
    route = passage(end=replace(ISLAND, stop_h=48.0, stop_state="berthed"))
    assert states_planned(route) == ("sailing", "berthed")
    assert texts(route) == []


def test_the_masthead_lantern_under_engine_is_warned_of():
    tricolour = replace(
        LIGHTS["sailing"], name="tricolour", states=frozenset({"sailing", "motoring"})
    )
    route = passage(
        start=replace(HARBOUR, motoring_start_h=2.0), loads=[tricolour, LIGHTS["motoring"]]
    )
    (caution,) = cautions_of(route)
    assert caution.text == "tricolour: sailing lights on while motoring"
    assert "Rules 20(b), 23(a) and 23(d)" in caution.advice
    # Where no motoring is planned, the column does no harm.
    assert texts(passage(loads=[tricolour])) == []


def test_an_anchor_light_under_way_is_warned_of():
    lamp = replace(LIGHTS["anchored"], states=frozenset({"sailing"}))
    (caution,) = cautions_of(passage(loads=[LIGHTS["sailing"], lamp]))
    assert caution.text == "anchor light: anchor light on while sailing"
    assert caution.advice == "leave 'sailing' out of its column when, or give it another role"


@pytest.mark.parametrize(
    ("given", "why"),
    [
        ({"states": frozenset({"berthed"})}, "the boat is never berthed"),
        (
            {"states": frozenset({"berthed", "anchored"})},
            "the boat is never anchored or berthed",
        ),
        ({"count": 0}, "its count is 0"),
        ({"on_frac": 0.0}, "its time on is 0"),
        ({"on_frac": None, "on_h_per_day": 0.0}, "its time on is 0"),
    ],
)
def test_a_load_that_never_runs_is_warned_of(given, why):
    kettle = Load(name="kettle", draw_W=800.0, **given)
    (caution,) = cautions_of(passage(loads=[LIGHTS["sailing"], kettle]))
    assert caution.text == f"kettle never runs on this route: {why}"
    assert caution.advice == "leave it as it is if so meant: it takes nothing from the bank"


def test_a_load_that_never_runs_may_still_stand_by():
    radio = Load(name="radio", draw_A=2.0, standby_A=0.1, on_frac=0.0)
    (caution,) = cautions_of(passage(loads=[LIGHTS["sailing"], radio]))
    assert caution.advice == "its standby draw is still counted"


@pytest.mark.parametrize(
    ("hours", "expected"),
    [
        # 2 L/h: 65 L are 32.5 h above the reserve, 95 L are 47.5 h altogether.
        (32.5, []),
        (
            33.0,
            ["the 33 h of motoring on the route burn 66 L, more than the 65 L above the reserve"],
        ),
        (
            48.0,
            [
                "the 48 h of motoring on the route burn 96 L, more than the 95 L aboard that can "
                "be burnt"
            ],
        ),
    ],
)
def test_motoring_is_held_against_the_fuel_aboard(hours, expected):
    route = passage(start=replace(HARBOUR, motoring_start_h=hours - 6.0, motoring_end_h=6.0))
    assert motoring_planned_h(route) == hours
    assert texts(route) == expected


def test_motoring_hours_at_the_last_waypoint_go_nowhere():
    assert motoring_planned_h(passage(end=replace(ISLAND, motoring_start_h=5.0))) == 0.0


def test_no_reserve_is_warned_of():
    boat = replace(BOAT, fuel=replace(FUEL, reserve_L=0.0))
    assert texts(passage(boat=boat)) == ["no fuel is held in reserve"]


def test_motoring_without_an_engine_is_warned_of():
    boat = replace(BOAT, engine=None, fuel=None, alternator=None)
    route = passage(boat=boat, start=replace(HARBOUR, motoring_end_h=3.0))
    assert texts(route) == ["the route has motoring in it and boat.toml has no engine"]


def test_charging_over_the_engines_heel_is_warned_of():
    heeled = passage(start=replace(HARBOUR, heel_deg=20.0))
    assert texts(heeled) == [
        "the engine charges at up to 20 degrees of heel, above its limit of 15, from Reykjavik"
    ]
    by_sun_alone = replace(BOAT, charging=replace(BOAT.charging, by_engine=False))
    assert texts(replace(heeled, boat=by_sun_alone)) == []


def lithium_boat(**alternator):
    return replace(
        BOAT,
        battery=battery_of("lifepo4", capacity_Ah=200.0),
        alternator=replace(ALTERNATOR, **alternator),
    )


@pytest.mark.parametrize(
    ("alternator", "warned"),
    [
        ({"nameplate_A": 80.0}, True),  # 45 A motoring is more than 40
        ({"nameplate_A": 90.0}, False),
        ({"nameplate_A": 80.0, "temperature_controlled": True}, False),
        ({}, False),  # nothing to hold it against
    ],
)
def test_a_hard_worked_alternator_on_lithium_is_warned_of(alternator, warned):
    """Half the nameplate into lithium without control: common practice, no source."""
    found = texts(passage(boat=lithium_boat(**alternator)))
    assert [text[:41] for text in found] == (
        ["the alternator is to give more than half "] if warned else []
    )


def test_lead_acid_limits_its_alternator_by_itself():
    boat = replace(BOAT, alternator=replace(ALTERNATOR, nameplate_A=50.0))
    assert texts(passage(boat=boat)) == []


def test_a_bank_that_starts_the_engine_needs_a_higher_floor():
    shared = replace(ENGINE, start_battery="shared", shared_start_soc=0.55)
    boat = replace(BOAT, engine=shared)
    assert texts(passage(boat=boat)) == [
        "the bank also starts the engine, which needs 55 % in it, and its floor is 50 %",
    ]
    # The floor of 50 % is above the usual 40 %.
    usual = replace(BOAT, engine=replace(ENGINE, start_battery="shared"))
    assert texts(passage(boat=usual)) == []


@pytest.mark.parametrize("state", ["hove-to", "drifting"])
def test_a_boat_that_waits_at_sea_is_asked_for_the_lights_of_a_sailing_vessel(state):
    start = replace(HARBOUR, stop_h=36.0, stop_state=state)
    # One light is missing for both states: said once.
    (text,) = texts(passage(start=start, loads=[]))
    assert "all night under sail" in text
    (text,) = texts(passage(start=start, loads=[light("sailing lights", "sailing")]))
    assert f"all night {STATES[state].words}" in text
    assert "25(a)" in text
    both = replace(LIGHTS["sailing"], states=frozenset({"sailing", state}))
    assert texts(passage(start=start, loads=[both])) == []


MID_OCEAN = replace(HARBOUR, name="mid-ocean", lat_deg=45.0, lon_deg=-30.0)


def test_an_anchor_in_mid_ocean_is_queried_by_the_places_name():
    (caution,) = cautions_of(passage(start=replace(MID_OCEAN, stop_h=36.0)))
    assert caution.text == (
        "mid-ocean: the stop counts as at anchor, and no land is known within 30 nm"
    )
    assert "'36 h hove-to'" in caution.advice
    assert "'12 h drifting'" in caution.advice


@pytest.mark.parametrize("state", ["hove-to", "drifting", "berthed"])
def test_any_other_stop_there_is_not(state):
    start = replace(MID_OCEAN, stop_h=36.0, stop_state=state)
    under_way = replace(LIGHTS["sailing"], states=frozenset({"sailing", "hove-to", "drifting"}))
    assert texts(passage(start=start, loads=[under_way])) == []


def test_nor_is_a_place_that_is_passed_or_an_anchorage():
    assert texts(passage(start=MID_OCEAN)) == []
    assert texts(passage(end=replace(ISLAND, stop_h=36.0))) == []


@pytest.mark.parametrize(
    ("load", "asked"),
    [
        (Load(name="AIS transponder"), True),
        (Load(name="class B transponder"), True),
        (Load(name="radar"), True),
        (Load(name="radar", priority="essential"), True),
        (Load(name="Radar detector alarm"), True),
        (Load(name="AIS transponder", role="lookout"), False),
        (Load(name="ais", count=0), False),
        # Part of another word, and a lamp on what carries the radar.
        (Load(name="aisle light"), False),
        (Load(name="radar arch lamp"), False),
    ],
    ids=lambda value: value.name if isinstance(value, Load) else "",
)
def test_what_keeps_watch_by_its_name_is_asked_for_its_role(load, asked):
    """Its draw would otherwise be the first thing to save, and a lone sailor sleeps by it."""
    told = [text for text in texts(passage(loads=[LIGHTS["sailing"], load])) if "watch" in text]
    assert [load.name in text and "'lookout'" in text for text in told] == [True] * asked


@pytest.mark.parametrize(("other", "asked"), [(None, True), ("lookout", False)])
def test_a_radar_for_navigation_is_asked_only_where_nothing_else_keeps_watch(other, asked):
    loads = [LIGHTS["sailing"], Load(name="radar", role="navigation"), Load(name="a", role=other)]
    assert len(texts(passage(loads=loads))) == asked


WIND = WindGenerator(name="windmill", speeds_m_s=(3.0, 10.0), powers_W=(0.0, 60.0))
#: Nothing up to 3 kn; the route is sailed at 4.5.
TOWED = WaterGenerator(name="spinner", speeds_kn=(3.0, 6.0), powers_W=(0.0, 60.0))
SHORE = ShorePower(name="berth", rated_A=15.0)


def with_chargers(*chargers, boat=BOAT):
    return replace(boat, chargers=chargers)


@pytest.mark.parametrize(
    ("boat", "harm"),
    [(BOAT, "boils lead-acid dry"), (lithium_boat(), "opens lithium's protection")],
)
def test_a_charger_that_nothing_regulates_is_warned_of(boat, harm):
    free = with_chargers(WIND, replace(TOWED, regulated=False), boat=boat)
    (caution,) = cautions_of(passage(boat=free))
    assert caution.text == (
        f"spinner: it has no regulator, so it goes on charging a full bank, which {harm}"
    )
    assert "dump load" in caution.advice


def test_shore_power_is_for_routes_with_a_berth():
    boat = with_chargers(SHORE)
    (caution,) = cautions_of(passage(boat=boat, end=replace(ISLAND, stop_h=48.0)))
    assert caution.text == "berth: the route has no stop at a berth, so it gives nothing"
    assert "'4 days berthed'" in caution.advice
    berthed = replace(ISLAND, stop_h=48.0, stop_state="berthed")
    assert texts(passage(boat=boat, end=berthed)) == []


@pytest.mark.parametrize(
    ("generator", "speed_kn", "idle"),
    [
        (TOWED, 4.5, False),
        (TOWED, 3.0, True),  # its curve begins there
        (TOWED, 3.1, False),
        (replace(TOWED, from_kn=5.0), 4.5, True),
        (replace(TOWED, to_kn=4.0), 4.5, True),
        (replace(TOWED, from_kn=4.0, to_kn=5.0), 4.5, False),
    ],
)
def test_a_water_generator_is_for_routes_that_are_fast_enough(generator, speed_kn, idle):
    route = passage(boat=with_chargers(generator), start=replace(HARBOUR, speed_kn=speed_kn))
    assert texts(route) == (["spinner: it gives nothing at any speed of the route"] if idle else [])


def said(boat):
    return " ".join(standing_cautions(passage(boat=boat)))


@pytest.mark.parametrize(
    ("boat", "words", "silent"),
    [
        (BOAT, ["hydrogen", "Carbon monoxide", "alternator turns"], ["Lithium", "Decant"]),
        (BOAT, ["water at the exhaust", "alarm before you doze", "hatches must stay shut"], []),
        (lithium_boat(), ["Lithium", "0 degC", "destroy the alternator"], ["hydrogen"]),
        (
            replace(BOAT, engine=None, fuel=None, alternator=None),
            ["fuse", "hydrogen", "qualified people", "no promise"],
            ["Carbon monoxide", "diesel", "alternator", "exhaust", "engine", "doze"],
        ),
        (replace(BOAT, fuel=replace(FUEL, jerrycans_L=60.0)), ["Decant"], []),
        (with_chargers(WIND), ["blades maim", "dump load"], ["finger", "gearbox", "RCD"]),
        (with_chargers(TOWED), ["finger", "tenths of a knot"], ["blades", "gearbox", "RCD"]),
        (with_chargers(replace(TOWED, kind="shaft")), ["gearbox", "tenths"], ["finger", "RCD"]),
        (with_chargers(SHORE), ["RCD", "galvanic isolator"], ["dump load", "blades", "tenths"]),
    ],
)
def test_standing_cautions_are_those_that_concern_the_boat(boat, words, silent):
    text = said(boat)
    assert [word for word in words if word not in text] == []
    assert [word for word in silent if word in text] == []


def test_a_bank_that_leaves_below_its_floor_is_named_and_one_at_its_floor_is_not():
    def leaving_at(soc):
        battery = battery_of("flooded", capacity_Ah=220.0, floor_soc=0.5, soc_at_departure=soc)
        return texts(passage(boat=replace(BOAT, battery=battery)))

    assert leaving_at(0.485) == ["the bank leaves at 48.5 %, below its floor of 50 %"]
    assert leaving_at(0.5) == []


def test_lying_to_by_itself_is_half_of_bad_weather():
    """It rests the pilot: whoever says no more of a gale gets an easier answer for it."""
    heavy = HeavyWeather(lie_to_above_kn=34.0)
    lit = (replace(LIGHTS["sailing"], states=frozenset({"sailing", "hove-to"})),)
    found = passage(boat=replace(BOAT, heavy_weather=heavy), loads=lit)
    assert "hove-to" in states_planned(found)
    (caution,) = cautions_of(found)
    assert caution.text.startswith("heavy_weather: lying to rests the pilot")
    assert caution.advice == "give no_engine_above too"  # she has no panel to be wet
    whole = replace(heavy, no_engine_above_kn=30.0)
    assert cautions_of(passage(boat=replace(BOAT, heavy_weather=whole), loads=lit)) == ()


def test_a_light_that_is_out_as_she_lies_to_is_missed():
    """Hove-to she shows what a sailing boat under way shows (Rule 25, from memory)."""
    barred = replace(LIGHTS["sailing"], states=frozenset({"sailing"}))
    loads = (barred, *(LIGHTS[state] for state in ("motoring", "anchored")))
    heavy = HeavyWeather(lie_to_above_kn=34.0, no_engine_above_kn=30.0)
    given = [
        cautions_of(passage(boat=one, loads=loads))
        for one in (BOAT, replace(BOAT, heavy_weather=heavy))
    ]
    assert not any("hove-to" in one.text for one in given[0])
    (caution,) = (one for one in given[1] if "hove-to" in one.text)
    assert caution.text.startswith("no light that shines all night hove-to")
