"""docs/reference/commands.md is what the commands say of themselves today."""

import runpy
from pathlib import Path

import pytest

from powersim.cli.main import COMMANDS

DOCS = Path(__file__).resolve().parents[2] / "docs"


@pytest.fixture(scope="module")
def maker():
    return runpy.run_path(str(DOCS / "make_reference.py"))


def test_the_page_of_commands_is_not_stale(maker):
    page = (DOCS / "reference" / "commands.md").read_text(encoding="utf-8")
    assert page == maker["commands_page"](), "run: python docs/make_reference.py"


def test_every_command_has_its_section(maker):
    page = maker["commands_page"]()
    for name in ("", *COMMANDS):
        heading = f"## powersim {name}".rstrip()
        assert f"\n{heading}\n\n```text\nUsage: {heading[3:]} " in page


def test_writing_the_page_again_changes_nothing(maker, tmp_path, capsys):
    maker["main"].__globals__["PAGE"] = tmp_path / "commands.md"
    maker["main"]()
    assert (tmp_path / "commands.md").read_text(encoding="utf-8") == maker["commands_page"]()
    assert capsys.readouterr().out == f"wrote {tmp_path / 'commands.md'}\n"
