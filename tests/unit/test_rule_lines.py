"""The rule in words."""

import re
from dataclasses import fields, replace

import pytest
from builders import boat_of
from hypothesis import given, settings
from hypothesis import strategies as st

from powersim.planning.panel_values import PanelValues
from powersim.records import ChargingRule, DailyRun, HeavyWeather
from powersim.records.clock import clock
from powersim.report.rule_lines import clock_span, rule_lines, where
from powersim.simulation.plant import rule_of


def said(*rule):
    return list(map(str, rule_lines(*rule)))


RULE = ChargingRule(start_soc=0.6, stop_soc=0.7, read_at_h=(6.0, 18.0))
PANEL = PanelValues(
    start_V=12.254, usual_A=1.5, stop_A=None, stop_V=None, run_h=0.9, counter_Ah=187.0
)
VOLTS, MONITOR = boat_of(), boat_of(battery={"reading": "monitor"})
OFF = "No charging by engine from 20:00 to 08:00: a run ends then."
AT_LAST = (
    "Beside the rule, and not simulated: before all goes dark, at 20 % or 11.50 V, charge at any "
    "hour and as long as it takes."
)


def test_a_reading_soon_after_the_sun_says_what_to_do_first():
    rule = by_clock(read_at_h=(6.0, 18.0))
    panel = replace(PANEL, after_sun_h=(18.0,), after_sun_soc=0.064, clears_Ah=1.87)
    told = [str(line) for line in rule_lines(rule, panel, VOLTS, None)]
    assert told[1] == (
        "At 18:00 the volts may still be too high from the sun, by up to 6 % of charge: with the "
        "panels off, let the load draw 1.9 Ah first. Trust 06:00 more."
    )
    alone = rule_lines(replace(rule, read_at_h=(18.0,)), panel, VOLTS, None)
    assert str(alone[1]).endswith("let the load draw 1.9 Ah first.")
    assert not any("sun" in str(line) for line in rule_lines(rule, panel, MONITOR, None))


def by_clock(**given):
    return replace(RULE, stop_soc=None, run_h=1.5, **given)


def by_amperes(**given):
    return replace(RULE, stop_soc=None, stop_below_A=18.0, **given)


def test_by_voltmeter_and_watch():
    assert said(by_clock(), PANEL, VOLTS, None) == [
        "Read the voltmeter at 06:00 and 18:00, with nothing charging and the usual load of 1.5 A "
        "on.",
        "At 12.25 V (60 %) or less: run the engine for 1 h 30 min. Read at 06:00, begin at 08:00; "
        "read at 18:00, begin at once.",
        OFF,
        AT_LAST,
    ]


def test_by_counter_and_ammeter():
    rule = by_amperes(shortest_h=1.0, longest_h=5.0, hours_h=(0.0, 24.0))
    assert said(rule, PANEL, MONITOR, None) == [
        "Read the counter at 06:00 and 18:00 (set to a capacity of 187 Ah).",
        "At 60 % or less: run the engine until the ammeter into the bank is below 18 A, not less "
        "than 1 h, not more than 5 h. Begin at once.",
        AT_LAST,
    ]


def test_an_afternoons_reading_that_may_be_left_out_says_when():
    read = said(by_clock(little_sun_Ah=22.0), PANEL, MONITOR, None)[0]
    assert read == (
        "Read the counter at 06:00, and at 18:00 if the panels have given less than 22 Ah since "
        "06:00 (set to a capacity of 187 Ah)."
    )


@pytest.mark.parametrize(
    ("read_at_h", "run_h", "words"),
    [
        ((6.0,), 2.0, "Begin at 08:00."),
        ((8.0, 18.0), 2.0, "Begin at once."),
        ((19.0,), 2.0, "Begin at 08:00."),  # the next morning
        (
            (6.0, 19.0),
            2.0,
            "Read at 06:00, begin at 08:00; read at 19:00, there is no room for a run before the "
            "next reading.",
        ),
        ((6.0,), 13.0, "There is no room for a run before the next reading."),
    ],
)
def test_when_a_run_begins_that_a_reading_asks_for(read_at_h, run_h, words):
    """The engine may run from 08:00 to 20:00, and no run is begun that does not fit."""
    rule = replace(RULE, stop_soc=None, run_h=run_h, read_at_h=read_at_h)
    assert said(rule, PANEL, MONITOR, None)[1].endswith(f" {words}")


def test_a_charge_that_is_always_known_is_said_to_be():
    watch, start, *_ = said(replace(RULE, read_at_h=()), PANEL, VOLTS, None)
    assert watch == (
        "Watch the voltmeter, with nothing charging and the usual load of 1.5 A on: this rule "
        "takes the charge as known at any moment."
    )
    assert start == (
        "As soon as it is at 12.25 V (60 %) or less, from 08:00 to 20:00: run the engine until the "
        "bank is at 70 % (after about 54 min), not less than 30 min, not more than 4 h."
    )


def test_by_ammeter_where_the_current_has_tapered():
    tapered = replace(PANEL, stop_A=12.3, stop_V=14.0)
    assert (
        "until the bank is at 70 % (about when the ammeter into it falls to 12.3 A at 14.00 V)"
        in (said(RULE, tapered, VOLTS, None)[1])
    )


def test_lithium_goes_by_the_counter_even_where_a_voltmeter_is_read():
    _, run, told, *_ = said(RULE, replace(PANEL, start_V=None), VOLTS, None)
    assert run.startswith("At 60 % or less: run the engine until the counter is at 70 %")
    assert told.startswith("Your voltmeter cannot tell these levels")


def test_daily_runs_come_first_and_say_where():
    runs = (DailyRun(at_h=8.25, run_h=1.5, south_deg=42.5),)
    first, second, *_ = said(replace(RULE, daily=runs), PANEL, VOLTS, None)
    assert first == (
        "Every day north of 42°30'N: run the engine for 1 h 30 min at 08:15, whatever the bank "
        "holds."
    )
    assert second.startswith("Read the voltmeter at 06:00")


def test_a_full_charge_is_told_by_its_day_and_its_signs():
    lines = said(by_clock(full_every_days=10.0), PANEL, VOLTS, None)
    assert lines[2] == (
        "On the 10th day after the last full charge, and then on every second day until it is "
        "full, whatever is read at 06:00: run the engine until the bank is full, not less than 30 "
        "min, not more than 8 h; begin at 08:00. It is full when at the regulator's voltage its "
        "ammeter stays below 3.7 A for an hour."
    )
    always = said(replace(RULE, read_at_h=(), full_every_days=10.0), PANEL, VOLTS, None)
    assert always[2].startswith("If the bank has not been full for 10 days, run the engine until")


def numbers(pattern, text):
    found = re.search(pattern, text)
    assert found, (pattern, text)
    return found.groups()


def hours_of(clock_time):
    hour, minute = clock_time.split(":")
    return int(hour) + int(minute) / 60.0


def time_of(words):
    """What a watch is to show: 2 h 15 min, 45 min, 3 h. [h]"""
    found = re.fullmatch(r"(?:(\d+) h)? ?(?:(\d+) min)?", words)
    return int(found[1] or 0) + int(found[2] or 0) / 60.0


WATCH = r"((?:\d+ h)?(?: ?\d+ min)?)"
BOUNDS = rf"not less than {WATCH}, not more than {WATCH}"


def rule_said(lines):
    """The rule that someone follows who has nothing but the words, by a counter."""
    text = " ".join(lines)
    given = {"hours_h": (0.0, 24.0), "read_at_h": ()}
    if "No charging by engine" in text:
        end, start = numbers(r"by engine from (\d\d:\d\d) to (\d\d:\d\d)", text)
        given["hours_h"] = (hours_of(start), hours_of(end))
    if "Watch the" not in text:
        read = numbers(r"Read the counter at (.*?) \(set", text)[0].split(" since ")[0]
        given["read_at_h"] = tuple(map(hours_of, re.findall(r"\d\d:\d\d", read)))
    if "panels have given" in text:
        given["little_sun_Ah"] = float(numbers(r"less than ([\d.]+) Ah since", text)[0])
    (level,) = numbers(r"(?:is at|At) ([\d.]+) % or less", text)
    given["start_soc"] = float(level) / 100.0
    run = text[text.index("run the engine") :]
    if run.startswith("run the engine for"):
        given["run_h"] = time_of(numbers(rf"for {WATCH}[.]", run)[0])
    else:
        until, shortest, longest = numbers(rf"until (.*?), {BOUNDS}", run)
        given |= {"shortest_h": time_of(shortest), "longest_h": time_of(longest)}
        if "ammeter" in until:
            given["stop_below_A"] = float(numbers(r"below ([\d.]+) A", until)[0])
        else:
            given["stop_soc"] = float(numbers(r"counter is at ([\d.]+) %", until)[0]) / 100.0
    if "wait, for sun" in text:
        waits, times = numbers(r"but at ([\d.]+) % or less: wait.*?read so (\S+)", text)
        given["wait_below_soc"] = float(waits) / 100.0
        given["wait_readings"] = 2 if times == "twice" else int(times)
    if "full charge, and" in text or "has not been full" in text:
        days = r"(?:On the|full for) (\d+)(?:st|nd|rd|th| days)"
        given["full_every_days"] = float(numbers(days, text)[0])
        shortest, longest = numbers(rf"(?:is full|until it is), {BOUNDS}", text)
        given |= {"shortest_h": time_of(shortest), "full_longest_h": time_of(longest)}
    return ChargingRule(**{"stop_soc": None} | given)


quarters = st.integers(0, 95).map(lambda quarter: quarter / 4.0)
RULES = st.fixed_dictionaries(
    {
        "read_at_h": st.lists(quarters, max_size=4, unique=True).map(lambda at: tuple(sorted(at))),
        "start_soc": st.integers(300, 850).map(lambda mille: mille / 1000.0),
        "hours_h": st.tuples(quarters, quarters).filter(lambda ends: ends[0] != ends[1]),
        "shortest_h": st.integers(1, 60).map(lambda minutes: minutes / 60.0),
        "longest_h": st.integers(1, 10).map(float),
        "full_longest_h": st.integers(2, 12).map(float),
        "full_every_days": st.none() | st.integers(1, 40).map(float),
        "little_sun_Ah": st.none() | st.integers(5, 80).map(float),
        "wait_below_soc": st.none() | st.integers(851, 899).map(lambda mille: mille / 1000.0),
        "wait_readings": st.integers(2, 6),
    }
)
ENDS = st.one_of(
    st.fixed_dictionaries({"run_h": st.integers(4, 40).map(lambda quarter: quarter / 4.0)}),
    st.fixed_dictionaries({"stop_below_A": st.integers(10, 400).map(lambda tenth: tenth / 10.0)}),
    st.fixed_dictionaries({"stop_soc": st.integers(900, 1000).map(lambda mille: mille / 1000.0)}),
)


@given(RULES, ENDS)
@settings(max_examples=60, deadline=None)
def test_who_follows_the_words_follows_the_rule_that_was_simulated(rule, ends):
    """Every number is read back out of the words, and makes the kernel's own rule again."""
    if not rule["read_at_h"]:
        rule |= {"wait_below_soc": None}
    asked = ChargingRule(**{"stop_soc": None} | rule | ends)
    heard = rule_said(said(asked, PANEL, MONITOR, None))
    kernels, words = (rule_of(replace(MONITOR, charging=one)) for one in (asked, heard))
    if asked.run_h is not None and asked.full_every_days is None:
        words = replace(words, full_shortest_h=kernels.full_shortest_h)  # there is no such run
    if asked.full_every_days is None:
        words = replace(words, full_longest_h=kernels.full_longest_h)
    if asked.wait_below_soc is None:
        words = replace(words, wait_readings=kernels.wait_readings)
    if not asked.read_at_h or len(asked.read_at_h) == 1:  # there is no later reading
        words = replace(words, little_Ah=kernels.little_Ah)
    for name, number in vars_of(kernels).items():
        assert vars_of(words)[name] == pytest.approx(number, abs=1e-9), name
    assert heard.read_at_h == asked.read_at_h
    span_h = (asked.hours_h[1] - asked.hours_h[0]) % 24.0
    assert (heard.hours_h[1] - heard.hours_h[0]) % 24.0 == span_h
    if span_h:
        assert heard.hours_h[0] == asked.hours_h[0]


def vars_of(rule):
    return {one.name: getattr(rule, one.name) for one in fields(rule)}


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
        "Beside the rule, and not simulated: at 50 % or 12.08 V charge at any hour and as long as "
        "it takes, for below 40 % the bank no longer starts the engine."
    )
    lithium = boat_of(chemistry="lifepo4", engine=SHARED)
    assert "simulated: at 40 % charge at any hour" in said(RULE, PANEL, lithium, None)[-1]
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


def test_a_sea_that_keeps_from_the_engine_is_told_after_the_hours():
    """It is simulated, so it stands before the advice that is not."""
    boat = replace(VOLTS, heavy_weather=HeavyWeather(no_engine_above_kn=28.5, sea_lasts_h=4.0))
    *_, closed, rough, last = said(RULE, PANEL, boat, None)
    assert closed == OFF
    assert rough == (
        "Above 28.5 kn, and for 4 h after it, no charging by engine: a run ends, one that is due "
        "waits."
    )
    assert last == said(RULE, PANEL, VOLTS, None)[-1]
