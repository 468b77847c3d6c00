"""Output that cannot be written: a full disk, closed standard output or error, a path too long."""

import errno
import subprocess
import sys
from pathlib import Path

import click
import pytest

import powersim
from powersim.cli import exits
from powersim.cli.exits import exit_code_of
from powersim.errors import NotWrittenError

COMMAND = (sys.executable, "-c", "from powersim.cli.main import main; main()")
FULL = Path("/dev/full")
#: Closed by the shell before the command starts; quoted as a shell passes on its arguments.
CLOSED = ("sh", "-c", 'exec "$@" {closed}', "sh", *COMMAND)
FULL_SAID = "powersim: the answer could not be written (No space left on device)\n"
CLOSED_SAID = "powersim: the answer could not be written (standard output is closed)\n"

needs_full = pytest.mark.skipif(not FULL.exists(), reason="needs /dev/full, a disk that is full")
needs_sh = pytest.mark.skipif(sys.platform == "win32", reason="needs a shell that can close")


@pytest.fixture
def ended(environment):
    """Run a command line of a process of its own to its end."""

    def run(command, *, env=None, **streams):
        streams = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE} | streams
        environ = environment | (env or {})
        return subprocess.run(command, env=environ, text=True, timeout=60, check=False, **streams)

    return run


@needs_full
@pytest.mark.parametrize("unbuffered", ["", "1"])
def test_a_full_disk_is_exit_code_74_and_one_line(ended, unbuffered):
    with FULL.open("w") as full:
        end = ended([*COMMAND, "--help"], stdout=full, env={"PYTHONUNBUFFERED": unbuffered})
    assert (end.returncode, end.stderr) == (74, FULL_SAID)


@needs_full
def test_where_nothing_can_be_said_the_code_says_it(ended):
    with FULL.open("w") as full:
        assert ended([*COMMAND, "--help"], stdout=full, stderr=full).returncode == 74
        assert ended([*COMMAND, "check", "no such"], stderr=full).returncode == 2


@needs_sh
def test_a_closed_standard_output_is_exit_code_74_and_one_line(ended):
    command = [part.format(closed=">&-") for part in CLOSED]
    end = ended([*command, "--version"])
    assert (end.returncode, end.stderr) == (74, CLOSED_SAID)


@needs_sh
def test_a_closed_standard_error_is_missed_only_where_it_is_wanted(ended):
    command = [part.format(closed="2>&-") for part in CLOSED]
    fine = ended([*command, "--version"])
    assert (fine.returncode, fine.stdout) == (0, f"powersim {powersim.__version__}\n")
    assert ended([*command, "check", "no such"]).returncode == 2


@needs_sh
def test_no_file_takes_the_place_of_a_closed_stream(ended, tmp_path):
    """Whatever is printed must not land in a file that was opened as number 1, 2 or 0."""
    command = [part.format(closed="<&- >&- 2>&-") for part in CLOSED]
    assert ended([*command, "new", str(tmp_path / "mine")]).returncode == 74
    texts = [path.read_text(encoding="utf-8") for path in (tmp_path / "mine").iterdir()]
    assert texts
    assert not any("Wrote" in text or "powersim:" in text for text in texts)


@needs_sh
def test_results_that_do_not_fit_are_exit_code_74_and_leave_nothing(ended, tmp_path):
    """Files of 0 blocks at most, by the system's own limit, stand for a disk that is full."""
    limited = ("sh", "-c", 'ulimit -f 0; exec "$@"', "sh", *COMMAND)
    end = ended([*limited, "new", str(tmp_path / "mine")])
    assert (end.returncode, end.stdout) == (74, "")
    assert end.stderr == (
        f"powersim: cannot write to {tmp_path / 'mine'}: File too large; nothing was written\n"
    )
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "arguments",
    [
        ("check", "{}"),
        ("simulate", "{}"),
        ("new", "{}"),
        ("demo", "{}"),
        ("underway", "{}"),
        ("sounding", "{}", "20 cm"),
    ],
    ids=lambda arguments: arguments[0],
)
def test_a_path_of_5000_letters_is_refused_in_one_line(call, arguments):
    outcome = call(*(argument.format("x" * 5000) for argument in arguments))
    assert (outcome.code, outcome.out) == (2, "")
    assert outcome.err.startswith(f"powersim: {'x' * 40}...: the path is too long (5,0")
    assert outcome.err.endswith(" letters); use a shorter one\n")
    assert outcome.err.count("\n") == 1


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (NotWrittenError("cannot write to results: disk full"), "cannot write to results: disk f"),
        (OSError(errno.ENOSPC, "No space left"), "the answer could not be written (No space left"),
        (OSError(errno.EIO, "Input/output error"), "the answer could not be written (Input/outpu"),
    ],
)
def test_what_the_system_cannot_take_is_told_from_a_fault_of_our_own(capsys, error, said):
    def call():
        raise error

    assert exit_code_of(call, traceback_asked=False) == exits.NOT_WRITTEN == 74
    assert capsys.readouterr().err.startswith(f"powersim: {said}")


def test_an_error_of_the_system_that_means_something_else_stays_our_own_fault(capsys):
    def call():
        raise FileNotFoundError(errno.ENOENT, "No such file", "climatology.npz")

    assert exit_code_of(call, traceback_asked=False) == exits.OWN_FAULT
    assert "a fault of its own (FileNotFoundError" in capsys.readouterr().err


def test_a_message_that_cannot_be_written_leaves_the_code_as_it_is(monkeypatch):
    def refused(*_, **__):
        raise OSError(errno.ENOSPC, "No space left")

    monkeypatch.setattr(click, "echo", refused)
    assert exit_code_of(lambda: 1 / 0, traceback_asked=False) == exits.OWN_FAULT
