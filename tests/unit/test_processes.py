"""Processes that are started: where they look for code, and when they end."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

import powersim
from powersim import current_folder
from powersim.processes import SAFE_FOLDER, command, for_processes_of_libraries

ROOT = str(Path(powersim.__file__).parents[1])
#: Starts a process of its own, prints that one's number, and waits for it.
PARENT = (
    "import os, subprocess, sys\n"
    "child = subprocess.Popen([*sys.argv[1:], str(os.getpid())])\n"
    "print(child.pid, flush=True)\n"
    "child.wait()\n"
)


@pytest.fixture
def path(monkeypatch, tmp_path):
    """Trusted path of a process that is at work in an empty folder, given its search path."""
    monkeypatch.chdir(tmp_path)

    def trusted(*entries, pythonpath=None):
        monkeypatch.setattr(sys, "path", list(entries))
        monkeypatch.setattr(current_folder._Forgotten, "yet", False)  # a command of another test
        monkeypatch.delenv("PYTHONPATH", raising=False)
        if pythonpath is not None:
            monkeypatch.setenv("PYTHONPATH", pythonpath)
        return current_folder.trusted_path()

    return trusted


class TestTrustedPath:
    def test_the_current_folder_goes_as_a_prompt_puts_it_there(self, path, tmp_path):
        assert path("", "/lib") == ["/lib", ROOT]
        assert path(str(tmp_path), "/lib") == ["/lib", ROOT]  # as -m does

    def test_it_stays_where_it_is_named_in_full(self, path, tmp_path):
        here = str(tmp_path)
        assert path("/bin", here, "/lib", pythonpath=here) == ["/bin", here, "/lib", ROOT]

    @pytest.mark.parametrize("variable", [":/own", "/own:", "/own::/more", ".:/own"])
    def test_it_goes_where_pythonpath_has_an_empty_part(self, path, tmp_path, variable):
        variable = variable.replace(":", os.pathsep)
        assert path("/bin", str(tmp_path), "/own", pythonpath=variable) == ["/bin", "/own", ROOT]

    def test_ours_stays_in_its_place(self, path):
        assert path("/bin", ROOT, "/lib") == ["/bin", ROOT, "/lib"]

    def test_once_forgotten_what_is_named_in_full_stays(self, path, tmp_path):
        """As with `python -m` in a folder that PYTHONPATH names too."""
        here = str(tmp_path)
        assert path(here, here, "/lib", pythonpath=here) == [here, "/lib", ROOT]
        current_folder.forget_the_current_folder()
        assert sys.path == [here, "/lib", ROOT]
        assert current_folder.trusted_path() == [here, "/lib", ROOT]

    def test_a_folder_that_has_been_removed_is_no_trouble(self, path, monkeypatch):
        def gone():
            raise FileNotFoundError

        monkeypatch.setattr(os, "getcwd", gone)
        assert path("/bin", "/lib") == ["/bin", "/lib", ROOT]


def test_what_is_set_for_a_library_is_put_back(monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PYTHONPATH", os.pathsep + ROOT)
    monkeypatch.delenv("PYTHONSAFEPATH", raising=False)
    monkeypatch.setattr(sys, "path", ["", *sys.path])
    before = list(sys.path)
    with for_processes_of_libraries():
        assert (os.environ["PYTHONPATH"], os.environ["PYTHONSAFEPATH"]) == (ROOT, "1")
        assert "" not in sys.path
    assert sys.path == before
    assert os.environ["PYTHONPATH"] == os.pathsep + ROOT
    assert "PYTHONSAFEPATH" not in os.environ


def test_a_module_is_run_with_its_arguments_and_without_pythons_variables(monkeypatch):
    monkeypatch.setenv("PYTHONPATH", "/nowhere")
    ended = subprocess.run(
        command(
            "timeit", "-n", "1", "-r", "1", "import sys; print(sys.path[-1], sys.flags.isolated)"
        ),
        capture_output=True,
        text=True,
        cwd=SAFE_FOLDER,
        check=True,
    )
    assert ended.stdout.splitlines()[0] == f"{current_folder.trusted_path()[-1]} 1"


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs a file that never ends")
def test_the_decoder_ends_when_its_parent_is_killed(tmp_path):
    """It waits for a file that nobody writes; then its parent is killed."""
    pipe = tmp_path / "f.grib2"
    os.mkfifo(pipe)
    decoder = command("powersim.inputs.grib_decode", str(pipe), "f.grib2")
    with subprocess.Popen(
        [sys.executable, "-c", PARENT, *decoder], stdout=subprocess.PIPE, text=True
    ) as parent:
        pid = int(parent.stdout.readline())
        writer = opened_for(pipe)
        parent.kill()
        try:
            # The child has the same output, which ends only when the child has ended too.
            assert parent.communicate(timeout=30.0) == ("", None)
        except subprocess.TimeoutExpired:
            os.kill(pid, signal.SIGKILL)
            raise
        finally:
            os.close(writer)


def opened_for(pipe):
    """The pipe's other end, which can be opened once somebody waits at this one."""
    begin_s = time.monotonic()
    while time.monotonic() - begin_s < 30.0:
        try:
            return os.open(pipe, os.O_WRONLY | os.O_NONBLOCK)
        except OSError:
            time.sleep(0.02)
    raise TimeoutError("nobody reads")
