"""`powersim check` on folders written here."""

import json

import pytest

BOAT = """\
[passage]
name = "Azores"
depart = "2026-09-05 09:00"

[boat]
name = "Sula"

[battery]
chemistry = "agm"
capacity = "110 Ah"

[charging]
by_engine = false
"""
LOADS = """\
load,draw,when,window,on,role,priority
tricolour,0.2 A,sailing,night,100 %,sailing lights,essential
tiller pilot,36 W,sailing,always,20 %,pilot,useful
"""
ROUTE = """\
waypoint,position,speed
Falmouth,50°08.0'N 005°03.0'W,4.5 kn
Horta,38°32.0'N 028°38.0'W,
"""


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A passage folder named "azores" where the command is run."""
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "azores"
    path.mkdir()
    for name, text in (("boat.toml", BOAT), ("loads.csv", LOADS), ("route.csv", ROUTE)):
        (path / name).write_text(text, encoding="utf-8")
    return path


def test_a_folder_without_mistakes(call, folder):
    outcome = call("check", "azores")
    assert (outcome.code, outcome.err) == (0, "")
    assert outcome.out.startswith(
        "No mistakes in Azores.\n"
        "\n"
        "boat       Sula\n"
        "bank       110 Ah agm at 12 V, counted as 94 Ah; 100 % at departure, floor 50 %,\n"
        "           flat 20 %\n"
        "panels     none\n"
        "loads      2, of which 1 never switched off to save charge\n"
        "route      Falmouth to Horta, 2 waypoints\n"
        "departure  Sat 5 Sep 2026, 09:00 UTC\n"
        "\n"
        "Assumed, because the files do not say\n"
        "-------------------------------------\n"
        "\n"
        "boat.toml "
    )
    assert "\nbattery.floor " in outcome.out
    assert "\nloads.csv  value  reason\n" in outcome.out
    assert "\n- Put a fuse at the battery's own terminal, sized for the cable.\n" in outcome.out
    assert max(map(len, outcome.out.splitlines())) <= 80


def test_a_warning_is_not_a_mistake(call, folder):
    (folder / "loads.csv").write_text(LOADS.replace("sailing,night", "anchored,night"))
    outcome = call("check", "azores", "--quiet")
    assert (outcome.code, outcome.err) == (0, "")
    assert outcome.out == (
        "No mistakes in Azores, 2 warnings.\n"
        "\n"
        "Warnings\n"
        "--------\n"
        "\n"
        "- no light that shines all night under sail: Rules 20(b), 25(a) and 25(b) of the\n"
        "  collision regulations ask for sidelights and a sternlight, or under 20 m all\n"
        "  three in one lantern at the masthead; add a line with role 'sailing lights',\n"
        "  when 'sailing', window 'night', on '100 %'\n"
        "- tricolour never runs on this route: the boat is never anchored; leave it as it\n"
        "  is if so meant: it takes nothing from the bank\n"
    )


def test_every_mistake_of_every_file_at_once(call, folder):
    (folder / "loads.csv").write_text(LOADS.replace("36 W", "3O W"))
    (folder / "boat.toml").write_text(BOAT.replace("110 Ah", "110 W"))
    outcome = call("check", "azores")
    assert (outcome.code, outcome.out) == (2, "")
    assert outcome.err == (
        "azores/boat.toml:10: battery.capacity: '110 W' is a power\n"
        "  expected  charge at the 20-hour rate, for example 220 Ah\n"
        "azores/loads.csv:3:2: draw (column B): cannot read '3O W'\n"
        "  expected  power or current while on, for example 36 W or 3 A\n"
        "  row       tiller pilot,3O W,sailing,always,20 %,pilot,useful\n"
        "\n"
        "2 problems\n"
    )


def test_no_such_folder(call, folder):
    assert call("check", "azore") == (
        2,
        "",
        "azore: no such folder\n"
        "  expected  a passage folder; powersim new azore makes one to fill in\n"
        "\n"
        "1 problem\n",
    )


def test_another_departure(call, folder):
    outcome = call("check", "azores", "--depart", "2027-01-02 03:04")
    assert "\ndeparture  Sat 2 Jan 2027, 03:04 UTC\n" in outcome.out
    outcome = call("check", "azores", "--depart", "tomorrow")
    assert (outcome.code, outcome.out) == (2, "")
    assert outcome.err.startswith("depart: ")


def test_the_same_as_json(call, folder):
    outcome = call("check", "azores", "--json")
    assert (outcome.code, outcome.err) == (0, "")
    answer = json.loads(outcome.out)
    assert answer["passage"] == "Azores"
    assert answer["depart_utc"] == "2026-09-05T09:00:00+00:00"
    assert answer["understood"]["boat"] == "Sula"
    assert answer["warnings"] == []
    assert {"place", "value", "reason"} == set(answer["assumptions"][0])
    assert answer["care"][0] == "Put a fuse at the battery's own terminal, sized for the cable."


def test_mistakes_as_json(call, folder):
    (folder / "loads.csv").write_text(LOADS.replace("36 W", "3O W"))
    outcome = call("check", "azores", "--json")
    assert (outcome.code, outcome.err) == (2, "")
    (problem,) = json.loads(outcome.out)["problems"]
    assert (problem["file"], problem["line"], problem["field"]) == ("azores/loads.csv", 3, 2)
    assert problem["text"] == "draw (column B): cannot read '3O W'"


def test_check_writes_nothing(call, folder):
    before = sorted(path.name for path in folder.parent.rglob("*"))
    call("check", "azores")
    assert sorted(path.name for path in folder.parent.rglob("*")) == before


def test_a_lithium_bank_that_will_be_too_cold_is_told_for_how_long(call, folder):
    """In February off Labrador the month's mean air is far below 0 degrees."""
    boat = BOAT.replace('"agm"', '"lifepo4"').replace("2026-09-05", "2026-02-05")
    (folder / "boat.toml").write_text(boat, encoding="utf-8")
    route = "waypoint,position,speed\nA,56 00 N 56 00 W,4 kn\nB,50 00 N 48 00 W,\n"
    (folder / "route.csv").write_text(route, encoding="utf-8")
    said = " ".join(call("check", "azores", "--quiet").out.split())
    assert said.startswith("No mistakes in Azores, 1 warning. ")
    assert "the bank is too cold to be charged for " in said
    assert "warm its space, heat it (temperature in [battery]), or take a lead-acid bank" in said
    (found,) = json.loads(call("check", "azores", "--json").out)["warnings"]
    assert "below 0 °C it takes nothing" in found["text"]
