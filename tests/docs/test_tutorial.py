"""The tutorial, typed along from an empty folder: every file, command and answer on the page."""

import re
import shlex

import pytest
from pages import ROOT

from powersim.cli.main import run

PAGE = ROOT / "docs" / "tutorial.md"
_BLOCK = re.compile(r"^```(\w+)([^\n]*)\n(.*?)^```$", re.DOTALL | re.MULTILINE)
_TABLES = {"load,": "loads.csv", "waypoint,": "route.csv"}


def blocks_in_order():
    """(language, remark, text) of each block of the page."""
    return _BLOCK.findall(PAGE.read_text(encoding="utf-8"))


def write_down(folder, language, text):
    """A file of the page, or the last table of boat.toml anew."""
    if language == "csv":
        (name,) = (name for start, name in _TABLES.items() if text.startswith(start))
    else:
        name = "boat.toml"
    path = folder / name
    if text.startswith("[charging]"):
        before, _, _ = path.read_text(encoding="utf-8").partition("[charging]")
        text = before + text
    path.write_text(text, encoding="utf-8")


def test_typed_along_it_says_what_the_page_says(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    folder = tmp_path / "my-boat"
    folder.mkdir()
    said, commands = "", 0
    for language, remark, text in blocks_in_order():
        if language in ("toml", "csv"):
            write_down(folder, language, text)
        elif language == "sh":
            said = ""
            for line in text.splitlines():
                code = run(shlex.split(line)[1:])
                told = capsys.readouterr()
                assert code == (1 if remark.strip() == "fails" else 0), f"{line}\n{told.out}"
                assert told.err == ""
                said, commands = said + told.out, commands + 1
        else:
            assert language == "text"
            for part in re.split(r"^\.\.\.\n", text, flags=re.MULTILINE):
                # The last line of a part may go on in what was said.
                assert part.rstrip("\n") in said
    assert commands >= 8
    assert {path.name for path in (folder / "results").iterdir()} >= {"card.pdf", "report.html"}


@pytest.mark.parametrize("command", ["check", "budget", "simulate", "plan", "endurance", "report"])
def test_the_way_through_is_shown_whole(command):
    assert f"powersim {command} my-boat" in PAGE.read_text(encoding="utf-8")
