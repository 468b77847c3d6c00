"""`powersim underway` on a short passage and an invented log."""

import json

import pytest
from logged import LOG, NOW, write_logged

QUICK = ("--no-plan", "--members", "20", "--step", "60 min", "--now", NOW)


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """Six days of September in the North Atlantic, three of them sailed."""
    monkeypatch.chdir(tmp_path)
    return write_logged(tmp_path / "short")


def test_log_and_plan_are_compared_and_the_rest_is_sailed(call, folder):
    outcome = call("underway", "short", *QUICK)
    assert (outcome.code, outcome.err) == (0, "")
    assert max(map(len, outcome.out.splitlines())) <= 80
    for words in (
        "6 entries of the log",
        "Log and plan so far",
        "3 by rested voltage",
        "What is really going on",
        "what the loads draw",
        "From here to landfall",
        "3.1 days to go",
        "a forecast is no promise",
    ):
        assert words in outcome.out


def test_the_log_is_never_written_to(call, folder):
    path = folder / "log.csv"
    before = path.read_bytes(), path.stat().st_mtime_ns
    assert call("underway", "short", *QUICK).code == 0
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before
    assert sorted(one.name for one in folder.iterdir()) == [
        "boat.toml",
        "loads.csv",
        "log.csv",
        "route.csv",
    ]


def test_json_has_the_factors_and_the_bands(call, folder):
    answer = json.loads(call("underway", "short", *QUICK, "--json").out)
    assert answer["engine_from_log"] is True
    factors = answer["factors"]
    assert list(factors) == ["demand", "solar", "capacity", "burn", "alternator"]
    for one in factors.values():
        assert 0.3 < one["p10"] < one["factor"] < one["p90"] < 3.0
    assert answer["ahead"]["left_L"]["p10"] <= answer["ahead"]["left_L"]["p90"]
    assert 0.0 <= answer["now"]["soc"]["p10"] <= answer["now"]["soc"]["p90"] <= 1.0


def test_one_bad_entry_is_named_and_spoils_nothing(call, folder):
    good = json.loads(call("underway", "short", *QUICK, "--json").out)
    with (folder / "log.csv").open("a", encoding="utf-8") as log:
        log.write("2026-09-07 12:00,46 15 N 80 W,,,81.5,300 L,,90,\n2031-01-01 00:00,,,,,,,,\n")
    outcome = call("underway", "short", *QUICK, "--json")
    assert outcome.code == 0
    assert outcome.err.count("log.csv:8:") == 4
    assert "is long after landfall" in outcome.err
    answer = json.loads(outcome.out)
    assert answer["factors"] == good["factors"]
    assert len(answer["set_aside"]) == 5


def test_a_reading_that_nothing_explains_is_left_out_by_name(call, folder):
    text = LOG.replace("2026-09-07 18:00,47 15 N 20 W,12.41 V,,815.4,81 L", "2026-09-07 18:00,"
                       "47 15 N 20 W,12.41 V,,815.4,31 L")  # fmt: skip
    (folder / "log.csv").write_text(text, encoding="utf-8")
    outcome = call("underway", "short", *QUICK)
    assert "log.csv:6:6: dip (column F): says 91 L, which does not agree" in outcome.err


def test_without_a_log_it_says_so(call, folder):
    (folder / "log.csv").unlink()
    outcome = call("underway", "short", *QUICK)
    assert outcome.code == 2
    assert "log.csv" in outcome.err
    assert "Traceback" not in outcome.err


def test_an_entry_after_landfall_ends_it(call, folder):
    (folder / "log.csv").write_text(
        LOG + "2026-09-12 06:00,40 00 N 20 W,12.4 V,3 h,820,75 L,60 L,300,\n", encoding="utf-8"
    )
    outcome = call("underway", "short", *QUICK[:5], "--now", "2026-09-13 08:00")
    assert outcome.code == 0
    assert "She has arrived." in outcome.out


def test_now_must_be_a_moment(call, folder):
    outcome = call("underway", "short", "--now", "tomorrow")
    assert outcome.code == 2
    assert "for example 2026-09-05 09:00" in outcome.err


def test_a_log_of_one_time_alone_is_enough(call, folder):
    (folder / "log.csv").write_text("time\n2026-09-06 06:00\n", encoding="utf-8")
    outcome = call("underway", "short", *QUICK)
    assert outcome.code == 0
    assert "write engine_h down" in outcome.out


def test_a_new_rule_is_searched_and_held_against_her_own(call, folder):
    outcome = call("underway", "short", *QUICK[1:], "--risk", "20 %")
    assert (outcome.code, outcome.err) == (0, "")
    assert max(map(len, outcome.out.splitlines())) <= 80
    text = " ".join(outcome.out.split())
    for words in (
        "The new rule from here",
        "Searched in 20 simulated passages and checked in the 20 above",
        "Your risk is 20 %",
        "The rule, in ship's time",
        "By boat.toml's own rule",
    ):
        assert words in text


def test_json_has_the_new_rule_and_her_own_as_the_forecast_has_it(call, folder):
    answer = json.loads(call("underway", "short", *QUICK[1:], "--json").out)
    new, ahead = answer["new_rule"], answer["ahead"]
    assert new["judged_in"] == new["searched_in"] == 20
    own_L, charging_L = new["own_rule_mean"]["charging_L"], ahead["charging_L"]
    assert charging_L["p10"] <= own_L <= charging_L["p90"]
    assert json.loads(call("underway", "short", *QUICK, "--json").out)["new_rule"] is None


def test_without_an_alternator_no_rule_is_searched_for(call, folder):
    boat = folder / "boat.toml"
    text = boat.read_text(encoding="utf-8")
    begin, end = text.index("[alternator]"), text.index("[engine]")
    boat.write_text(text[:begin] + text[end:], encoding="utf-8")
    outcome = call("underway", "short", *QUICK[1:])
    assert outcome.code == 0
    assert "There is no alternator that the engine could charge with" in outcome.out
    assert json.loads(call("underway", "short", *QUICK[1:], "--json").out)["new_rule"] is None


def test_nothing_is_searched_for_after_landfall(call, folder):
    (folder / "log.csv").write_text(
        LOG + "2026-09-12 06:00,40 00 N 20 W,12.4 V,3 h,820,75 L,60 L,300,\n", encoding="utf-8"
    )
    outcome = call("underway", "short", *QUICK[1:5], "--now", "2026-09-13 08:00")
    assert "She has arrived." in outcome.out
    assert "new rule" not in outcome.out
