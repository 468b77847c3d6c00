"""The charging rule in a few large words, and in full."""

from dataclasses import replace
from math import inf

from builders import in_average
from hand_worked import bank_of, boat_of, passage_of, without_engine
from made_ensemble import ensemble_of

from powersim.planning.panel_values import panel_values
from powersim.records import ChargingRule, DailyRun, PlannedRun
from powersim.report.rule_lines import rule_lines
from powersim.report.rule_view import rule_view

RULE = ChargingRule(
    start_soc=0.65, stop_soc=0.80, read_at_h=(), hours_h=(8.0, 20.0), full_every_days=7.0
)


def simulated(*, battery="lifepo4", reading="monitor", rule=RULE, **changes):
    boat = boat_of(battery=replace(bank_of(battery), reading=reading), charging=rule)
    return in_average(passage_of(boat=boat, **changes), step_h=1.0)


def in_words(result):
    """As it is read."""
    told = rule_view(result)
    said = {
        name: tuple(map(str, getattr(told, name))) for name in ("warnings", "headline", "lines")
    }
    return replace(told, **said)


def test_by_a_counter():
    told = in_words(simulated())
    assert told.headline == ("At 65 % or less run the engine until it is at 80 %.",)
    assert not told.by_volts


def test_at_set_times_by_the_clock_or_the_ammeter():
    by_clock = replace(RULE, stop_soc=None, run_h=1.5, read_at_h=(6.0, 18.0))
    by_amperes = replace(by_clock, run_h=None, stop_below_A=18.0)
    assert in_words(simulated(rule=by_clock)).headline == (
        "Read the bank at 06:00 and 18:00.",
        "At 65 % or less run the engine for 1 h 30 min.",
    )
    assert in_words(simulated(rule=by_amperes)).headline[1] == (
        "At 65 % or less run the engine until less than 18 A go into the bank."
    )


def test_lithium_is_never_read_by_volts():
    told = in_words(simulated(reading="volts"))
    assert told.headline[0].startswith("At 65 % or less")
    assert not told.by_volts


def test_lead_acid_by_volts_before_dawn_and_in_full_as_plan_words_it():
    result = simulated(battery="flooded", reading="volts")
    told = in_words(result)
    boat = result.passage.boat
    panel = panel_values(boat, boat.charging, result.prepared)
    assert told.headline == (
        f"At {panel.start_V:.2f} V (65 %) or less run the engine until it is at 80 %.",
    )
    # 30 Ah of 200 at the alternator's 20 A less the loads, and some of it lost: near 2 h. By then
    # the bank no longer takes all of it.
    assert 1.5 < panel.run_h < 2.0
    sign = f"(about when the ammeter into it falls to {panel.stop_A:.1f} A at 14.00 V)"
    assert sign in told.lines[1]
    assert told.lines == tuple(map(str, rule_lines(boat.charging, panel, boat, None)))
    assert told.by_volts
    # Rested flooded cells at 65 % stand near 12.4 V (common practice, no source), less some sag.
    assert 12.2 < panel.start_V < 12.4


def test_by_the_clock():
    daily = (DailyRun(at_h=8.5, run_h=1.5, south_deg=-10.0, north_deg=45.0),)
    told = in_words(simulated(rule=replace(RULE, daily=daily)))
    assert told.headline[0] == "1 h 30 min every day at 08:30 between 45°N and 10°S."
    assert told.headline[1].startswith("At 65 %")


def test_by_a_timetable():
    start_s = passage_of().depart_utc.timestamp() + 10 * 3600.0
    plan = (PlannedRun(start_utc_s=start_s, run_h=1.0),)
    told = in_words(simulated(engine_plan=plan))
    assert told.headline == ("Charge by the timetable (1 run), and at no other time.",)
    assert told.lines == ("Fri 1 May 10:00: 1 h.",)


def test_a_passage_that_fails_says_so_before_its_rule():
    """54 Ah a day of 200 Ah, from 30 % and with an hour's charge a day: below 20 % on the first."""
    rule = replace(RULE, start_soc=0.21, stop_soc=0.22, hours_h=(8.0, 9.0))
    boat = boat_of(battery=bank_of(soc_at_departure=0.30, reading="monitor"), charging=rule)
    low = in_average(passage_of(boat=boat), step_h=1.0)
    assert not low.summary["holds"]
    told = in_words(low)
    assert told.warnings == ("FAILS in average weather alone: no grey week, no calm.",)
    assert told.headline[0].startswith("At 21 %")
    hours = len(low.hourly)
    evaluation = replace(
        low, ensemble=ensemble_of(hours=hours, members=200, floor_h=[9.0] * 73 + [inf] * 127)
    )
    assert in_words(evaluation).warnings == ("FAILS: of 200 simulated passages, 73 fail.",)
    assert in_words(simulated()).warnings == ()


def test_never():
    alone = ("Leave the engine alone while charge is above 20 %, its floor; at 20 %, charge.",)
    assert in_words(simulated(rule=replace(RULE, by_engine=False))).headline == alone
    result = in_average(passage_of(boat=without_engine()), step_h=1.0)
    told = in_words(result)
    alone = ("Switch loads off early, the least needed first: nothing else makes up for them.",)
    assert (told.headline, told.lines) == (alone, ())
