"""The charging rule in the panel's words."""

from dataclasses import replace

import pytest
from hand_worked import bank_of, boat_of, passage_of, without_engine

import powersim
from powersim.records import ChargingRule, DailyRun, PlannedRun
from powersim.report.rule_text import panel_V, rule_words

RULE = ChargingRule(start_soc=0.65, stop_soc=0.80, hours_h=(8.0, 20.0), full_every_days=7.0)


def words(*, battery="lifepo4", reading="monitor", rule=RULE, **changes):
    boat = boat_of(battery=replace(bank_of(battery), reading=reading), charging=rule)
    return rule_words(powersim.simulate(passage_of(boat=boat, **changes), step_h=1.0))


def test_by_a_counter():
    told = words()
    assert told.start == "Start when the counter shows 65 % or less."
    assert told.stop == "Stop when the counter shows 80 %."
    assert told.besides == (
        "Only between 08:00 and 20:00 ship's time.",
        "A run lasts 30 min at least and 4 h at most.",
        "Fill the bank at least every 7.0 days.",
    )


def test_lithium_is_never_read_by_volts():
    assert "counter" in words(reading="volts").start


def test_lead_acid_by_volts_before_dawn():
    """2.5 A of load at night: instruments, the pilot's mean and the lights, from the load list. The
    line is the open voltage less what that current takes from it."""
    boat = boat_of(battery=replace(bank_of("flooded"), reading="volts"), charging=RULE)
    result = powersim.simulate(passage_of(boat=boat), step_h=1.0)
    told = rule_words(result)
    volts = panel_V(result, 0.65)
    assert told.start == (
        f"Start when the voltmeter shows {volts:.2f} V or less before dawn (about 65 %)."
    )
    assert told.stop.startswith("Stop after about ")
    assert told.besides[0].startswith("Read volts with the usual loads on")
    # Rested flooded cells at 65 % stand near 12.4 V (common practice, no source), less some sag.
    assert 12.2 < volts < 12.4
    assert panel_V(result, 0.5) < volts < panel_V(result, 0.9)


def test_what_the_panel_shows_is_what_the_passage_has_at_night():
    boat = boat_of(battery=replace(bank_of("flooded"), reading="volts"), charging=RULE)
    result = powersim.simulate(passage_of(boat=boat), step_h=1.0)
    dawn = result.hourly.iloc[5]  # nothing has charged for hours but the engine at departure
    assert panel_V(result, dawn["soc"]) == pytest.approx(dawn["bank_V"], abs=0.03)


def test_by_the_clock():
    daily = (DailyRun(at_h=8.5, run_h=1.5, south_deg=-10.0, north_deg=45.0),)
    told = words(rule=replace(RULE, by_engine=False, daily=daily))
    assert (
        told.start
        == "Run it every day from 08:30 ship's time for 1 h 30 min, between 10°S and 45°N."
    )
    assert words(rule=replace(RULE, daily=daily)).besides[0] == told.start


def test_by_a_timetable():
    start_s = passage_of().depart_utc.timestamp()
    plan = (PlannedRun(start_utc_s=start_s, run_h=1.0),)
    assert words(engine_plan=plan).start == "Charge by the timetable, 1 run, and at no other time."


def test_never():
    assert words(rule=replace(RULE, by_engine=False)).start == "The engine is not run to charge."
    result = powersim.simulate(passage_of(boat=without_engine()), step_h=1.0)
    assert rule_words(result).start == "No alternator: the engine does not charge."
