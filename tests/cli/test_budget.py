"""`powersim budget` on the demo passage."""

import json

import pytest

from powersim.inputs.starter import demo_files


@pytest.fixture
def demo(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "south").mkdir()
    for name, text in demo_files().items():
        (tmp_path / "south" / name).write_text(text, encoding="utf-8")


def test_days_along_the_route(call, demo):
    outcome = call("budget", "south")
    assert (outcome.code, outcome.err) == (0, "")
    assert max(map(len, outcome.out.splitlines())) <= 80
    assert outcome.out.startswith("Iceland to Cabo Verde: what is taken from the bank in a day")
    header = next(line for line in outcome.out.splitlines() if line.startswith("24 hours from"))
    assert header.split()[3:5] == ["5", "Sep"]
    assert header.endswith("mean Wh")
    for row in ("latitude", "hours of night", "protected", "in all, Wh", "berthed"):
        assert f"\n{row} " in outcome.out


def test_chosen_days_for_a_program(call, demo):
    outcome = call("budget", "south", "--date", "2026-09-12", "--date", "2026-10-01", "--json")
    assert outcome.code == 0
    answer = json.loads(outcome.out)
    assert [day["start_utc"][:10] for day in answer["days"]] == ["2026-09-12", "2026-10-01"]
    assert answer["nominal_V"] == 12.0
    for day in answer["days"]:
        assert day["total_Wh"] == pytest.approx(12.0 * day["total_Ah"])
        assert sum(day["groups_Ah"].values()) == pytest.approx(day["total_Ah"])


def test_a_day_outside_the_passage(call, demo):
    outcome = call("budget", "south", "--date", "2027-01-01")
    assert (outcome.code, outcome.out) == (2, "")
    assert outcome.err.startswith("date: '2027-01-01' is not within the passage\n")


def test_more_days_than_a_page_has_room_for(call, demo):
    outcome = call("budget", "south", *(["--date", "2026-09-12"] * 6))
    assert (outcome.code, outcome.out) == (2, "")
    assert outcome.err.endswith("Error: at most 5 dates fit on a page, got 6\n")
