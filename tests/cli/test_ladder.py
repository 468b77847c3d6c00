"""`powersim ladder`: first words, exit code, messages, and the same for a program."""

import json

import pytest

#: Invented, and small: six days due south in the trades.
BOAT = """
[passage]
depart = "2026-05-01 12:00"
[battery]
chemistry = "agm"
capacity = "{capacity}"
reading = "monitor"
[[panel]]
name = "arch"
power = "{panel}"
[[controller]]
rated = "20 A"
"""
ENGINE = """
[alternator]
charging = "45 A"
[engine]
rated = "12 kW"
[fuel]
tank = "80 L"
"""
LOADS = """load,draw,on,role,priority
tricolour,2 W,50 %,sailing lights,essential
vhf,0.3 A,100 %,vhf,essential
ais transponder,3 W,100 %,lookout,essential
satellite messenger,1 A,4 h/day,comms,essential
autopilot,2 A,50 %,pilot,useful
music,1 A,4 h/day,,comfort
clock,0.01 A,100 %,,comfort
"""
ROUTE = "waypoint,position,speed\nA,25 N 30 W,5 kn\nB,{south} N 30 W,\n"
QUICK = ("--step", "60 min", "--members", "20")


@pytest.fixture
def boat(tmp_path, monkeypatch):
    """A folder as asked for."""

    def written(*, capacity="200 Ah", panel="80 W", engine=ENGINE, south=13):
        folder = tmp_path / "boat"
        folder.mkdir()
        text = BOAT.format(capacity=capacity, panel=panel) + engine
        (folder / "boat.toml").write_text(text, encoding="utf-8")
        (folder / "loads.csv").write_text(LOADS, encoding="utf-8")
        (folder / "route.csv").write_text(ROUTE.format(south=south), encoding="utf-8")
        monkeypatch.chdir(tmp_path)
        return "boat"

    return written


def words(outcome):
    return " ".join(outcome.out.split())


def test_the_first_words_are_the_answer(call, boat):
    outcome = call("ladder", boat(), "--from", "day 3", *QUICK)
    assert (outcome.code, outcome.err) == (0, "")
    assert outcome.out.startswith("Engine lost on day 3, Sun 3 May 10:00 (12:00 UTC), with ")
    assert "seen and heard to landfall, " in words(outcome)
    assert "with the satellite messenger every day in " in words(outcome)
    assert max(map(len, outcome.out.splitlines())) <= 80
    # Comfort, useful, essential; what takes next to nothing is named below.
    rows = [line[3:].split("  ")[0] for line in outcome.out.splitlines() if line[:1].isdigit()]
    assert rows[:3] == ["music", "autopilot", "satellite messenger"]
    assert "next to nothing: clock." in words(outcome)
    assert "Never given up: navigation lights, lookout (AIS, radar), VHF" in words(outcome)


def test_for_a_program(call, boat):
    outcome = call("ladder", boat(), "--from", "day 3", *QUICK, "--json")
    answer = json.loads(outcome.out)
    assert answer["lost"] == "engine lost"
    assert answer["from_utc"] == "2026-05-03T12:00:00+00:00"
    assert [step["load"] for step in answer["steps"]] == [
        *("music", "autopilot", "satellite messenger")
    ]
    assert answer["members"] == 20
    assert answer["holds"] is (outcome.code == 0)
    for row in answer["rows"]:
        assert len(row["least_soc"]) == len(row["given"]) == 3
        for least_soc, given in zip(row["least_soc"], row["given"], strict=True):
            assert (least_soc is None) is (given != "below")


def test_a_boat_without_an_engine_loses_nothing_that_is_not_named(call, boat):
    outcome = call("ladder", boat(engine="", panel="300 W"), *QUICK)
    assert outcome.out.startswith("Everything working on day 1, Fri 1 May")
    assert outcome.code == 0
    assert "nothing need be given up." in words(outcome)
    assert "At which charge" not in outcome.out


def test_what_cannot_be_held_is_said_first(call, boat):
    """80 Ah and no sun: 10 W of lookout and radio alone are 20 Ah a day, for six days."""
    folder = boat(capacity="80 Ah")
    outcome = call("ladder", folder, "--without", "charging", *QUICK)
    assert outcome.code == 1
    told = words(outcome)
    assert "in the bank: NOT seen and heard to landfall" in told
    assert "all of 20 simulated passages go dark" in told
    assert "In 9 of 10 she is seen and heard for " in told
    assert "Tell somebody ashore where you are" in told
    assert "EPIRB and PLB are for distress alone" in told


def test_what_is_lost_may_be_several_and_a_place_is_gone_from_the_begin(call, boat):
    folder = boat()
    outcome = call(
        "ladder", folder, *QUICK, "--without", "engine", "--without", "vhf", "--without",
        "loads.music", "--from", "worst",
    )  # fmt: skip
    told = words(outcome)
    assert told.startswith("What if, not as the files say: music left off. ")
    assert "Engine lost and vhf lost on day " in told
    assert not [line for line in outcome.out.splitlines() if line.startswith("1  music")]


def test_what_is_not_aboard_is_told_with_what_is(call, boat):
    outcome = call("ladder", boat(), *QUICK, "--without", "parachute")
    assert (outcome.code, outcome.out) == (2, "")
    assert outcome.err.startswith("without: nothing aboard is called 'parachute'\n  expected  ")


def test_a_day_outside_the_passage(call, boat):
    outcome = call("ladder", boat(), *QUICK, "--from", "day 40")
    assert (outcome.code, outcome.out) == (2, "")
    assert outcome.err.startswith("from: 'day 40' is not within the passage\n")
