"""Running the command: in this process where that will do, else in one of its own."""

import os
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

import pytest

from powersim.cli.main import run

ROOT = Path(__file__).resolve().parents[2]


class Outcome(NamedTuple):
    code: int
    out: str
    err: str


@pytest.fixture
def call(capsys):
    """Run a command line in this process, as `main` does."""

    def called(*arguments):
        code = run([str(argument) for argument in arguments])
        return Outcome(code, *capsys.readouterr())

    return called


@pytest.fixture
def environment():
    """This process's environment, with the project to be found in it and no leftovers."""
    kept = {key: value for key, value in os.environ.items() if not key.startswith("POWERSIM_")}
    return kept | {"PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8"}


@pytest.fixture
def python(environment):
    """Run Python code in a process of its own."""

    def ran(code, *arguments, **extra):
        ended = subprocess.run(
            [sys.executable, "-c", code, *map(str, arguments)],
            capture_output=True,
            text=True,
            encoding="utf-8",
            env=environment | extra,
            timeout=60,
            check=False,
        )
        return Outcome(ended.returncode, ended.stdout, ended.stderr)

    return ran
