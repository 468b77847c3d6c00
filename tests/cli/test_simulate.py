"""`powersim simulate` on the demo passage."""

import json
import os
import shutil
import sys
from pathlib import Path

import pytest

from powersim.cli.progress import told_if_slow
from powersim.inputs.starter import demo_files
from powersim.report import file_moves

TABLES = ["daily.csv", "engine.csv", "hourly.csv", "summary.json"]
OF_MEMBERS = ["bands.csv", "members.csv", "risk.csv"]
#: In average weather the demo holds, and that takes no longer than it must.
ALONE = ("--members", "1")


@pytest.fixture
def demo(tmp_path, monkeypatch):
    """The demo passage in a folder "south" where the command is run."""
    monkeypatch.chdir(tmp_path)
    folder = tmp_path / "south"
    folder.mkdir()
    for name, text in demo_files().items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def changed(folder, old, new):
    path = folder / "boat.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def written(folder):
    return sorted(path.name for path in folder.iterdir() if not path.name.startswith("."))


def test_many_passages_are_simulated_unless_one_is_asked_for(call, demo):
    outcome = call("simulate", "south", "--no-figures", "--step", "60 min")
    answer = json.loads((demo / "results" / "summary.json").read_text(encoding="utf-8"))
    assert (outcome.code, outcome.err) == (int(not answer["holds"]), "")
    assert answer["verdict"]["members"] == 200
    lines = outcome.out.splitlines()
    assert len(lines) < 75
    assert max(map(len, lines)) <= 80
    assert " of 200 simulated passages, " in lines[2]
    assert written(demo / "results") == sorted([*TABLES, *OF_MEMBERS])


def test_a_passage_that_fails_is_told_what_to_do_with_the_folder_that_was_typed(call, demo):
    changed(demo, 'capacity = "220 Ah"', 'capacity = "100 Ah"')
    hour = ("--no-figures", "--quiet", "--members", "20", "--step", "60 min")
    outcome = call("simulate", "south", *hour)
    assert outcome.code == 1
    assert "\nnext      'powersim plan south' looks for a charging rule that" in outcome.out


def test_the_demo_in_average_weather_holds_and_fits_a_page(call, demo):
    outcome = call("simulate", "south", *ALONE)
    assert (outcome.code, outcome.err) == (0, "")
    lines = outcome.out.splitlines()
    assert len(lines) < 40
    assert max(map(len, lines)) <= 80
    names = [line.split()[0] for line in lines[2:8] if not line.startswith(" ")]
    assert names == ["HOLDS", "lowest", "engine", "diesel", "bank"]
    assert lines[2].startswith("HOLDS   in average weather alone (no grey week, no calm): ")
    assert "; at the worst moment, " in " ".join(outcome.out.split())
    assert "\nResults in south/results: hourly.csv," in outcome.out
    assert written(demo / "results") == sorted([*TABLES, "energy.png", "soc.png"])


def test_without_figures_elsewhere_and_in_brief(call, demo):
    outcome = call("simulate", "south", "--no-figures", "--quiet", "--out", "there", *ALONE)
    assert outcome.code == 0
    assert len(outcome.out.splitlines()) == 9
    assert written(demo.parent / "there") == TABLES
    assert not (demo / "results").exists()


def test_pictures_of_another_kind(call, demo):
    outcome = call("simulate", "south", "--quiet", "--format", "svg", *ALONE)
    assert outcome.code == 0
    assert written(demo / "results") == sorted([*TABLES, "energy.svg", "soc.svg"])
    refused = call("simulate", "south", "--format", "gif")
    assert (refused.code, refused.out) == (2, "")
    assert "'gif' is not one of" in refused.err


def test_a_passage_that_fails_is_exit_code_1_and_its_results_are_there(call, demo):
    changed(demo, 'capacity = "220 Ah"', 'capacity = "60 Ah"')
    outcome = call("simulate", "south", "--no-figures", *ALONE)
    assert (outcome.code, outcome.err) == (1, "")
    assert "\nFAILS   in average weather alone (no grey week, no calm): charge is" in outcome.out
    assert written(demo / "results") == TABLES


def test_json_is_what_the_file_holds(call, demo):
    outcome = call("simulate", "south", "--no-figures", "--json", *ALONE)
    assert outcome.code == 0
    answer = json.loads(outcome.out)
    assert answer == json.loads((demo / "results" / "summary.json").read_text(encoding="utf-8"))
    assert answer["holds"] is True


def test_another_departure_and_step(call, demo):
    arguments = (
        "--depart",
        "2026-12-01 12:00",
        "--step",
        "60 min",
        "--no-figures",
        "--json",
        *ALONE,
    )
    passage = json.loads(call("simulate", "south", *arguments).out)["passage"]
    assert (passage["depart_utc"], passage["step_h"]) == ("2026-12-01T12:00:00+00:00", 1.0)


def test_results_are_replaced_but_a_file_of_the_sailors_is_not(call, demo):
    arguments = ("simulate", "south", "--no-figures", "--quiet", "--step", "60 min", *ALONE)
    assert call(*arguments).code == 0
    assert call(*arguments).code == 0
    mine = demo / "results" / "daily.csv"
    mine.write_text("mine")
    outcome = call(*arguments)
    assert outcome.code == 2
    assert outcome.out.startswith("HOLDS ")  # the answer comes all the same
    assert "Results in" not in outcome.out
    assert outcome.err.startswith("powersim: south/results holds daily.csv, not written by")
    assert mine.read_text() == "mine"
    assert call(*arguments, "--force").code == 0
    assert mine.read_text() != "mine"


def test_a_result_open_in_a_spreadsheet_is_named_after_the_answer(call, demo, monkeypatch):
    """Windows renames nothing over an open file; its answer is put in the place of ours."""
    arguments = ("simulate", "south", "--no-figures", "--quiet", "--step", "60 min", *ALONE)
    first = call(*arguments)
    before = {path.name: path.read_bytes() for path in (demo / "results").iterdir()}
    changed(demo, 'capacity = "220 Ah"', 'capacity = "260 Ah"')
    real = os.replace

    def replace(source, target):
        if Path(target).name == "daily.csv":
            error = PermissionError(13, "Permission denied", source, None, target)
            error.winerror = 32
            raise error
        real(source, target)

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", replace)
        patch.setattr(file_moves, "HELD_FOR_s", 0.2)
        outcome = call(*arguments)
    assert (first.code, outcome.code) == (0, 74)
    assert outcome.out.startswith("HOLDS ")
    assert outcome.out != first.out
    assert outcome.err == (
        f"powersim: cannot replace {Path('south', 'results', 'daily.csv')}: another program has "
        "it open, such as a spreadsheet, or it is write-protected; close it there and run this "
        "again; nothing was replaced\n"
    )
    assert {path.name: path.read_bytes() for path in (demo / "results").iterdir()} == before
    assert call(*arguments) == outcome._replace(code=0, err="")


def test_mistakes_write_nothing(call, demo):
    changed(demo, 'capacity = "220 Ah"', 'capacity = "220 W"')
    outcome = call("simulate", "south")
    assert (outcome.code, outcome.out) == (2, "")
    assert "battery.capacity: '220 W' is a power" in outcome.err
    assert not (demo / "results").exists()


def test_an_unwritable_place_is_told(call, demo):
    (demo.parent / "there").write_text("a file")
    outcome = call("simulate", "south", "--no-figures", "--out", "there", *ALONE)
    assert outcome.code == 2
    assert "\nHOLDS " in outcome.out
    assert outcome.err == (
        "powersim: cannot write to there: a file of that name is in the way; name another folder\n"
    )


def test_help_is_light_and_without_figures_matplotlib_stays_out(python, tmp_path):
    for name, text in demo_files().items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    script = (
        "import sys\nfrom powersim.cli.main import run\nfor one in '{}'.split():\n"
        "    run([one, '--help'])\ncode = run(sys.argv[1:])\n"
        "print(code, *sorted({{m.split('.')[0] for m in sys.modules}}), file=sys.stderr)\n"
    )
    helped = python(script.format("simulate endurance budget"), "report", "--help")
    heavy = {"numpy", "pandas", "pvlib", "scipy", "matplotlib", "pint", "jinja2"}
    assert not set(helped.err.split()) & heavy
    assert helped.out.count("Usage: powersim ") == 4
    ended = python(script.format(""), "simulate", tmp_path, "--no-figures", "--quiet", *ALONE)
    assert ended.err.split()[0] == "0"
    assert "pandas" in ended.err.split()
    assert "matplotlib" not in ended.err.split()


@pytest.mark.parametrize("on_terminal", [True, False])
def test_what_takes_long_is_told_on_a_terminal_alone(capsys, monkeypatch, on_terminal):
    import time

    monkeypatch.setattr(sys.stderr, "isatty", lambda: on_terminal)
    with told_if_slow("simulating", after_s=0.01):
        time.sleep(0.1)
    with told_if_slow("nothing", after_s=60.0):
        pass
    assert capsys.readouterr().err == ("simulating ...\n" if on_terminal else "")


def test_a_copy_of_the_folder_gives_the_same_files(call, demo):
    """Same inputs, same answer, to the byte."""
    shutil.copytree(demo, demo.parent / "other")
    for name in ("south", "other"):
        call("simulate", name, "--no-figures", "--quiet", "--members", "5", "--step", "30 min")
    for name in (*TABLES, *OF_MEMBERS):
        one, other = (demo.parent / folder / "results" / name for folder in ("south", "other"))
        assert one.read_bytes() == other.read_bytes()


def test_the_members_are_drawn_once_for_all_that_is_told_of_them(call, demo, monkeypatch):
    from powersim.simulation import ensemble_forcing

    drawn = []
    real = ensemble_forcing.draw_ensemble

    def counted(*given, **how):
        drawn.append(how["members"])
        return real(*given, **how)

    monkeypatch.setattr(ensemble_forcing, "draw_ensemble", counted)
    hour = ("--no-figures", "--quiet", "--members", "20", "--step", "60 min")
    assert "\nbank " in call("simulate", "south", *hour).out
    assert drawn == [20]
