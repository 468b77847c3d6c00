"""The rule in words."""

from dataclasses import replace

import pytest
from builders import boat_of

from powersim.planning.panel_values import PanelValues
from powersim.records import ChargingRule, DailyRun
from powersim.report.rule_lines import clock, clock_span, rule_lines, where


def said(*rule):
    return list(map(str, rule_lines(*rule)))


RULE = ChargingRule(start_soc=0.6, stop_soc=0.7)
PANEL = PanelValues(
    start_V=12.254,
    usual_A=1.5,
    stop_A=None,
    stop_V=None,
    run_h=0.9,
    lower_soc=0.5,
    lower_V=12.12,
    lower_h=1.9,
    counter_Ah=187.0,
)
VOLTS, MONITOR = boat_of(), boat_of(battery={"reading": "monitor"})


def test_by_voltmeter():
    assert said(RULE, PANEL, VOLTS, None) == [
        "Start the engine from 08:00 to 20:00 whenever the voltmeter is at 12.25 V or less with "
        "nothing charging for two hours and the usual load of 1.5 A on: that is 60 %. Read it "
        "before dawn, and on grey days again when the panels give nothing.",
        "Stop at 70 %: about 1 h from 12.25 V, about 2 h from 12.12 V.",
        "No run shorter than 30 min or longer than 4 h.",
        "Before all goes dark, at 20 % or 11.50 V, charge at any hour and as long as it takes.",
    ]


def test_by_ammeter_where_the_current_has_tapered():
    tapered = replace(PANEL, stop_A=12.3, stop_V=14.0)
    assert said(RULE, tapered, VOLTS, None)[1] == (
        "Stop at 70 %: when the ammeter into the bank has fallen to 12.3 A at 14.00 V; about 1 h "
        "from 12.25 V, about 2 h from 12.12 V."
    )


def test_by_monitor():
    start, stop, *_ = said(RULE, PANEL, MONITOR, None)
    assert start == (
        "Start the engine from 08:00 to 20:00 whenever the counter is at 60 % or less (set to a "
        "capacity of 187 Ah)."
    )
    assert stop == "Stop when the counter is at 70 %: about 1 h from 60 %, about 2 h from 50 %."


def test_lithium_goes_by_the_counter_even_where_a_voltmeter_is_read():
    start, stop, told, *_ = said(RULE, replace(PANEL, start_V=None, lower_V=None), VOLTS, None)
    assert "counter is at 60 %" in start
    assert "about 1 h from 60 %" in stop
    assert told.startswith("Your voltmeter cannot tell these levels")


def test_from_far_below_the_longest_run_is_not_enough():
    stop = said(RULE, replace(PANEL, lower_h=None), VOLTS, None)[1]
    assert stop == "Stop at 70 %: about 1 h from 12.25 V, the longest run from 12.12 V."


def test_daily_runs_come_first_and_say_where():
    runs = (DailyRun(at_h=8.25, run_h=1.5, south_deg=42.5),)
    first, second, *_ = said(replace(RULE, daily=runs), PANEL, VOLTS, None)
    assert first == (
        "Every day north of 42°30'N: run the engine for 1 h 30 min at 08:15, whatever the bank "
        "holds."
    )
    assert second.startswith("Besides, start it from 08:00")


def test_a_full_charge_is_told_by_its_signs():
    lines = said(replace(RULE, full_every_days=9.0), PANEL, VOLTS, None)
    assert lines[2] == (
        "If the bank has not been full for 9.0 days, let the next run go on until it is: at the "
        "regulator's voltage the ammeter into the bank stays below 3.7 A for an hour."
    )


def test_a_stop_that_is_never_reached_is_not_promised():
    stop = said(RULE, replace(PANEL, run_h=None), VOLTS, None)[1]
    assert stop == "Let it run for 4 h: it does not get to 70 % sooner."


def test_the_engine_is_left_alone_only_while_charge_is_above_the_floor():
    assert said(RULE, None, VOLTS, None) == [
        "Leave the engine alone while charge is above 50 %, its floor; at 50 %, charge."
    ]


def test_the_floor_down_to_which_the_engine_is_left_alone_is_told_in_volts_too():
    _, told = said(RULE, None, VOLTS, 12.084)
    assert told == (
        "On the voltmeter 50 % is 12.08 V or less before dawn, with nothing charging for two hours "
        "and the usual load on."
    )


SHARED = {"start_battery": "shared", "shared_start_soc": 0.4}


def test_a_bank_that_starts_the_engine_is_not_left_until_all_but_dark():
    """At 20 % it could not start what is to charge it. No volts tell the levels of lithium."""
    assert said(RULE, PANEL, boat_of(engine=SHARED), 12.084)[-1] == (
        "At 50 % or 12.08 V charge at any hour and as long as it takes: below 40 % the bank no "
        "longer starts the engine."
    )
    lithium = boat_of(chemistry="lifepo4", engine=SHARED)
    assert said(RULE, PANEL, lithium, None)[-1].startswith("At 40 % charge at any hour")
    assert said(RULE, None, lithium, None) == [
        "Leave the engine alone while charge is above 40 %, the least that starts it; at 40 %, "
        "charge."
    ]


def test_a_boat_without_an_engine_is_told_nothing_of_leaving_it_alone():
    assert said(RULE, None, boat_of(engine=None), None) == [
        "On grey days switch loads off early, the least needed first: nothing else makes up for "
        "them."
    ]


@pytest.mark.parametrize(
    ("band", "words"),
    [
        ((-90.0, 90.0), ""),
        ((50.0, 90.0), "north of 50°N"),
        ((-90.0, -17.5), "south of 17°30'S"),
        ((35.0, 50.0), "between 50°N and 35°N"),
    ],
)
def test_where(band, words):
    assert where(DailyRun(at_h=8.0, run_h=1.0, south_deg=band[0], north_deg=band[1])) == words


def test_hours():
    assert clock_span((0.0, 24.0)) == "at any hour"
    assert clock_span((22.0, 6.5)) == "from 22:00 to 06:30"
    assert clock(23.999) == "24:00"
