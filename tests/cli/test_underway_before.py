"""`powersim underway` on a log that was kept before leaving."""

import json

import pytest
from logged import write_logged

QUICK = ("--no-plan", "--members", "60", "--step", "60 min", "--now", "2026-09-05 07:00")
#: Two nights at anchor by the volts, and the day between them, before leaving on the 5th at 09:00.
LOG = """\
time,voltage,resting_h,soc,engine_h,solar_Ah
2026-09-03 06:00,,,95 %,812.3,1000
2026-09-03 18:00,,,97 %,812.3,1030
2026-09-04 06:00,,,88 %,812.3,1030
2026-09-04 18:00,,,90 %,812.3,1052
2026-09-05 06:00,,,81 %,812.3,1052
"""


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    folder = write_logged(tmp_path / "short")
    (folder / "log.csv").write_text(LOG, encoding="utf-8")
    return folder


def test_two_days_before_leaving_are_held_against_a_stay(call, folder):
    outcome = call("underway", "short", *QUICK)
    assert (outcome.code, outcome.err) == (0, "")
    assert max(map(len, outcome.out.splitlines())) <= 80
    words = " ".join(outcome.out.split())
    for said in (
        "5 entries of the log",
        "2.0 days in all.",
        "The log was kept before leaving: it is held against a stay, at anchor, at the first",
        "from 2026-09-03 06:00 UTC on",
        "It begins at 95 %, by the monitor at the first entry.",
        "2.0 days of log is short",
        "Read next: the dip stick once a day; the amperes in absorption, once (absorb_A); each "
        "load by itself",
        "From here to landfall",
    ):
        assert said in words
    answer = json.loads(call("underway", "short", *QUICK, "--json").out)
    assert answer["entries"] == 5
    assert answer["before_departure"] == {
        "since_utc": "2026-09-03T06:00:00+00:00",
        "state": "anchored",
        "begin_soc": 0.95,
        "told_by": "the monitor at the first entry",
    }
    # The rest is sailed from about the charge that the log ends with, and not from a full bank.
    assert answer["now"]["soc"]["p50"] == pytest.approx(0.81, abs=0.1)
    assert answer["ahead"]["days_to_landfall"] == pytest.approx(6.0 + 3.0 / 24.0, abs=0.2)


def test_a_log_that_goes_on_after_departure_is_read_as_ever(call, folder):
    """What is before departure is set aside by name, and no stay is made of it."""
    more = "2026-09-05 18:00,,,85 %,813.0,1060\n"
    (folder / "log.csv").write_text(LOG + more, encoding="utf-8")
    outcome = call("underway", "short", *QUICK[:-1], "2026-09-05 20:00")
    assert outcome.code == 0
    assert outcome.err.count("is before departure") == 5
    assert "kept before leaving" not in outcome.out


def test_a_log_of_last_year_is_no_stay(call, folder):
    (folder / "log.csv").write_text(LOG.replace("2026-", "2025-"), encoding="utf-8")
    outcome = call("underway", "short", *QUICK)
    assert outcome.code == 2
    assert "is before departure" in outcome.err


@pytest.mark.parametrize(
    ("first", "soc", "told"),
    [
        ("12.50 V,3,,", 0.76, "the volts of the first entry"),
        (",,,-22 Ah", 0.89, "the monitor's count at the first entry"),
        (",,,", 1.0, "boat.toml, since the first entry has no reading that tells it"),
    ],
)
def test_what_the_stay_begins_with(folder, first, soc, told):
    """220 Ah of 90 % health: 22 Ah are 11 %. By volts, see tests of the rested curve."""
    from powersim.api.log_read import read_for
    from powersim.inputs.folder import load_folder
    from powersim.logbook.days_before import days_before

    head = "time,voltage,resting_h,soc,monitor_Ah\n"
    (folder / "log.csv").write_text(f"{head}2026-09-03 06:00,{first}\n", encoding="utf-8")
    passage = load_folder(folder)
    before = days_before(passage, read_for(passage, None))
    assert before.told_by == told
    assert before.begin_soc == pytest.approx(soc, abs=0.06)
    assert before.passage.waypoints[0].stop_h == pytest.approx(51.0)
