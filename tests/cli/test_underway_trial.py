"""`powersim underway` with a sea trial: beside a log, and where there is none yet."""

import json

import pytest
from logged import NOW, write_logged

QUICK = ("--no-plan", "--members", "20", "--step", "60 min", "--now", NOW)
TRIAL = """\
load,idle,on,off,voltage
,,,0.02 A,12.7 V
vhf radio,0.27 A,5.4 A,0.02 A,12.6 V
masthead tricolour,,0.24 A,0.03 A,12.6 V
"""


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """The logged passage, with a trial."""
    monkeypatch.chdir(tmp_path)
    folder = write_logged(tmp_path / "short")
    (folder / "trial.csv").write_text(TRIAL, encoding="utf-8")
    return folder


def test_it_stands_beside_what_the_log_says(call, folder):
    outcome = call("underway", "short", *QUICK)
    assert (outcome.code, outcome.err) == (0, "")
    assert max(map(len, outcome.out.splitlines())) <= 80
    places = [
        outcome.out.index(words)
        for words in ("What is really going on", "in the sea trial", "From here to landfall")
    ]
    assert places == sorted(places)


def test_two_days_before_leaving_there_is_no_log_yet(call, folder):
    (folder / "log.csv").unlink()
    outcome = call("underway", "short")
    assert (outcome.code, outcome.err) == (0, "")
    words = " ".join(outcome.out.split())
    assert "vhf radio at work 5.00 A 5.38 A 0.22 A more" in words
    assert "There is no log.csv yet." in outcome.out
    answer = json.loads(call("underway", "short", "--json").out)
    assert [one["loads"] for one in answer["trial"]["draws"]] == [
        ["masthead tricolour"],
        ["vhf radio"],
        ["vhf radio"],
    ]
    assert "vhf radio" in answer["trial"]["day_Ah"]


def test_a_sheet_that_cannot_be_read_does_not_stand_in_the_way_of_the_log(call, folder):
    (folder / "trial.csv").write_text("who,what\nme,that\n", encoding="utf-8")
    outcome = call("underway", "short", *QUICK)
    assert outcome.code == 0
    assert "trial.csv:1" in outcome.err
    named = call("underway", "short", *QUICK, "--trial", "short/trial.csv")
    assert named.code == 2
    (folder / "log.csv").unlink()
    assert call("underway", "short").code == 2


def test_a_reading_that_does_not_follow_is_named(call, folder):
    text = TRIAL + "vhf radio,0.26 A,54 A,0.02 A,12.6 V\nvhf radio,,5.4 A,0.02 A,\n"
    (folder / "log.csv").unlink()
    (folder / "other.csv").write_text(text, encoding="utf-8")
    outcome = call("underway", "short", "--trial", "short/other.csv")
    assert outcome.code == 0
    assert "other.csv:5:3: on (column C): 49 A off what the other readings explain" in outcome.err
