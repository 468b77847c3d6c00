"""A passage folder holds data: nothing that lies in it is ever run, whatever its name.

Each command that starts a process, and those that import the most, run with the passage folder as
the current one. It holds files by the names of modules that Python, its libraries and powersim
import; each of them would leave a mark.
"""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from page_client import Served

pytestmark = pytest.mark.slow
ROOT = Path(__file__).resolve().parents[2]
FORECAST = ROOT / "tests/reference/data/gfs_20111008_00z_f072_2p5deg_surface.grib2"
MODULES = (
    *("sitecustomize", "usercustomize", "pickle", "signal", "runpy", "threading", "contextlib"),
    *("multiprocessing", "subprocess", "json", "csv", "tomllib", "argparse", "copyreg", "inspect"),
    *("numpy", "pandas", "scipy", "pvlib", "joblib", "eccodes", "findlibs", "cffi", "gribapi"),
    *("click", "matplotlib", "jinja2", "pint", "cloudpickle", "psutil", "eccodeslib"),
    *("numba", "llvmlite", "yaml"),
)
#: A day and a half. Invented.
PASSAGE = {
    "boat.toml": """
[passage]
depart = "2011-10-10 00:00"
[battery]
chemistry = "agm"
capacity = "200 Ah"
[[panel]]
power = "200 W"
[[controller]]
""",
    "loads.csv": "load,draw,on\npilot,3 A,50 %\n",
    "route.csv": "waypoint,lat,lon,speed\nA,38 00 N,028 00 W,5 kn\nB,38 00 N,024 10 W,\n",
    "log.csv": "time,voltage\n2011-10-10 02:00,12.6 V\n",
}
#: Starts the decoder; every command that takes a forecast does.
FORECAST_OF_IT = ("--forecast", "f.grib2", "--step", "60 min")
WEATHERS = ("--members", "20")
WITH_ENGINE = (
    *("--set", "engine.rated=10 kW", "--set", "fuel.tank=60 L"),
    *("--set", "alternator.nameplate=60 A"),
)
COMMANDS = {
    "nothing more": ["check", "."],
    "a decoder": ["simulate", ".", *FORECAST_OF_IT, "--no-figures", "--out", "../out"],
    "endurance": ["endurance", ".", *FORECAST_OF_IT],
    "ladder": ["ladder", ".", *FORECAST_OF_IT, *WEATHERS],
    "plan": ["plan", ".", *FORECAST_OF_IT, *WEATHERS, "--out", "../out"],
    "paper": ["paper", ".", *FORECAST_OF_IT, *WEATHERS, *WITH_ENGINE, "--out", "../out"],
    "report": ["report", ".", *FORECAST_OF_IT, "--card", "--out", "../out"],
    "underway": [
        *("underway", ".", *FORECAST_OF_IT, *WEATHERS, "--now", "2011-10-10 12:00"),
        *("--write-back", "../copy"),
    ],
    "two workers": [
        *("size", ".", *FORECAST_OF_IT, *WEATHERS, "--battery", "200Ah,300Ah", "--jobs", "2"),
        *("--replan", "--no-figures", "--out", "../out"),
    ],
}


@pytest.fixture
def hostile(tmp_path):
    """A passage folder with code in it, and the marks that running it would leave."""
    folder, marks = tmp_path / "passage", tmp_path / "marks"
    folder.mkdir()
    marks.mkdir()
    for name, text in PASSAGE.items():
        (folder / name).write_text(text, encoding="utf-8")
    shutil.copy(FORECAST, folder / "f.grib2")
    for name in MODULES:
        code = f"open({str(marks / name)!r}, 'w').close()\nraise ImportError('from the folder')\n"
        (folder / f"{name}.py").write_text(code, encoding="utf-8")
    (folder / ".numba_config.yaml").write_text("disable_jit: 1\ndump_bytecode: 1\n")
    (folder / "libeccodes.so").write_bytes(b"no library")
    return folder, marks


@pytest.fixture
def installed(tmp_path):
    """The command as pip writes it, in a folder of programs.

    What it starts finds PYTHONPATH with an empty part, as `export PYTHONPATH=$PYTHONPATH:...`
    leaves it: then Python would look in the current folder even where it is told not to.
    """
    (tmp_path / "bin").mkdir()
    script = tmp_path / "bin" / "installed"
    script.write_text(
        "import os\n"
        f"os.environ['PYTHONPATH'] = os.pathsep + {str(ROOT)!r}\n"
        "from powersim.cli.start import main\n"
        "main()\n",
        encoding="utf-8",
    )
    return [sys.executable, str(script)]


def powersim_there(folder, marks):
    """A package of our own name; with `python -m powersim` that is what the sailor asks for."""
    (folder / "powersim").mkdir()
    code = f"open({str(marks / 'powersim')!r}, 'w').close()\n"
    for name in ("__init__", "__main__", "processes"):
        (folder / "powersim" / f"{name}.py").write_text(code, encoding="utf-8")


def ended(command, folder, environment, **more):
    environ = environment | {"PYTHONDONTWRITEBYTECODE": "1"} | more
    return subprocess.run(
        command, cwd=folder, env=environ, capture_output=True, text=True, timeout=120, check=False
    )


@pytest.mark.parametrize("name", COMMANDS)
def test_no_command_runs_what_lies_in_the_passage_folder(hostile, installed, environment, name):
    folder, marks = hostile
    powersim_there(folder, marks)
    end = ended([*installed, *COMMANDS[name]], folder, environment)
    assert end.returncode in (0, 1), end.stderr
    assert end.stderr == ""
    assert list(marks.iterdir()) == []


@pytest.mark.skipif(sys.platform == "win32", reason="Ctrl-C is sent as a POSIX system does")
def test_nor_does_the_page_nor_what_opens_a_browser(hostile, installed, environment):
    """With a PATH that has an empty part, which is the current folder, and browsers in there."""
    folder, marks = hostile
    powersim_there(folder, marks)
    for name in ("xdg-open", "x-www-browser", "www-browser", "firefox", "chromium", "gio"):
        (folder / name).write_text(f"#!/bin/sh\n: > {marks / name}\n", encoding="utf-8")
        (folder / name).chmod(0o755)
    here = environment | {"DISPLAY": ":0", "BROWSER": "", "PATH": ":.:/usr/none"}
    here |= {"TMPDIR": str(marks.parent), "PYTHONDONTWRITEBYTECODE": "1"}
    for over_ssh in ("SSH_CONNECTION", "SSH_CLIENT", "SSH_TTY"):
        here.pop(over_ssh, None)
    options = [*FORECAST_OF_IT, *WEATHERS]
    one = Served([*installed, "try", ".", *options], here, cwd=folder)
    try:
        assert "(none was found)" in one.process.stderr.readline()
        with one.page() as page:
            assert page.ask("boat").status == 200
            assert page.ask("answer", {"changes": [], "number": 1}).status == 200
        assert one.stopped() == (130, "powersim: stopped\n")
    finally:
        one.kill()
    assert list(marks.iterdir()) == []


def test_nor_from_beside_the_passage_folder(hostile, installed, environment, tmp_path):
    folder, marks = hostile
    powersim_there(folder, marks)
    command = ["simulate", "passage", "--forecast", "passage/f.grib2", "--step", "60 min"]
    end = ended([*installed, *command, "--no-figures", "--out", "out"], tmp_path, environment)
    assert end.returncode in (0, 1), end.stderr
    assert list(marks.iterdir()) == []


@pytest.fixture
def imported_first(tmp_path, environment):
    """What Python itself has imported when it comes to the first line of what -m names.

    It varies from version to version: to find the module, that of 3.11 imports contextlib.
    """
    folder = tmp_path / "first"
    folder.mkdir()
    (folder / "first_line.py").write_text("import sys\nprint(*sys.modules)\n", encoding="utf-8")
    told = ended([sys.executable, "-m", "first_line"], folder, environment).stdout.split()
    assert "runpy" in told
    assert "powersim" not in told
    return {"sitecustomize", "usercustomize", *told}


def test_nor_does_python_dash_m(hostile, environment, imported_first):
    """It puts the current folder first, until our first line."""
    folder, marks = hostile
    kept = [name for name in MODULES if name not in imported_first]
    assert {"pickle", "signal", "tomllib", "numpy", "click"} <= set(kept)
    for early in set(MODULES) - set(kept):
        (folder / f"{early}.py").unlink()
    end = ended([sys.executable, "-m", "powersim", *COMMANDS["a decoder"]], folder, environment)
    assert end.returncode in (0, 1), end.stderr
    assert list(marks.iterdir()) == []


def test_nor_does_a_notebook_that_is_at_work_in_the_folder(hostile, environment):
    """There the current folder is a place for code by Python's own rule; not so for what we start.

    Whatever the notebook has imported by then, from wherever, it has asked for itself.
    """
    folder, marks = hostile
    code = (
        "import sys\n"
        "sys.path.pop(0)\n"
        "import powersim, powersim.api, powersim.inputs.folder, matplotlib\n"
        "sys.path.insert(0, '')\n"
        "from powersim.inputs.grib import read_forecast\n"
        "from powersim.processes import for_processes_of_libraries\n"
        "print(len(read_forecast('f.grib2').cloud))\n"
        "with for_processes_of_libraries():\n"
        "    import subprocess\n"
        "    subprocess.run([sys.executable, '-c', 'import pickle, json'], check=True)\n"
        "assert sys.path[0] == ''\n"
    )
    end = ended([sys.executable, "-c", code], folder, environment)
    assert (end.returncode, end.stderr) == (0, "")
    assert end.stdout == "1\n"
    assert list(marks.iterdir()) == []


def test_settings_of_matplotlib_in_the_folder_change_no_picture(
    hostile, installed, environment, call, tmp_path
):
    folder, _ = hostile
    plain, steered = tmp_path / "plain", tmp_path / "steered"
    assert call("simulate", folder, "--step", "60 min", "--out", plain).code in (0, 1)
    settings = "text.usetex: True\nfont.size: 30\naxes.facecolor: black\nno.such.key: 1\n"
    (folder / "matplotlibrc").write_text(settings, encoding="utf-8")
    end = ended(
        [*installed, "simulate", ".", "--step", "60 min", "--out", str(steered)],
        folder,
        environment,
    )
    assert end.returncode in (0, 1)
    assert end.stderr == ""
    pictures = [path.name for path in plain.glob("*.png")]
    assert pictures
    for name in pictures:
        assert (steered / name).read_bytes() == (plain / name).read_bytes()
