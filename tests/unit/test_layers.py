"""Imports run downward only, and heavy libraries are imported where they are used.

The picture is the one of the contributor's guide. Every import statement is read, those inside
functions too.
"""

import ast
from functools import cache
from pathlib import Path
from typing import NamedTuple

import pytest

import powersim

PACKAGE = Path(powersim.__file__).parent

# From the bottom up: what each part may import of ours, beside itself.
OPEN_TO_ALL = {"defaults", "errors", "records"}
CORE = ("voyage", "sky", "physics", "kernel", "simulation")
MAY_IMPORT = {
    "defaults": set(),
    "errors": set(),
    "current_folder": set(),
    "processes": {"current_folder"},
    "records": {"errors"},
    "inputs": OPEN_TO_ALL | {"processes", "physics.engine"},
    "voyage": OPEN_TO_ALL,
    "sky": OPEN_TO_ALL | {"voyage"},
    "physics": OPEN_TO_ALL | {"voyage", "sky"},
    "kernel": OPEN_TO_ALL | {"physics"},
    "simulation": OPEN_TO_ALL | {"voyage", "sky", "physics", "kernel"},
    "planning": OPEN_TO_ALL | set(CORE) | {"processes"},
    "logbook": OPEN_TO_ALL | set(CORE),
    "report": OPEN_TO_ALL | set(CORE) | {"planning", "logbook", "inputs.units", "processes"},
    "api": OPEN_TO_ALL | set(CORE) | {"planning", "logbook", "inputs", "report"},
    "tryout": OPEN_TO_ALL | set(CORE) | {"planning", "logbook", "inputs", "report", "processes"},
    "cli": OPEN_TO_ALL
    | set(CORE)
    | {"planning", "logbook", "inputs", "report", "api", "tryout", "current_folder"},
    # The package root offers what is in api to a notebook, and __main__ starts the command.
    "": {"api"},
    "__main__": {"cli"},
}
HEAVY = {
    "jinja2",
    *("pvlib", "pandas", "scipy", "matplotlib", "pint", "gpxpy", "geographiclib", "h5py"),
    *("joblib", "distributed"),
    *("numba", "llvmlite", "xarray"),
}
NUMPY_PARTS = {*CORE, "planning", "logbook"}
# The only places that may import a library at all; a package stands for all its modules.
ONLY_IN = {
    "pint": ("inputs.units",),
    "click": ("cli",),
    "pandas": ("simulation.tables", "simulation.ensemble_frames", "report"),
    "xarray": ("simulation.ensemble_frames",),
    "matplotlib": ("report",),
    "jinja2": ("report",),
    "joblib": ("planning.parallel",),
    "numba": ("kernel.compiling",),
    "llvmlite": ("kernel.compiling", "kernel.machine_code"),
    "ctypes": ("kernel.machine_code", "processes"),
    "distributed": ("planning.parallel",),
    # A process is started here and nowhere else; tests/cli/test_hostile_folder.py tries each.
    "subprocess": ("inputs.grib", "tryout.open_browser"),
    "webbrowser": ("tryout.open_browser",),
    # Nothing else listens anywhere, and nothing at all asks a network.
    "socket": (
        "tryout.server",
        "tryout.listening",
        "tryout.connections",
        "tryout.patient_input",
    ),
    "socketserver": ("tryout.listening",),
    "http": ("tryout.listening", "tryout.patient_input"),
    "urllib": (),
    "multiprocessing": ("planning.parallel",),
    "concurrent": ("simulation.cores",),
}

# The modules of the kernel that a step runs through, and the loop around it.
STEP = (
    *(
        "state",
        "flows",
        "rules",
        "bus",
        "chargers",
        "load_shedding",
        "engine_dispatch",
        "step",
        "carry",
    ),
)


class Import(NamedTuple):
    module: str
    line: int
    at_top: bool
    only_for_types: bool


def dotted(path):
    """A module's name below powersim, "" for the root."""
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


SOURCES = {dotted(path): path.read_text(encoding="utf-8") for path in sorted(PACKAGE.rglob("*.py"))}


@cache
def imports_of(source):
    """Every import of a module, read once for all that asks."""
    return tuple(_imports_in(source))


def _imports_in(source):
    tree = ast.parse(source)
    inside = {
        node
        for function in ast.walk(tree)
        if isinstance(function, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
        for node in ast.walk(function)
    }
    never_run = {
        node
        for test in ast.walk(tree)
        if isinstance(test, ast.If) and ast.unparse(test.test) == "TYPE_CHECKING"
        for each in test.body
        for node in ast.walk(each)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports are written from the root"
            # `from powersim.inputs import units` is an import of powersim.inputs.units.
            deep = node.module == "powersim" or node.module.startswith("powersim.")
            names = [f"{node.module}.{a.name}" for a in node.names] if deep else [node.module]
        else:
            continue
        for name in names:
            yield Import(name, node.lineno, node not in inside, node in never_run)


def faults_of(name, source):
    """What is wrong with one module's imports, as sentences."""
    part = name.split(".")[0]
    for module, line, at_top, only_for_types in imports_of(source):
        library, _, rest = module.partition(".")
        where = f"powersim.{name}:{line}" if name else f"powersim:{line}"
        if library == "powersim":
            if not allowed(part, rest):
                yield f"{where} may not import {module}"
            continue
        if only_for_types:  # no library is asked for: a type is nothing but a name
            continue
        if at_top and (library in HEAVY or (library == "numpy" and part not in NUMPY_PARTS)):
            yield f"{where} imports {library} at its top"
        homes = ONLY_IN.get(library)
        if homes is not None and not any(within(name, home) for home in homes):
            yield f"{where} may not import {library}"


def allowed(part, target):
    if target == "__version__" or target.split(".")[0] == part:
        return True
    return any(within(target, door) for door in MAY_IMPORT[part])


def within(name, package):
    return name == package or name.startswith(f"{package}.")


@pytest.mark.parametrize("name", SOURCES)
def test_imports_run_downward_and_heavy_ones_wait(name):
    assert list(faults_of(name, SOURCES[name])) == []


def test_the_step_asks_for_nothing_but_plain_arithmetic():
    """What is compiled is written in it, and one member alone needs no library to be carried."""
    for name in STEP:
        libraries = {
            module.partition(".")[0]
            for module, *_, only_for_types in imports_of(SOURCES[f"kernel.{name}"])
            if not only_for_types
        }
        assert libraries <= {"__future__", "math", "typing", "powersim"}, name


@pytest.mark.parametrize(
    ("what", "where"),
    [
        ("kernel.step.step_of", {"kernel.carry"}),
        ("kernel.carry.carry_member", {"simulation.carry"}),
        ("kernel.carry.carry_members", {"simulation.compiled"}),
    ],
)
def test_there_is_one_loop_over_steps(what, where):
    """Whoever carries a bank does it by simulation.carry."""
    users = {
        name
        for name, source in SOURCES.items()
        if any(module == f"powersim.{what}" for module, *_ in imports_of(source))
    }
    assert users == where


def test_every_part_has_a_place_in_the_picture():
    assert {name.split(".")[0] for name in SOURCES} <= set(MAY_IMPORT)


@pytest.mark.parametrize(
    ("name", "source", "fault"),
    [
        (
            "physics.bank",
            "from powersim.report import rounding",
            "powersim.physics.bank:1 may not import powersim.report.rounding",
        ),
        (
            "voyage.track",
            "def f():\n    import powersim.sky.sun",
            "powersim.voyage.track:2 may not import powersim.sky.sun",
        ),
        (
            "simulation.result",
            "from powersim.inputs.units import to_float",
            "powersim.simulation.result:1 may not import powersim.inputs.units.to_float",
        ),
        (
            "report.tables",
            "from powersim.inputs import units\nfrom powersim.inputs import folder",
            "powersim.report.tables:2 may not import powersim.inputs.folder",
        ),
        (
            "records.load",
            "from powersim import inputs",
            "powersim.records.load:1 may not import powersim.inputs",
        ),
        (
            "planning.size",
            "from powersim.logbook import log",
            "powersim.planning.size:1 may not import powersim.logbook.log",
        ),
        (
            "sky.sun",
            "import pvlib.solarposition as sp",
            "powersim.sky.sun:1 imports pvlib at its top",
        ),
        (
            "cli.check",
            "class A:\n    import numpy",
            "powersim.cli.check:2 imports numpy at its top",
        ),
        (
            "simulation.carry",
            "def f():\n    import pandas as pd",
            "powersim.simulation.carry:2 may not import pandas",
        ),
        (
            "records.load",
            "if TYPE_CHECKING:\n    from powersim.physics import bank",
            "powersim.records.load:2 may not import powersim.physics.bank",
        ),
        ("physics.solar", "import click", "powersim.physics.solar:1 may not import click"),
        ("", "from powersim.cli import main", "powersim:1 may not import powersim.cli.main"),
        ("report.card", "import powersim", "powersim.report.card:1 may not import powersim"),
    ],
)
def test_the_checker_sees_each_kind_of_fault(name, source, fault):
    assert list(faults_of(name, source)) == [fault]


def test_the_checker_lets_what_is_right_pass():
    source = (
        "import numpy as np\n"
        "from powersim import __version__\n"
        "from powersim.kernel.flows import Flows\n"
        "from powersim.records import Load\n"
        "def f():\n    from pvlib import spa\n"
        "if TYPE_CHECKING:\n    import pandas as pd\n"
    )
    assert list(faults_of("simulation.carry", source)) == []
