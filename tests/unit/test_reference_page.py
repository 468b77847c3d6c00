"""docs/reference is what the commands and the readers say of themselves today."""

import re
import runpy
import shutil
from pathlib import Path

import pytest

from powersim.cli.main import COMMANDS

DOCS = Path(__file__).resolve().parents[2] / "docs"
STALE = "run: python docs/make_reference.py"


@pytest.fixture(scope="module")
def maker():
    return runpy.run_path(str(DOCS / "make_reference.py"))


def page(name):
    return (DOCS / "reference" / name).read_text(encoding="utf-8")


def test_the_page_of_commands_is_not_stale(maker):
    assert page("commands.md") == maker["commands_page"](), STALE


def test_every_command_has_its_section(maker):
    written = maker["commands_page"]()
    for name in ("", *COMMANDS):
        heading = f"## powersim {name}".rstrip()
        assert f"\n{heading}\n\n```text\nUsage: {heading[3:]} " in written


def test_the_tables_of_files_are_not_stale(maker):
    written = page("files.md")
    assert written == maker["files_page"](written), STALE


def test_every_table_of_boat_toml_is_on_the_page(maker):
    marks = re.findall(r"<!-- generated: (\S+) -->", page("files.md"))
    wanted = {
        *maker["KEYS_BY_TABLE"],
        "shade",
        "fuel.tank",
        "charging.costs",
        "curve",
        "units",
        "voltages",
        "loads.csv",
        "route.csv",
        "log.csv",
        "trial.csv",
    }
    assert len(marks) == len(set(marks))
    assert set(marks) == wanted


def test_what_stands_between_the_marks_is_written_anew(maker):
    old = "before\n<!-- generated: boat -->\n| old |\n<!-- end -->\nafter\n"
    assert maker["files_page"](old) == (
        "before\n<!-- generated: boat -->\n\n"
        "| key | what it holds | accepted | default and why | example |\n"
        "| --- | --- | --- | --- | --- |\n"
        '| `name` | what she is called | 1 to 60 letters | the boat | "Tern" |\n'
        "\n<!-- end -->\nafter\n"
    )


def test_a_default_names_the_chemistries_that_it_is_for(maker):
    defaults = maker["boat_defaults"]()
    # design figures: 60 % of the nameplate hot, lithium limited to half; common practice.
    assert defaults["alternator.charging"] == (
        "flooded, gel, agm: 60 A; 60 % of the nameplate, hot; (practice)<br>"
        "lifepo4: 50 A; 50 % of the nameplate, so that lithium does not burn it; (practice)"
    )
    assert defaults["battery.nominal"] == "12 V; most small boats"


def test_no_default_is_left_blank_and_none_is_told_by_hand_that_check_tells(maker):
    """A key without a word on its default would leave the sailor guessing."""
    rows = [line.split(" | ") for line in page("files.md").splitlines() if line.startswith("| `")]
    tables = [row for row in rows if len(row) in (5, 6)]
    assert len(tables) == len(rows) - rows_of_units()
    for row in tables:
        assert row[3].strip(), row
    told_by_check = maker["boat_defaults"]().keys() & maker["_OTHERWISE"].keys()
    assert not told_by_check


def rows_of_units():
    between = page("files.md").split("<!-- generated: units -->")[1].split("<!-- end -->")[0]
    return sum(line.startswith("| `") for line in between.splitlines())


def test_writing_the_pages_again_changes_nothing(maker, tmp_path, capsys):
    shutil.copy(DOCS / "reference" / "files.md", tmp_path)
    maker["main"].__globals__["FOLDER"] = tmp_path
    maker["main"]()
    for name in ("commands.md", "files.md"):
        assert (tmp_path / name).read_text(encoding="utf-8") == page(name)
    assert capsys.readouterr().out == (
        f"wrote {tmp_path / 'commands.md'}\nwrote {tmp_path / 'files.md'}\n"
    )
