"""What must answer at once on an old laptop imports nothing heavy."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
HEAVY = {
    "jinja2",
    *("pvlib", "pandas", "scipy", "matplotlib", "numpy", "pint", "geographiclib", "gpxpy"),
    *("joblib", "distributed", "numba", "llvmlite", "xarray"),
}

# Runs a command line and tells on standard error what it has imported.
SCRIPT = """
import json, sys
from powersim.cli.main import run
code = run(sys.argv[1:])
print(json.dumps([code, sorted(sys.modules)]), file=sys.stderr)
"""


def run(*arguments, script=SCRIPT):
    """Exit code and names of all imported modules."""
    ended = subprocess.run(
        [sys.executable, "-c", script, *map(str, arguments)],
        capture_output=True,
        text=True,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        timeout=60,
        check=True,
    )
    code, modules = json.loads(ended.stderr.splitlines()[-1])
    return code, set(modules)


def heavy_among(modules):
    return {name.partition(".")[0] for name in modules} & HEAVY


def test_the_test_itself_sees_a_heavy_import():
    assert heavy_among(run("--help", script=f"import numpy\n{SCRIPT}")[1]) == {"numpy"}


def test_help_imports_click_and_next_to_nothing_of_ours():
    code, modules = run("--help")
    assert code == 0
    assert heavy_among(modules) == set()
    assert {name for name in modules if name.partition(".")[0] == "powersim"} == {
        "powersim",
        "powersim.cli",
        "powersim.cli.exits",
        "powersim.cli.interrupts",
        "powersim.cli.main",
        "powersim.cli.plain_signs",
        "powersim.cli.streams",
    }


@pytest.mark.parametrize("name", ["check", "new", "demo"])
def test_the_help_of_a_light_command(name):
    code, modules = run(name, "--help")
    assert (code, heavy_among(modules)) == (0, set())


def test_new_and_check_of_what_it_wrote(tmp_path):
    for command in ("new", "check"):
        code, modules = run(command, tmp_path / "passage")
        # check may need pint for a unit that is not in our own short table, never more.
        assert (code, heavy_among(modules)) == (0, set())


def test_check_of_a_lithium_bank_where_it_never_freezes(tmp_path):
    """Only where there may be frost does it ask the climatology, which takes numpy."""
    run("new", tmp_path / "passage")
    boat = tmp_path / "passage" / "boat.toml"
    text = boat.read_text(encoding="utf-8")
    boat.write_text(text.replace('"agm" ', '"lifepo4" '), encoding="utf-8")
    route = "waypoint,position,speed\nA,12 S 30 W,4 kn\nB,2 N 40 W,\n"
    (tmp_path / "passage" / "route.csv").write_text(route, encoding="utf-8")
    code, modules = run("check", tmp_path / "passage")
    assert (code, heavy_among(modules)) == (0, set())


def test_a_dip_is_told_at_once(tmp_path):
    tank = '[fuel.tank]\nshape = "box"\nlength = "1 m"\nwidth = "50 cm"\nheight = "20 cm"\n'
    (tmp_path / "boat.toml").write_text(
        '[battery]\nchemistry = "agm"\ncapacity = "200 Ah"\n[engine]\nrated = "12 kW"\n'
        f"[fuel]\n{tank}",
        encoding="utf-8",
    )
    code, modules = run("sounding", tmp_path, "11cm")
    assert (code, heavy_among(modules)) == (0, set())


def test_demo_copies_without_anything_heavy_until_it_simulates(tmp_path):
    script = "import sys\nimport powersim.inputs.starter\n" + SCRIPT
    code, modules = run("--help", script=script)
    assert (code, heavy_among(modules)) == (0, set())


@pytest.mark.parametrize(
    "module", ["powersim", "powersim.records", "powersim.records.arrays", "powersim.errors"]
)
def test_what_a_notebook_imports_first_is_light(module):
    script = (
        f"import json, sys, {module}\nprint(json.dumps([0, list(sys.modules)]), file=sys.stderr)"
    )
    assert heavy_among(run(script=script)[1]) == set()
