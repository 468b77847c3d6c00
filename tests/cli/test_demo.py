"""The copying of `powersim demo`."""

import io
import json
import shutil
from contextlib import redirect_stderr, redirect_stdout

import pytest

from powersim.cli.main import run
from powersim.inputs.starter import demo_files, demo_names


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def contents(folder):
    return {name: (folder / name).read_text(encoding="utf-8") for name in demo_files()}


def ends(folder):
    """The exit code that goes with the verdict."""
    summary = json.loads((folder / "results" / "summary.json").read_text(encoding="utf-8"))
    return 0 if summary["holds"] else 1


@pytest.fixture(scope="module")
def copied(tmp_path_factory):
    """Where `powersim demo` was run once, and what it said: exit code, output, errors."""
    here = tmp_path_factory.mktemp("here")
    said = {"stdout": io.StringIO(), "stderr": io.StringIO()}
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(here)
        with redirect_stdout(said["stdout"]), redirect_stderr(said["stderr"]):
            code = run(["demo", "--no-figures"])
    return here, code, *(one.getvalue() for one in said.values())


def test_demo_copies_the_demo_passage_out(copied):
    there, code, out, err = copied
    assert (code, err) == (ends(there / "powersim-demo"), "")
    assert out.startswith("Wrote boat.toml, loads.csv, route.csv to powersim-demo.\n")
    assert contents(there / "powersim-demo") == demo_files()


@pytest.mark.slow
def test_demo_can_be_run_again(call, here):
    first, again = (call("demo", "trial", "--no-figures") for _ in range(2))
    assert first.code == again.code == ends(here / "trial")
    assert contents(here / "trial") == demo_files()


def test_another_passage_goes_to_a_folder_of_its_own_name(call, here):
    outcome = call("demo", "--passage", "canada-to-hawaii", "--no-figures")
    assert outcome.out.startswith("Wrote boat.toml, loads.csv, route.csv to canada-to-hawaii.\n")
    assert contents(here / "canada-to-hawaii") == demo_files("canada-to-hawaii") != demo_files()
    assert "\n  powersim plan canada-to-hawaii\n" in outcome.out


def test_a_passage_that_is_not_there_is_refused_with_those_that_are(call, here):
    outcome = call("demo", "--passage", "atlantis")
    assert outcome.code == 2
    assert all(name in outcome.err for name in demo_names())
    assert not list(here.iterdir())


def test_demo_leaves_a_copy_alone_that_was_changed(call, here, copied):
    shutil.copytree(copied[0] / "powersim-demo", here / "powersim-demo")
    loads = here / "powersim-demo" / "loads.csv"
    loads.write_text("mine")
    outcome = call("demo", "--no-figures")
    assert (outcome.code, outcome.out) == (2, "")
    assert outcome.err == (
        "powersim: powersim-demo holds loads.csv, not written by powersim or changed since; "
        "name another folder, or overwrite with --force\n"
    )
    assert loads.read_text() == "mine"
    assert call("demo", "--no-figures", "--force").code == ends(here / "powersim-demo")
    assert contents(here / "powersim-demo") == demo_files()


def test_the_demo_has_no_mistakes(call, copied, monkeypatch):
    monkeypatch.chdir(copied[0])
    outcome = call("check", "powersim-demo")
    assert (outcome.code, outcome.err) == (0, "")


def test_the_demo_is_simulated_and_says_what_to_do_next(copied):
    there, code, out, err = copied
    ended = ends(there / "powersim-demo")
    assert (code, err) == (ended, "")
    assert f"\n\n{'FAILS' if ended else 'HOLDS'}  " in out
    assert " of 200 simulated passages, " in out
    assert "\nResults in powersim-demo/results: hourly.csv, daily.csv, engine.csv," in out
    assert "\n  powersim check powersim-demo\n" in out
    assert (there / "powersim-demo" / "results" / "summary.json").is_file()
