"""`powersim compare` on a short passage: what it prints, what it writes, what it refuses."""

import csv
import json
import os
import signal
import subprocess
import sys
import time

import pytest

import powersim
from powersim.inputs.change_cautions import warned
from powersim.inputs.starter import demo_files
from powersim.planning import compare as compare_module

#: Invented: two days from the Azores southwards on a bank that wants the engine.
FILES = {
    "boat.toml": (
        '[passage]\nname = "two days"\ndepart = "2026-09-05 09:00"\n'
        '[battery]\nchemistry = "flooded"\ncapacity = "100 Ah"\nat_departure = "70 %"\n'
        '[[panel]]\nname = "arch"\npower = "50 W"\nmount = "arch"\n'
        '[[controller]]\nkind = "mppt"\nrated = "10 A"\n'
        '[alternator]\ncharging = "40 A"\n'
        '[engine]\nrated = "10 kW"\n'
        '[fuel]\ntank = "50 L"\n'
        '[charging]\nstart = "60 %"\nstop = "75 %"\n'
    ),
    "loads.csv": "load,draw\npilot,12 W\nmusic,12 W\n",
    "route.csv": "waypoint,position,speed\nA,38 00 N 28 00 W,5 kn\nB,34 00 N 28 00 W,\n",
}
QUICK = ("--members", "20", "--jobs", "1", "--step", "60 min")
BARE = (*QUICK, "--no-figures", "--json")


def write(path, **changed):
    path.mkdir()
    for name, text in FILES.items():
        (path / name).write_text(changed.get(name.split(".")[0], text), encoding="utf-8")
    return path


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return write(tmp_path / "two-days")


def choices(outcome):
    return json.loads(outcome.out)["choices"]


def test_a_page_and_three_files(call, folder):
    outcome = call(
        "compare", "two-days", "--depart", "2026-09-01:2026-09-15:7d", "--without", "loads.music",
        *QUICK,
    )  # fmt: skip
    assert (outcome.code, outcome.err) == (0, "")
    assert max(map(len, outcome.out.splitlines())) <= 80
    # Three departures and the files' own, and the three without music.
    assert outcome.out.startswith("two days: 7 choices, each in the same 20 simulated passages.")
    for heading in ("What each comes to", "Against row 1, as she is, 5 Sep"):
        assert f"\n{heading}\n{'-' * len(heading)}\n" in outcome.out
    assert "no hurricane or cyclone" in outcome.out
    assert "Results in two-days/results: compare.csv, compare.json, compare.png." in outcome.out
    with (folder / "results" / "compare.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["depart_utc"][:16] for row in rows[:4]] == [
        "2026-09-05T09:00",
        "2026-09-01T09:00",
        "2026-09-08T09:00",
        "2026-09-15T09:00",
    ]
    assert [row["changed"] for row in rows] == [""] * 4 + ["music left off"] * 3
    kept = json.loads((folder / "results" / "compare.json").read_text(encoding="utf-8"))
    assert [one["fails"]["frac"] for one in kept["choices"]] == [
        float(row["fails_frac"]) for row in rows
    ]


def test_a_choice_is_what_simulate_says_of_it(call, folder):
    """Of another departure, of another bank and of both, to the last digit."""
    outcome = call(
        "compare", "two-days", "--depart", "2026-10-05", "--set", "battery.capacity=80 Ah", *BARE
    )
    found = choices(outcome)
    assert len(found) == 3
    for one, values in zip(found, ({}, {}, {"battery.capacity": "80 Ah"}), strict=True):
        passage = powersim.load(folder, depart=one["depart_utc"]).with_(values)
        told = powersim.simulate(passage, step_h=1.0, members=20).summary
        assert one["fails"] == told["verdict"]["fails"]
        assert one["left_L"] == told["ensemble"]["fuel_left_L"]
        assert one["lowest_soc"]["p10"] == told["ensemble"]["lowest_soc"]["p10"]
    assert found[2]["changed"] == ["battery.capacity 80 Ah (was 100 Ah)"]


@pytest.mark.slow
def test_several_processes_say_the_same(call, folder, monkeypatch):
    monkeypatch.setattr(compare_module, "_FEW", 0)
    asked = ("compare", "two-days", "--depart", "2026-09-01:2026-09-22:7d")
    alone = call(*asked, *BARE, "--out", "one")
    both = call(*asked, *BARE, "--jobs", "2", "--out", "two")
    assert alone.out == both.out
    assert alone.code == both.code


def test_folders_are_told_against_the_first(call, folder):
    bigger = FILES["boat.toml"].replace('"100 Ah"', '"200 Ah"')
    write(folder.parent / "bigger", boat=bigger)
    outcome = call("compare", "two-days", "bigger", *BARE)
    own, other = choices(outcome)
    assert (own["folder"], other["folder"]) == ("two-days", "bigger")
    assert other["differences"]["lowest_soc"]["mean"] > 0.0
    assert other["differences"]["lowest_soc"]["shows"]
    assert (folder / "results" / "compare.json").exists()


def test_a_departure_of_the_files_is_no_second_row(call, folder):
    asked = ("--depart", "2026-09-05", "--set", "battery.capacity=100 Ah")
    assert len(choices(call("compare", "two-days", *asked, *BARE))) == 1


def test_files_without_a_departure(call, folder):
    text = FILES["boat.toml"].replace('depart = "2026-09-05 09:00"\n', "")
    (folder / "boat.toml").write_text(text, encoding="utf-8")
    outcome = call("compare", "two-days", *BARE)
    assert outcome.code == 2
    assert "passage: no depart" in outcome.err
    found = choices(call("compare", "two-days", "--depart", "2026-09-05:2026-09-06:1d", *BARE))
    assert [one["depart_utc"] for one in found] == [
        "2026-09-05T12:00:00+00:00",
        "2026-09-06T12:00:00+00:00",
    ]


def test_none_that_holds_ends_in_one_and_any_that_holds_in_nothing(call, folder):
    """24 W, 48 Ah a day, from 70 Ah in a bank whose floor is at 50: dark or below it without an
    engine that is started in time; with nine times the bank two days need no engine."""
    text = FILES["boat.toml"].replace('start = "60 %"', 'start = "20 %"')
    (folder / "boat.toml").write_text(text, encoding="utf-8")
    outcome = call("compare", "two-days", "--depart", "2026-12-05", "--quiet", *QUICK)
    assert outcome.code == 1
    assert "NONE HOLDS" in outcome.out
    asked = ("--set", "battery.capacity=900 Ah", "--quiet")
    outcome = call("compare", "two-days", *asked, *QUICK)
    assert outcome.code == 0
    assert "1 HOLDS (row 2), 1 FAILS" in " ".join(outcome.out.split())


def test_a_lookout_is_not_left_off_without_a_word(call, folder):
    (folder / "loads.csv").write_text(
        "load,draw,role\npilot,12 W,pilot\nais,2 W,lookout\n", encoding="utf-8"
    )
    outcome = call("compare", "two-days", "--without", "loads.ais", "--quiet", *QUICK)
    said = " ".join(outcome.out.split())
    assert "- Row 2: Ais, your lookout while you sleep, is left off; keep it on at sea" in said


def test_everything_wrong_with_the_options_at_once(call, folder):
    outcome = call("compare", "two-days", "--depart", "soon", "--set", "battery", *QUICK)
    assert (outcome.code, outcome.out) == (2, "")
    assert "depart: cannot read 'soon' as a date" in outcome.err
    assert "set: 'battery' has no = between its place and its value" in outcome.err


def test_a_value_that_is_refused_is_told_once(call, folder):
    asked = ("--set", "battery.capacity=3 W", "--without", "loads.music", "--depart", "2026-10-01")
    outcome = call("compare", "two-days", *asked, *QUICK)
    assert outcome.code == 2
    assert outcome.err.count("'3 W' is a power") == 1


def test_a_value_that_one_of_two_boats_refuses_names_the_boat(call, folder):
    loads = FILES["loads.csv"].replace("music", "radio")
    write(folder.parent / "quiet", loads=loads)
    outcome = call("compare", "two-days", "quiet", "--without", "loads.music", *QUICK)
    assert (outcome.code, outcome.out) == (2, "")
    assert "no load 'music' (of quiet)" in outcome.err
    assert "of two-days" not in outcome.err


def test_what_leaving_off_breaks_elsewhere_is_told_with_what_was_left_off(call, folder):
    outcome = call("compare", "two-days", "--without", "engine", *QUICK)
    assert outcome.code == 2
    assert "alternator: there is no [engine] to turn it (without engine)" in outcome.err


def test_a_combination_that_is_refused_is_named(call, folder):
    """Each is fine alone: a start of 75 % and a stop at 70 %."""
    asked = ("--set", "charging.start=72 %", "--set", "charging.stop=70 %")
    outcome = call("compare", "two-days", *asked, *QUICK)
    assert outcome.code == 2
    said = " ".join(outcome.err.split())
    assert "(in the combination charging.start=72 % and charging.stop=70 %)" in said


def test_too_many_combinations_are_counted(call, folder):
    asked = ("--depart", "2026-01-01:2026-12-31:1d", "--set", "battery.capacity=100:130:10Ah")
    outcome = call("compare", "two-days", *asked)
    assert outcome.code == 2
    # 365 days, and four banks beside the one of the files.
    assert "compare: these make 1,825 combinations" in outcome.err


def test_what_is_in_the_way_is_said_before_anything_is_simulated(call, folder, monkeypatch):
    (folder / "results").mkdir()
    (folder / "results" / "compare.csv").write_text("mine", encoding="utf-8")
    monkeypatch.setattr(compare_module, "outcome_of", None)  # would fail
    outcome = call("compare", "two-days", *QUICK, "--no-figures")
    assert (outcome.code, outcome.out) == (2, "")
    assert "compare.csv" in outcome.err
    assert (folder / "results" / "compare.csv").read_text(encoding="utf-8") == "mine"


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="Ctrl-C is sent as a signal")
def test_ctrl_c_leaves_nothing_behind(folder):
    command = [sys.executable, "-m", "powersim", "compare", "two-days"]
    command += ["--depart", "2024-01-01:2026-09-01:1d", "--members", "200", "--jobs", "2"]
    process = subprocess.Popen(command, stderr=subprocess.PIPE, start_new_session=True)
    time.sleep(3.0)
    os.killpg(process.pid, signal.SIGINT)
    _, err = process.communicate(timeout=60)
    assert process.returncode == 130
    assert b"Traceback" not in err
    assert not (folder / "results").exists()


@pytest.mark.parametrize(
    ("left_off", "needed"),
    [("loads.masthead tricolour", True), ("loads.ais transponder", True), ("loads.music", False)],
)
def test_what_is_needed_at_sea_is_known_of_a_choice(tmp_path, left_off, needed):
    """Lights by Rules 20 and 25 of the collision regulations, a lookout by Rule 5 (from memory)."""
    for name, text in demo_files().items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    demo = powersim.load(tmp_path)
    assert not warned(demo, demo).needed_is_off
    assert warned(demo.with_(left_off, None), demo).needed_is_off is needed
