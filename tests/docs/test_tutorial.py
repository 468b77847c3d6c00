"""The tutorial, typed along from an empty folder: every file, command and answer on the page."""

import re
import runpy
import shlex

import pytest
from pages import ROOT

from powersim.cli.main import run
from powersim.tryout.server import Server
from powersim.tryout.session import Session

PAGE = ROOT / "docs" / "tutorial.md"
#: What is tried on the page, and which measures of its answer the tutorial shows.
CHANGES = [{"place": "panel.1.power", "value": "100 W"}]
SHOWN = ("fails", "runs", "charging", "left")
MAKER = runpy.run_path(str(ROOT / "docs" / "make_pictures.py"))


@pytest.mark.slow
@pytest.mark.usefixtures("undrawn")
def test_typed_along_it_says_what_the_page_says(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setitem(Server.__init__.__kwdefaults__, "idle_s", 0.0)  # a page that ends at once
    folder = tmp_path / "my-boat"
    folder.mkdir()
    said, commands, tried = "", 0, None
    for language, remark, text in MAKER["blocks_in_order"]():
        if tried and language == "toml":  # the page has put it into the files
            tried.save({"changes": CHANGES, "into": "files"})
            assert text in (folder / "boat.toml").read_text(encoding="utf-8")
            tried = None
        elif language in ("toml", "csv"):
            MAKER["write_down"](folder, language, text)
        elif text.startswith("powersim try "):
            assert run([*shlex.split(text)[1:], "--no-browser"]) == 0
            assert "http://" in capsys.readouterr().out
            tried, commands = Session(folder), commands + 1
            said = answer_told(tried.answer({"changes": CHANGES, "number": 1}))
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
                assert words(part) in words(said) if tried else part.rstrip("\n") in said
    assert commands >= 9
    assert {path.name for path in (folder / "results").iterdir()} >= {"card.pdf", "report.html"}


def answer_told(answer):
    """What stands on the page: the verdict, and those lines of its table that the tutorial has."""
    lines = ["{word} {sentence}".format_map(answer["verdict"])]
    lines += [
        "{label} {told} {difference}".format_map(one)
        for one in answer["measures"]
        if one["id"] in SHOWN
    ]
    return "\n".join(lines)


def words(text):
    """In one line, with single blanks."""
    return " ".join(text.split())


@pytest.mark.parametrize(
    "command", ["check", "budget", "simulate", "plan", "try", "compare", "endurance", "report"]
)
def test_the_way_through_is_shown_whole(command):
    assert f"powersim {command} my-boat" in PAGE.read_text(encoding="utf-8")
