"""`powersim underway` with a logger's series: beside a log, and where there is none yet."""

import json
import math
import re

import pytest
from logged import NOW, write_logged

from powersim.inputs.folder import load_folder
from powersim.inputs.starter import starter_files

QUICK = ("--no-plan", "--members", "20", "--step", "60 min", "--now", NOW)


def series(*, head="Timestamp,Battery voltage (V),Battery current (A),PV current (A)", ahead_h=0):
    """Three days from departure: 2 A all the time, and panels from 09:20 to 17:20 UTC, which is
    about the middle of the day at 20 W."""
    lines = [head]
    for minute in range(0, 72 * 60, 20):
        hour = 9.0 + minute / 60.0
        sun = 3.0 if 9.33 <= hour % 24.0 < 17.33 else 0.0
        shown = hour + ahead_h
        clock = f"{math.floor(shown % 24):02}:{minute % 60:02}"
        lines.append(f"{5 + math.floor(shown / 24):02}/09/2026 {clock},12.5,{sun - 2.0},{sun}")
    return "\n".join(lines) + "\n"


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return write_logged(tmp_path / "short")


def test_it_stands_beside_what_the_log_says(call, folder):
    (folder / "logger.csv").write_text(series(), encoding="utf-8")
    outcome = call("underway", "short", *QUICK)
    assert outcome.code == 0
    # The log has the engine run, and the logger saw no charge: one of them is named.
    assert re.search(r"logger\.csv:\d+: logger, into the bank: says", outcome.err)
    assert max(map(len, outcome.out.splitlines())) <= 80
    places = [
        outcome.out.index(words)
        for words in ("What is really going on", "What the logger says", "From here to landfall")
    ]
    assert places == sorted(places)


def test_days_are_summed_and_what_was_taken_is_told(call, folder):
    """From dawn to dawn 24 h and a little: 16 h at 2 A are 32 Ah out, 8 h at 1 A 8 Ah in."""
    (folder / "log.csv").unlink()
    (folder / "logger.csv").write_text(series(), encoding="utf-8")
    outcome = call("underway", "short", *QUICK)
    assert outcome.code == 0
    told = "there is no log.csv: the ends of the logger's days and nights stand for its entries"
    assert outcome.err == f"Taken: {told}\n"
    words = " ".join(outcome.out.split())
    for said in (
        "216 rows, one every 20 min",
        "Battery current (A) (column C) is amperes at the bank",
        "or the dates would not be of this passage",
        "6 Sep 100 % 32 Ah 8.0 Ah 2.0 A 24 Ah 12.50 V",
        "It shows what flows out of the bank as below 0",
    ):
        assert said in words
    assert "logger, night load" in words
    assert "logger, into the bank" not in words  # nobody knows for how long the engine ran
    answer = json.loads(call("underway", "short", *QUICK, "--json").out)
    assert answer["logger"]["days"][1]["night_A"] == 2.0
    assert answer["logger"]["counts"] > 5


def test_a_clock_that_shows_another_time_is_told_and_put_right(call, folder):
    (folder / "log.csv").unlink()
    (folder / "logger.csv").write_text(series(ahead_h=3), encoding="utf-8")
    words = " ".join(call("underway", "short", "--now", NOW).out.split())
    lies = re.search(r"lies ([\d.]+) h after the sun's noon: the logger's clock does not", words)
    assert float(lies[1]) == pytest.approx(3.0, abs=0.3)
    told = call("underway", "short", *QUICK, "--logger-clock", "+03:00", "--json")
    answer = json.loads(told.out)["logger"]
    assert abs(answer["off_noon_h"]) < 0.3
    assert answer["counts"] > 5


def test_columns_are_named_where_headings_do_not_tell(call, folder):
    text = series(head="When,Bus 1,Shunt,Sun")
    (folder / "other.csv").write_text(text, encoding="utf-8")
    options = ("underway", "short", "--now", NOW, "--logger", "short/other.csv")
    outcome = call(*options)
    assert outcome.code == 2
    assert "other.csv:1: has no column for volts or amperes at the bank" in outcome.err
    (folder / "log.csv").unlink()
    columns = ("--logger-columns", "current=Shunt; voltage=Bus 1")
    named = call(*options, *columns, *QUICK[:-2])
    assert named.code == 0
    assert "Shunt (column C) is amperes at the bank" in named.out
    assert call(*options, "--logger-columns", "Shunt").code == 2
    assert call(*options, "--logger-clock", "noonish").code == 2


def test_a_file_that_cannot_be_read_does_not_stand_in_the_way_of_the_log(call, folder):
    (folder / "logger.csv").write_text("who,what\nme,that\n", encoding="utf-8")
    outcome = call("underway", "short", *QUICK)
    assert outcome.code == 0
    assert "logger.csv" in outcome.err
    (folder / "log.csv").unlink()
    assert call("underway", "short").code == 2


def test_nights_far_from_the_plan_make_no_diesel(call, tmp_path, monkeypatch):
    """Loads that draw two thirds make motoring unlikely; no member has less than none of it."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "light").mkdir()
    for name, text in starter_files("lithium").items():
        (tmp_path / "light" / name).write_text(text, encoding="utf-8")
    rows = []
    for hour in range(10, 82):
        sun_A = 12.0 * max(0.0, math.cos((hour - 13.8) * math.pi / 12.0))
        stamp = f"2026-12-{2 + hour // 24:02} {hour % 24:02}:00"
        rows.append(f"{stamp},13.2,{sun_A - 3.0:.2f},{sun_A:.2f}\n")
    text = "time,V,A,PV current\n" + "".join(rows)
    (tmp_path / "light" / "logger.csv").write_text(text, encoding="utf-8")
    told = call("underway", "light", *QUICK[:-1], "2026-12-05 12:00", "--members", "60", "--json")
    answer = json.loads(told.out)
    aboard_L = load_folder(tmp_path / "light").boat.fuel.aboard_L
    assert answer["now"]["fuel_left_L"]["p50"] < aboard_L
    assert answer["ahead"]["left_L"]["p90"] < aboard_L
