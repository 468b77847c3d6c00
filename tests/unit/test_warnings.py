"""What `simulate` warns of, each on a passage that brings it and on one that does not."""

from dataclasses import replace

import pytest
from builders import in_average
from hand_worked import LOADS, WAYPOINTS, bank_of, boat_of, passage_of, without_engine

from powersim.errors import Problem
from powersim.records import ChargingRule, Fuel, Load, Session, Shedding
from powersim.report.warnings import warnings_of

NEVER = ChargingRule(start_soc=0.5, stop_soc=0.6, by_engine=False)


def warned(**changes):
    return [found.text for found in warnings_of(in_average(passage_of(**changes)))]


def days_at_anchor(days):
    """The hand-worked legs, after so many days at anchor."""
    start, end = WAYPOINTS
    return (
        type(start)(name="A", lat_deg=30.0, lon_deg=-40.0, speed_kn=5.0, stop_h=24.0 * days),
        end,
    )


def test_the_hand_worked_passage_deserves_none():
    assert warned() == []


def test_a_dark_bank_says_how_long_when_and_what_goes_without():
    """By hand: 100 Ah, flat at 10 %, so dark when 90 Ah are gone at 3 A: after 30 h, on Saturday at
    06:00; from the next step on 3 A are not there for the 20 h left, 60 Ah.
    """
    boat = without_engine(battery=bank_of(capacity_Ah=100.0))
    (text,) = warned(boat=boat, loads=(Load(name="all", draw_A=3.0),))
    assert text == (
        "the bank is flat and everything dark for 20.0 h, first on Sat 2 May 06:00; loads "
        "went without 60 Ah: all"
    )


def test_a_dark_bank_without_an_engine_is_not_told_to_charge_sooner():
    for boat in (without_engine(), boat_of(charging=NEVER)):
        found = in_average(passage_of(boat=boat, loads=(Load(name="all", draw_A=8.0),)))
        (dark,) = (one for one in warnings_of(found) if "everything dark" in one.text)
        assert dark.advice.startswith("charge sooner") == (boat.engine is not None)


def test_a_bank_too_low_to_start_its_engine_says_when_and_for_how_long():
    """By hand: 200 Ah, and 5 A of loads that take it from 100 to 40 % in 24 h: from Saturday 00:00
    on, 26 of the 50 hours, no run can begin. Who starts by hand need not mind.
    """
    engine = boat_of().engine
    loads = (Load(name="all", draw_A=5.0),)
    shared = boat_of(engine=replace(engine, start_battery="shared"), charging=NEVER)
    assert (
        "the bank is below 40 %, too little to start the engine, in 26 hours, first on Sat 2 May "
        "00:00: no run can begin then"
    ) in warned(boat=shared, loads=loads)
    for start in ("separate", "hand"):
        boat = boat_of(engine=replace(engine, start_battery=start), charging=NEVER)
        assert not any("too little to start" in one for one in warned(boat=boat, loads=loads))


def test_shed_loads_are_named_when_nothing_went_dark():
    """By hand: comfort goes at 90 %, when 20 Ah are gone at 2 A: after 10 h. 40 h without 1 A."""
    boat = without_engine(shedding=Shedding(comfort_below_soc=0.9))
    loads = (
        Load(name="music", draw_A=1.0, priority="comfort"),
        Load(name="rest", draw_A=1.0),
    )
    assert warned(boat=boat, loads=loads) == [
        "loads switched off to save charge went without 40 Ah: music"
    ]


def test_motoring_for_more_than_what_is_aboard():
    """By hand: 3 h at 2 L/h need 6 L; 5.2 L aboard less 2 out of reach are 3.2 L. Every quarter of
    an hour burns 0.5 L: the seventh, from 01:30, wants 0.3 L more than there is.
    """
    fuel = Fuel(tank_L=40.0, aboard_L=5.2, reserve_L=1.0)
    assert warned(boat=boat_of(fuel=fuel)) == [
        "3.0 h of motoring need 6.0 L, more than the 3.2 L that can be burnt",
        "the diesel is used up on Fri 1 May 01:00; from then on 0.3 L are missing",
    ]


def test_a_reserve_that_is_eaten_into():
    """By hand: 60 L less 2 out of reach, 6 for motoring and 1 for charging leave 51 L."""
    fuel = Fuel(tank_L=40.0, jerrycans_L=20.0, aboard_L=60.0, reserve_L=52.0)
    assert warned(boat=boat_of(fuel=fuel)) == [
        "51.0 L of diesel are left at landfall, less than the reserve of 52.0 L"
    ]


@pytest.mark.parametrize(
    ("chemistry", "days", "count"), [("agm", 8, 1), ("agm", 3, 0), ("lifepo4", 8, 0)]
)
def test_lead_acid_that_is_not_filled_for_over_a_week(chemistry, days, count):
    """Nothing charges, so it is not full from departure to landfall; lithium does not mind."""
    boat = without_engine(battery=bank_of(chemistry))
    texts = warned(boat=boat, loads=(Load(name="log", draw_A=0.2),), waypoints=days_at_anchor(days))
    assert len(texts) == count
    # Anchored for eight days, then 246 nm at 5 knots: 50 whole hours.
    assert all(
        text.startswith("not fully charged for 10 days from Fri 1 May 2026") for text in texts
    )


@pytest.mark.parametrize(("heel_deg", "count"), [(14.0, 0), (16.0, 1)])
def test_charging_while_heeled_beyond_the_engines_limit(heel_deg, count):
    """The limit is 15 degrees, and the one run lasts 1.25 h."""
    start, end = WAYPOINTS
    leg = type(start)(name="A", lat_deg=30.0, lon_deg=-40.0, speed_kn=5.0, heel_deg=heel_deg)
    texts = warned(waypoints=(leg, end))
    assert texts == ["1.2 h of charging at more heel than the engine's limit of 15°"] * count


def test_a_load_that_is_never_used_here():
    idle = Load(name="shore lamp", draw_A=0.1, states=frozenset({"berthed"}))
    left_ashore = Load(name="fan", draw_A=1.0, states=frozenset({"berthed"}), count=0)
    assert warned(loads=(*LOADS, idle, left_ashore)) == ["never used on this route: shore lamp"]


def test_every_warning_says_what_to_do():
    boat = boat_of(
        battery=bank_of("flooded", capacity_Ah=40.0),
        fuel=Fuel(tank_L=40.0, aboard_L=5.0, reserve_L=1.0),
        charging=ChargingRule(start_soc=0.5, stop_soc=0.8),
    )
    found = warnings_of(in_average(passage_of(boat=boat)))
    assert len(found) >= 3
    assert all(warning.advice and not warning.advice.endswith(".") for warning in found)


def test_an_odd_figure_is_told_before_all_else():
    odd = Problem(file="some/boat.toml", line=7, text="battery.health: '20 %' is odd", expected="")
    passage = replace(passage_of(), doubts=(odd, odd))
    (found,) = warnings_of(in_average(passage))
    assert (
        found.text == "boat.toml:7 may be a slip, and 1 more figure: battery.health: '20 %' is odd"
    )
    assert found.advice == "'powersim check' says what would be usual"


def test_an_odd_figure_that_was_set_has_no_line():
    """Nor is what stands behind a slash in its unit taken for a file."""
    given = "--set loads.heater.fuel=9 L/h"
    odd = Problem(file=given, text="'9 L/h' is odd", place="loads.heater.fuel")
    (found,) = warnings_of(in_average(replace(passage_of(), doubts=(odd,))))
    assert found.text == f"{given} may be a slip: '9 L/h' is odd"


def test_a_load_that_has_no_time_left_for_sessions_is_named_with_its_hours():
    """80 % of its own and 8 h of a day: 113 % of the time, all of the 50 hours; with 4 h, 97 %."""
    tablet = Load(name="tablet", draw_W=8.0, on_frac=0.8)

    def told(each_h):
        session = Session(per_day=4.0, each_h=each_h, beside=("tablet",))
        modem = Load(name="modem", draw_W=20.0, on_frac=None, session=session)
        return " ".join(warned(loads=(*LOADS, tablet, modem)))

    assert (
        "tablet is on all the while for 50.0 h, by its own hours and for the sessions that name "
        "it: what these want beyond that is not counted"
    ) in told(2.0)
    assert "tablet" not in told(1.0)


def test_a_fridge_that_can_no_longer_keep_cold_is_named_with_its_hours():
    """70 % at 25 degC wants 126 % in a cabin of 35, for all of the 50 hours; at 27 80 %."""
    fridge = Load(name="cool box", draw_A=4.0, on_frac=0.7, temperature_rule="fridge")

    def told(cabin_C):
        waypoints = tuple(replace(waypoint, cabin_C=cabin_C) for waypoint in WAYPOINTS)
        return " ".join(warned(loads=(*LOADS, fridge), waypoints=waypoints))

    assert (
        "cool box would have to run more than all the time for 50.0 h, in a cabin of up to 35 °C: "
        "it draws no more, and its box gets warm"
    ) in told(35.0)
    assert "cool box" not in told(27.0)
