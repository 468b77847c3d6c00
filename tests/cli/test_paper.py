"""`powersim paper` on a short passage of the demo's boat."""

import json

import pytest

from powersim.inputs.starter import demo_files

ROUTE = "waypoint,position,speed\nStart,52 00.0 N 020 00.0 W,5 kn\nEnd,48 00.0 N 020 00.0 W,\n"
QUICK = ("--members", "30", "--step", "60 min")


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """Two days of September in the North Atlantic."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "short").mkdir()
    for name, text in (demo_files() | {"route.csv": ROUTE}).items():
        (tmp_path / "short" / name).write_text(text, encoding="utf-8")
    return tmp_path


def test_a_table_is_printed_and_written_to_be_pinned_up(call, folder):
    outcome = call("paper", "short", *QUICK)
    assert (outcome.code, outcome.err) == (0, "")
    assert max(map(len, outcome.out.splitlines())) <= 80
    for words in ("HOLDS", "at 06:00", "clear", "If unsure, take the greyer", "own rule"):
        assert words in outcome.out
    page = folder / "short" / "results" / "paper.pdf"
    assert page.read_bytes().startswith(b"%PDF")


def test_a_table_that_fails_is_not_written_and_the_exit_code_says_so(call, folder):
    """Half a bank without sun, and an alternator of 4 A: no table keeps that above its floor."""
    weak = ("alternator.charging=4 A", "battery.at_departure=60 %", "panel.arch.count=0")
    changed = [word for one in weak for word in ("--set", one)]
    outcome = call("paper", "short", *QUICK, *changed)
    assert outcome.code == 1
    assert "No table is offered" in outcome.out
    assert "run now" not in outcome.out
    told = json.loads(call("paper", "short", *QUICK, *changed, "--json").out)
    assert not told["holds"]
    assert len(told["table"]["runs_h"]) == len(told["table"]["levels_soc"])
    assert not list(folder.glob("short/**/paper.pdf"))


def test_a_boat_whose_engine_charges_nothing_is_told_so(call, folder):
    outcome = call("paper", "short", *QUICK, "--without", "alternator")
    assert outcome.code == 2
    assert "there is no alternator that the engine could charge with" in outcome.err
