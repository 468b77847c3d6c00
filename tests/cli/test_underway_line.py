"""`powersim underway --line`: a day's readings as one line, and the day's advice as one line."""

import json

import pytest
from logged import NOW, write_logged

from powersim.records.gsm import MOST_LETTERS, strangers

QUICK = ("--members", "20", "--step", "60 min", "--now", NOW)
LINES = (
    "5SEP 1000Z 12.70V ENG812.3H DIP84L CANS60L SUN100AH",
    "6SEP 0600Z 50-15N 020-00W 12.50V REST3H ENG812.3H SUN118AH",
    "6SEP 1800Z 49-15N 020-00W 12.52V ENG813.9H DIP82.5L CANS60L SUN140AH",
    "7SEP 0600Z 48-15N 020-00W 12.36V REST3H ENG813.9H SUN140AH",
    "7SEP 1800Z 47-15N 020-00W 12.41V ENG815.4H DIP81L CANS60L SUN166AH",
    "8SEP 0600Z 46-15N 020-00W 12.31V REST3H ENG815.4H SUN166AH",
)


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return write_logged(tmp_path / "short")


def test_lines_say_what_the_log_says_and_the_answer_is_a_line(call, folder):
    """The same readings as the log's, so the same answer to the last figure."""
    by_log = json.loads(call("underway", "short", *QUICK, "--no-plan", "--json").out)
    (folder / "log.csv").unlink()
    (folder / "lines.txt").write_text("\n".join(LINES), encoding="utf-8")
    told = ("--lines", "short/lines.txt")
    by_lines = json.loads(call("underway", "short", *QUICK, "--no-plan", "--json", *told).out)
    line = by_lines.pop("advice_line")
    assert {**by_lines, "set_aside": []} == {**by_log, "set_aside": []}
    outcome = call("underway", "short", *QUICK, "--no-plan", *told)
    assert outcome.code == 0
    assert outcome.out == line + "\n"
    assert len(line) <= MOST_LETTERS
    assert strangers(line) == ""
    now = by_log["now"]["soc"]
    assert f"CHARGE {100 * now['p50']:.0f}%" in line
    assert "46-15N 020-00W, 2H OLD" in line
    assert outcome.err.startswith("Read: 3 earlier, and the last of them\nRead: 7SEP26 0600Z")
    assert "8SEP26 0600Z 46-15.0N 020-00.0W 12.31V REST3H ENG815.4H SUN166AH CK81" in outcome.err


def test_lines_come_from_the_command_line_too_and_beside_the_log(call, folder):
    log = (folder / "log.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    (folder / "log.csv").write_text("".join(log[:-1]), encoding="utf-8")
    before = (folder / "log.csv").read_bytes()
    outcome = call("underway", "short", *QUICK, "--no-plan", "--line", LINES[-1])
    assert outcome.code == 0
    assert "46-15N 020-00W, 2H OLD" in outcome.out
    assert (folder / "log.csv").read_bytes() == before


def test_the_rule_that_is_searched_decides_whether_she_holds(call, folder):
    """The line says HOLDS where the view does, and its share."""
    whole = call("underway", "short", *QUICK).out
    line = call("underway", "short", *QUICK, "--line", "8SEP 0800Z 72%").out
    assert "\nHOLDS" in whole
    assert line.startswith("HOLDS, ")
    assert "KEEP ALL ON" in line


def test_what_was_not_used_of_the_last_line_is_said(call, folder):
    wrong_sign = "8SEP 0700Z 46-10N 020-00E 12.31V REST3H FOO"
    outcome = call("underway", "short", *QUICK, "--no-plan", "--line", wrong_sign)
    assert "NOT USED: " in outcome.out
    assert "POSITION" in outcome.out
    assert "FIX 8SEP 46-15N" in outcome.out
    assert "nm off the route" in outcome.err
    garbled = ("--line", LINES[-1], "--line", "8SEP 0700Z 72% CK99")
    outcome = call("underway", "short", *QUICK, "--no-plan", *garbled)
    assert "NOT USED: THE LAST LINE" in outcome.out
    assert "one of them is wrong" in outcome.err


def test_a_line_that_cannot_be_read_is_an_error(call, folder):
    (folder / "log.csv").unlink()
    outcome = call("underway", "short", *QUICK, "--line", "12.31V")
    assert (outcome.code, outcome.out) == (2, "")
    assert "line:1: says no time that can be read" in outcome.err
