"""`powersim endurance` on the demo passage."""

import json

import pytest

from powersim.inputs.starter import demo_files


@pytest.fixture
def demo(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "south").mkdir()
    for name, text in demo_files().items():
        (tmp_path / "south" / name).write_text(text, encoding="utf-8")


HOURLY = ("--step", "60 min")
PRINTED = """\
three days, counted from Fri 1 May 12:00 (12:00 UTC), in average weather: the
bank is at 100 %, its floor at 50 %; landfall comes after 3.0 days.

If all charging is lost, everything is dark after 40 h, counted from departure,
and already at the worst moment of the passage, Sun 3 May 04:00 (04:00 UTC).
That is average weather alone: in a grey week there is less. With the essential
loads only the bank lasts to landfall and 0 h.

until everything goes dark  from departure  from the worst moment
--------------------------  --------------  ---------------------
everything working                    40 h                already
all charging lost                     40 h                already
battery at half capacity              20 h                already

                           all loads       without comfort      essential only
what happens           to floor  to flat  to floor   to flat  to floor   to flat
---------------------  --------  -------  --------  --------  --------  --------
everything working         25 h     40 h  2.1 days  landfall  2.1 days  landfall
all charging lost          25 h     40 h  2.1 days  landfall  2.1 days  landfall
battery at half            12 h     20 h      25 h      40 h      25 h      40 h
capacity

- All charging lost: nothing gives charge; only what is in the bank.
- Battery at half capacity: half of the bank is gone, and the rest is as charged
  as before.

Landfall: the bank lasts until she arrives. Essential only: navigation lights,
lookout (AIS, radar), VHF and bilge pump, and what loads.csv calls essential;
the rest is off from the first hour. Everything works until the moment counted
from. A forecast is no promise.

Which load costs the most days
------------------------------

The load that costs the most: music. Without it, and with all charging lost, the
bank lasts to landfall. What leaving each one off gains, from the first hour on:

                               all charging lost   everything working
load         priority   a day  to floor   to flat  to floor   to flat
-----------  ---------  -----  --------  --------  --------  --------
music        comfort    24 Ah      25 h  landfall      25 h  landfall
instruments  essential  18 Ah      15 h      24 h      15 h      24 h

Never to be left off, whatever they cost to flat with all charging lost:
tricolour (6 h). Lights show you to others, AIS or radar shows others to you,
VHF calls them, and the bilge pump keeps you afloat.
"""
#: Average weather alone, where sums can be done by hand.
AVERAGE = ("--members", "1")
SMALL = {
    "boat.toml": """\
[passage]
name = "three days"
depart = "2026-05-01 12:00"
ship_time = "UTC"

[boat]
name = "a bank and no more"

[battery]
chemistry = "flooded"
capacity = "100 Ah"
health = "100 %"
self_discharge = "0 %"
""",
    "loads.csv": """\
load,draw,when,window,on,role,priority
instruments,0.75 A,any,always,100 %,,essential
tricolour,0.25 A,any,always,100 %,sailing lights,comfort
music,1 A,any,always,100 %,,comfort
""",
    "route.csv": """\
waypoint,position,speed,cabin_temp
A,40 00.0 N 30 00.0 W,5 kn,25 degC
B,34 00.0 N 30 00.0 W,,
""",
}


@pytest.fixture
def small(tmp_path, monkeypatch):
    """A bank of 100 Ah and 2 A of loads, for three days; invented."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "small").mkdir()
    for name, text in SMALL.items():
        (tmp_path / "small" / name).write_text(text, encoding="utf-8")


def test_all_that_is_printed(call, small):
    """By hand: 50 Ah to the floor and 80 Ah to flat, at 2 A, at 1 A, and from half of a bank."""
    outcome = call("endurance", "small", *AVERAGE)
    assert (outcome.code, outcome.err) == (0, "")
    assert outcome.out == PRINTED


def test_one_more_line_without_what_is_listed(call, small):
    outcome = call(
        "endurance", "small", *AVERAGE, "--without", "MUSIC", "--without", "half battery"
    )
    assert outcome.code == 0
    # 25 Ah to the floor and 40 Ah to flat at 1 A.
    said = " ".join(outcome.out.split())
    assert "without music and 25 h 40 h 25 h 40 h 25 h 40 h half battery" in said
    answer = json.loads(call("endurance", "small", *AVERAGE, "--without", "music", "--json").out)
    (line,) = [
        one
        for one in answer["lines"]
        if (one["loss"], one["loads"]) == ("without music", "all loads")
    ]
    assert line["days_to_floor"] == pytest.approx(50.0 / 24.0, abs=1e-6)


def test_what_nothing_aboard_is_called(call, small):
    outcome = call("endurance", "small", *AVERAGE, "--without", "musik", "--without", "engine")
    assert (outcome.code, outcome.out) == (2, "")
    expected = (
        "  expected  charging, half battery, or a load or a role of loads.csv; for example "
        "'charging'\n"
    )
    assert outcome.err == (
        "without: nothing aboard is called 'musik'; did you mean 'music'?\n"
        f"{expected}"
        "without: 'engine' is not something this boat has\n"
        f"{expected}"
        "\n2 problems\n"
    )


def test_from_the_worst_moment(call, small):
    """40 h after departure everything is dark already."""
    outcome = call("endurance", "small", *AVERAGE, "--from", "Worst")
    assert outcome.code == 0
    assert (
        "Of all moments of the passage this is the one where everything would go dark soonest if "
        "nothing charged any more."
    ) in " ".join(outcome.out.split())
    answer = json.loads(call("endurance", "small", *AVERAGE, "--from", "worst", "--json").out)
    # Dark from this step or, rounding being what it is, from the next.
    assert answer["from_utc"][:16] in ("2026-05-03T04:00", "2026-05-03T04:15")
    assert answer["worst_moment"]["judged_by"] == "flat"


def test_beyond_landfall(call, small):
    """At 1 A the bank is flat after 80 h, to a step; that is eight hours after landfall."""
    answer = json.loads(call("endurance", "small", *AVERAGE, "--beyond", "--json").out)
    assert answer["held_days"] == 60.0
    lines = {(line["loss"], line["loads"]): line for line in answer["lines"]}
    flat_days = lines["everything working", "without comfort"]["days_to_flat"]
    assert 80.0 / 24.0 - 1e-9 <= flat_days <= 80.25 / 24.0 + 1e-9
    assert flat_days > answer["days_to_landfall"]


def test_in_members(call, small):
    outcome = call("endurance", "small", "--members", "4", "--seed", "3")
    assert (outcome.code, outcome.err) == (0, "")
    assert max(map(len, outcome.out.splitlines())) <= 80
    # Three tables with four heads of it, one with two for each moment, and the sentence above it;
    # what spares gain has two.
    assert " ".join(outcome.out.split()).count("1 in 10") == 3 * 4 + 2 + 1 + 2
    assert "in 4 simulated passages" in outcome.out
    answer = json.loads(call("endurance", "small", "--members", "4", "--json").out)
    assert answer["ensemble"] == {"members": 4, "seed": 1}
    assert set(answer["lines"][0]["days_to_floor"]) == {"p10", "p50", "p90"}
    assert (answer["beside"]["moment"], answer["dropping"]["passages"]) == ("worst", 4)


def test_both_moments_are_told_whichever_is_asked_for(call, small):
    """The same figures stand beside the table of either moment."""
    quay, worst = (
        json.loads(call("endurance", "small", *AVERAGE, *more, "--json").out)
        for more in ((), ("--from", "worst"))
    )
    assert (quay["beside"]["moment"], worst["beside"]["moment"]) == ("worst", "departure")
    assert quay["worst_moment"] == worst["worst_moment"]
    for here, there in ((quay, worst), (worst, quay)):
        assert here["beside"]["from_utc"] == there["from_utc"]
        assert here["beside"]["soc"] == pytest.approx(there["soc"])
        for line in here["beside"]["lines"]:
            assert line in there["lines"]
        assert {line["loads"] for line in here["beside"]["lines"]} == {
            *("all loads", "without comfort", "essential only")
        }
    # Comfort first; what is protected by its role never.
    assert quay["dropping"]["switch_off"] == ["music", "instruments"]


def test_days_from_departure(call, demo):
    outcome = call("endurance", "south", *AVERAGE, *HOURLY)
    assert (outcome.code, outcome.err) == (0, "")
    assert max(map(len, outcome.out.splitlines())) <= 80
    assert "counted from Sat 5 Sep 08:00 (09:00 UTC)" in outcome.out
    for words in (
        "all loads ",
        "without comfort ",
        "essential only ",
        "everything working ",
        "engine lost ",
        "all charging lost ",
        " landfall ",
        "the sum keeps her on her legs",
    ):
        assert words in " ".join(outcome.out.split("\n"))


def test_the_same_for_a_program(call, demo):
    outcome = call("endurance", "south", *AVERAGE, *HOURLY, "--json")
    answer = json.loads(outcome.out)
    assert (outcome.code, answer["soc"], answer["from_utc"]) == (
        0,
        1.0,
        "2026-09-05T09:00:00+00:00",
    )
    lines = {(line["loss"], line["loads"]): line for line in answer["lines"]}
    assert len(lines) == 27
    all_lost = lines["all charging lost", "all loads"]
    # The fewer loads, and the more charging, the longer it lasts.
    assert all_lost["days_to_floor"] < all_lost["days_to_flat"]
    few = lines["all charging lost", "essential only"]
    assert all_lost["days_to_floor"] < few["days_to_floor"]
    assert lines["everything working", "all loads"]["days_to_flat"] is None


def test_an_engine_plan_takes_the_place_of_the_rule(call, demo, tmp_path):
    """No run at all: the sun alone does not carry all loads, motoring or not."""
    plan = tmp_path / "plan.csv"
    plan.write_text("start_utc,run_min\n2026-09-05 12:00,60\n", encoding="utf-8")
    outcome = call("endurance", "south", *AVERAGE, *HOURLY, "--engine-plan", plan, "--json")
    assert (outcome.code, outcome.err) == (0, "")
    lines = {(line["loss"], line["loads"]): line for line in json.loads(outcome.out)["lines"]}
    assert lines["everything working", "all loads"]["days_to_flat"] < 10.0


def test_days_from_another_moment(call, demo):
    answer = json.loads(
        call("endurance", "south", *AVERAGE, *HOURLY, "--from", "2026-09-15 06:00", "--json").out
    )
    assert answer["from_utc"] == "2026-09-15T06:00:00+00:00"
    assert answer["soc"] < 1.0


@pytest.mark.parametrize(
    ("typed", "counted"),
    [("2026-09-05", "2026-09-05T12:00"), ("2026-10-07", "2026-10-07T0")],
)
def test_a_date_alone_on_the_first_and_the_last_day(call, demo, typed, counted):
    outcome = call("endurance", "south", *AVERAGE, *HOURLY, "--from", typed, "--json")
    assert json.loads(outcome.out)["from_utc"].startswith(counted)


def test_a_moment_outside_the_passage_is_told_with_its_dates(call, demo):
    outcome = call("endurance", "south", *AVERAGE, "--from", "2026-12-01")
    assert (outcome.code, outcome.out) == (2, "")
    first, second, *_ = outcome.err.splitlines()
    assert first == "from: '2026-12-01' is not within the passage"
    assert second.startswith("  expected  a moment from 2026-09-05 09:00 to 2026-10-07 ")
    assert second.endswith(" UTC, for example 2026-09-05, or day 1 to day 33; or worst")


def test_what_is_no_date(call, demo):
    outcome = call("endurance", "south", *AVERAGE, "--from", "tomorrow")
    assert (outcome.code, outcome.out) == (2, "")
    assert outcome.err.startswith("from: cannot read 'tomorrow' as a date\n")
