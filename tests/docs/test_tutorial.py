"""The tutorial, typed along from an empty folder: every file, command and answer on the page."""

import re
import runpy
import shlex

import pytest
from pages import ROOT

from powersim.cli.main import run

PAGE = ROOT / "docs" / "tutorial.md"
MAKER = runpy.run_path(str(ROOT / "docs" / "make_pictures.py"))


@pytest.mark.slow
@pytest.mark.usefixtures("undrawn")
def test_typed_along_it_says_what_the_page_says(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    folder = tmp_path / "my-boat"
    folder.mkdir()
    said, commands = "", 0
    for language, remark, text in MAKER["blocks_in_order"]():
        if language in ("toml", "csv"):
            MAKER["write_down"](folder, language, text)
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
    assert commands >= 7
    assert {path.name for path in (folder / "results").iterdir()} >= {"card.pdf", "report.html"}


@pytest.mark.parametrize("command", ["check", "budget", "simulate", "plan", "endurance", "report"])
def test_the_way_through_is_shown_whole(command):
    assert f"powersim {command} my-boat" in PAGE.read_text(encoding="utf-8")
