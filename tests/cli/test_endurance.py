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


def test_days_from_departure(call, demo):
    outcome = call("endurance", "south")
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
        "more than 32 days (landfall)",
        "the boat is kept on her legs",
    ):
        assert words in " ".join(outcome.out.split("\n"))


def test_the_same_for_a_program(call, demo):
    outcome = call("endurance", "south", "--json")
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


def test_days_from_another_moment(call, demo):
    answer = json.loads(call("endurance", "south", "--from", "2026-09-15 06:00", "--json").out)
    assert answer["from_utc"] == "2026-09-15T06:00:00+00:00"
    assert answer["soc"] < 1.0


@pytest.mark.parametrize(
    ("typed", "counted"),
    [("2026-09-05", "2026-09-05T12:00"), ("2026-10-07", "2026-10-07T0")],
)
def test_a_date_alone_on_the_first_and_the_last_day(call, demo, typed, counted):
    outcome = call("endurance", "south", "--from", typed, "--json")
    assert json.loads(outcome.out)["from_utc"].startswith(counted)


def test_a_moment_outside_the_passage_is_told_with_its_dates(call, demo):
    outcome = call("endurance", "south", "--from", "2026-12-01")
    assert (outcome.code, outcome.out) == (2, "")
    first, second, *_ = outcome.err.splitlines()
    assert first == "from: '2026-12-01' is not within the passage"
    assert second.startswith("  expected  a moment from 2026-09-05 09:00 to 2026-10-07 ")
    assert second.endswith(" UTC, for example 2026-09-05; or worst")


def test_what_is_no_date(call, demo):
    outcome = call("endurance", "south", "--from", "tomorrow")
    assert (outcome.code, outcome.out) == (2, "")
    assert outcome.err.startswith("from: cannot read 'tomorrow' as a date\n")
