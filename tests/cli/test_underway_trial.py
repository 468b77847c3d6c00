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
    told = outcome.out[places[1] : places[2]]
    assert "vhf radio  at work" in told  # beyond its doubt; the others are counted
    assert "2 draws of the trial are as filed." in told
    assert "Not on the sheet" not in told


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


def test_what_was_measured_beyond_its_doubt_is_written_back(call, folder):
    """5.38 A, give or take 0.22 A, are not 5 A; 2.8 W, give or take 0.3 W, are about 2.5 W."""
    (folder / "log.csv").unlink()
    before = (folder / "loads.csv").read_text(encoding="utf-8")
    outcome = call("underway", "short", "--write-back", "as-measured")
    assert (outcome.code, outcome.err) == (0, "")
    assert "loads.csv  draw (vhf radio)  5 A  5.38 A" in outcome.out
    after = (folder.parent / "as-measured" / "loads.csv").read_text(encoding="utf-8")
    changed = [
        (old, new)
        for old, new in zip(before.splitlines(), after.splitlines(), strict=True)
        if old != new
    ]
    assert [(old.split(",")[:3], new.split(",")[:3]) for old, new in changed] == [
        (["vhf radio", "5 A", "0.25 A"], ["vhf radio", "5.38 A", "0.25 A"])
    ]
    assert call("check", "as-measured").code == 0


def test_an_idle_draw_that_the_file_lacks_is_written_into_its_empty_cell(call, folder):
    (folder / "log.csv").unlink()
    more = "bilge pump,0.32 A,5.02 A,0.02 A,12.6 V\n"
    (folder / "trial.csv").write_text(TRIAL + more, encoding="utf-8")
    outcome = call("underway", "short", "--write-back", "as-measured", "--json")
    written = json.loads(outcome.out)["written"]
    (idle,) = [one for one in written if one["place"] == "standby (bilge pump)"]
    assert (idle["old"], idle["added"]) == ("-", True)
    assert float(idle["new"].removesuffix(" A")) == pytest.approx(0.3, abs=0.01)


def test_beside_a_log_a_measured_load_keeps_its_states_apart(call, folder):
    """The log may move a load as a whole; what it draws at work stays what the meter showed."""
    outcome = call("underway", "short", *QUICK, "--write-back", "as-she-is", "--json")
    written = {one["place"]: one["new"] for one in json.loads(outcome.out)["written"]}
    assert float(written["draw (vhf radio)"].split()[0]) == pytest.approx(5.38, abs=0.15)
    assert "standby (vhf radio)" not in written


def test_a_logger_alone_has_nothing_to_write(call, folder):
    (folder / "log.csv").unlink()
    (folder / "trial.csv").unlink()
    rows = "".join(f"2026-09-01 {hour:02}:00,12.5,-2\n" for hour in range(24))
    (folder / "logger.csv").write_text("time,V,A\n" + rows, encoding="utf-8")
    outcome = call("underway", "short", "--write-back", "as-measured")
    assert outcome.code == 2
    assert "--write-back needs a log or a sea trial" in outcome.err
