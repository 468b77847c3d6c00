"""A boat without an engine hears nothing of engines, one with petrol nothing of diesel.

Every command is run on the last week of the demo, with its engine taken out or with a petrol engine
in its place.
"""

import json
import re

import pytest

from powersim.cli.main import run
from powersim.inputs.starter import demo_files

#: What belongs to an engine, wherever it stands in a word.
ENGINES = re.compile(r"engine|diesel|petrol|alternator|altern\.|carbon|exhaust|motoring|rpm", re.I)
#: The names of files and ids, which are the same for every boat.
NEUTRAL = re.compile(r'engine\.csv|href="#engine"|="engine"|engine_plan')
FEW = ("--step", "60 min", "--members", "20")
COMMANDS = (
    ("check",),
    ("simulate", "--step", "60 min", "--no-figures"),
    ("simulate", *FEW, "--no-figures"),
    ("endurance", "--step", "60 min"),
    ("plan", *FEW),
    pytest.param(("report", *FEW), marks=pytest.mark.slow),
)


def without_tables(text, *names):
    for name in names:
        text = re.sub(rf"\n\[{re.escape(name)}\].*?(?=\n\[|\n# Nothing)", "\n", text, flags=re.S)
    return text


@pytest.fixture
def boats(tmp_path, monkeypatch, capsys):
    """Runs a command on a boat and gives all that it printed, and the report's page."""
    monkeypatch.chdir(tmp_path)
    files = demo_files()
    head, *_, start, middle, end = [
        line for line in files["route.csv"].splitlines() if not line.startswith("#")
    ]
    files["route.csv"] = "\n".join((head, start, middle, end)) + "\n"

    def at_sea(kind, *command):
        folder = tmp_path / kind
        if not folder.exists():
            folder.mkdir()
            made = dict(files)
            if kind == "sail":
                tables = ("alternator", "engine", "fuel", "fuel.tank", "charging")
                made["boat.toml"] = without_tables(files["boat.toml"], *tables)
                made["route.csv"] = re.sub(
                    r"(; )?(\d h at (start|end)|15 % of calms)", "", files["route.csv"]
                )
                rows = files["loads.csv"].replace("0.14 L/h", "").splitlines()
                kept = [row for row in rows if "under engine" not in row and "steaming" not in row]
                made["loads.csv"] = "\n".join(kept) + "\n"
            else:
                made["boat.toml"] = files["boat.toml"].replace(
                    'rated = "14 kW"', 'kind = "petrol"\nrated = "14 kW"'
                )
                made["loads.csv"] = (
                    files["loads.csv"].replace("0.14 L/h", "").replace("diesel;", "")
                )
            for name, text in made.items():
                (folder / name).write_text(text, encoding="utf-8")
        run([command[0], kind, *command[1:]])
        told = capsys.readouterr()
        page = folder / "results" / "report.html"
        return told.out + (page.read_text(encoding="utf-8") if command[0] == "report" else "")

    return at_sea


@pytest.mark.parametrize(
    "command", [*COMMANDS, ("budget",)], ids=lambda command: " ".join(command[:2])
)
def test_without_an_engine(boats, command):
    told = re.sub(r"<style>.*?</style>", "", boats("sail", *command), flags=re.S)
    assert len(told) > 400
    assert ENGINES.findall(NEUTRAL.sub("", told)) == []


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: " ".join(command[:2]))
def test_with_petrol(boats, command):
    told = boats("petrol", *command)
    assert "petrol" in told.casefold()
    # A colour may be named so.
    told = re.sub(r"<style>.*?</style>|var\(--[^)]*\)", "", told, flags=re.S)
    assert "diesel" not in told.casefold()


def test_petrol_asks_for_its_own_cautions(boats):
    care = json.loads(boats("petrol", "check", "--json"))["care"]
    assert any("run the blower for some minutes" in one for one in care)
    assert any(one.startswith("Decant petrol in the open") for one in care)
    assert not any("glazes" in one for one in care)


def test_what_a_petrol_engine_burns_if_nobody_has_measured(boats):
    """By hand: at 45 % of its revs 0.15 x 14 x 0.45 = 0.945 L/h, and in gear 0.22 x 14 = 3.08."""
    understood = json.loads(boats("petrol", "check", "--json"))["understood"]
    assert understood["engine"] == "14 kW; 0.95 L/h charging, 3.08 L/h motoring"


def test_underway_without_an_engine(boats, tmp_path):
    """A log of two resting readings, a day and two after the start of the last week."""
    boats("sail", "check")
    (tmp_path / "sail" / "log.csv").write_text(
        "time,voltage,resting_h\n2026-09-06 09:00,12.6 V,3\n2026-09-07 09:00,12.5 V,3\n",
        encoding="utf-8",
    )
    told = boats("sail", "underway", *FEW)
    assert "From here to landfall" in told
    assert ENGINES.findall(told) == []
    assert "litre" not in told
