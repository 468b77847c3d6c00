"""The same work on many things: the same answers on one core, on two, and on a cluster."""

import os
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from powersim.errors import BalanceError, PowersimError
from powersim.planning import parallel
from powersim.planning.parallel import in_parallel

#: A process of Python's finds the project.
FOUND = os.environ | {"PYTHONPATH": str(Path(parallel.__file__).parents[2])}


def summed(shared, thing):
    return thing, shared + thing


def total(shared, _):
    return shared.sum()


def who(_, thing):
    return thing, os.getpid()


def unbalanced(_, thing):
    raise BalanceError(f"books of {thing} do not close")


def dead(_, thing):
    os._exit(thing)


@pytest.mark.parametrize("jobs", [1, 2, None])
def test_every_thing_is_done_once(jobs):
    found = list(in_parallel(summed, 10, range(8), jobs=jobs))
    assert sorted(found) == [(thing, 10 + thing) for thing in range(8)]


def test_nothing_to_do():
    assert list(in_parallel(summed, 10, [])) == []


def test_one_job_is_done_here_and_two_are_not():
    assert {pid for _, pid in in_parallel(who, None, range(3), jobs=1)} == {os.getpid()}
    assert os.getpid() not in {pid for _, pid in in_parallel(who, None, range(3), jobs=2)}


@pytest.mark.parametrize("jobs", [1, 2])
def test_an_error_comes_back_as_it_is(jobs):
    with pytest.raises(BalanceError, match="books of 5 do not close"):
        list(in_parallel(unbalanced, None, [5, 5], jobs=jobs))


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore:.*worker.*:UserWarning")  # joblib says so too
def test_a_process_that_ends_before_its_work():
    with pytest.raises(PowersimError) as caught:
        list(in_parallel(dead, None, [1, 1], jobs=2))
    assert str(caught.value) == (
        "a process at work was ended from outside, perhaps for want of memory; take fewer at once "
        "with --jobs, for example --jobs 1"
    )


def test_a_cluster_without_dask(monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "distributed", None)
    with pytest.raises(PowersimError) as caught:
        list(in_parallel(summed, 10, [1], backend="dask", scheduler="tcp://127.0.0.1:1"))
    assert str(caught.value) == (
        'a cluster needs dask, which python -m pip install "powersim[cluster]" brings'
    )


def test_no_scheduler_answers(monkeypatch):
    pytest.importorskip("distributed", reason="dask is not installed")
    monkeypatch.setattr(parallel, "_PATIENCE", "0.5 s")
    address = "tcp://127.0.0.1:9"
    with pytest.raises(PowersimError) as caught:
        list(in_parallel(summed, 10, [1], backend="dask", scheduler=address))
    assert str(caught.value) == (
        f"no scheduler of a cluster answers at '{address}'; give the address that "
        "'dask scheduler' prints as it starts, for example --scheduler tcp://192.168.1.20:8786"
    )


def slow(_, thing):
    time.sleep(0.2 * thing)
    return thing


def test_one_who_has_had_enough_hears_no_remark_of_it(recwarn):
    """As with Ctrl-C: the rest is given up, and joblib's warnings of that are not for sailors."""
    answers = in_parallel(slow, None, [0, 0, 5, 5, 5], jobs=2)
    assert next(answers) == 0
    answers.close()
    assert [str(one.message) for one in recwarn] == []


@pytest.mark.parametrize("by", ["JOBLIB_TEMP_FOLDER", "TMPDIR"])
def test_a_temporary_folder_may_have_any_name(monkeypatch, tmp_path, by):
    """As of somebody whose name is José, and far down, on a machine without /dev/shm."""
    import tempfile

    import joblib._memmapping_reducer as reducer

    folder = tmp_path / "José" / ("far down " * 20) / ("and farther " * 20)
    folder.mkdir(parents=True)
    monkeypatch.setattr(reducer, "SYSTEM_SHARED_MEM_FS", str(tmp_path / "none"))
    monkeypatch.delenv("JOBLIB_TEMP_FOLDER", raising=False)
    monkeypatch.setenv(by, str(folder))
    monkeypatch.setattr(tempfile, "tempdir", None)
    assert sorted(in_parallel(summed, 10, [1, 2], jobs=2)) == [(1, 11), (2, 12)]
    large = np.arange(1_000_000.0)  # joblib would share it by way of a file
    assert list(in_parallel(total, large, [0, 0], jobs=2)) == [large.sum()] * 2


@pytest.mark.slow
@pytest.mark.skipif(os.name != "posix", reason="kills a process as a POSIX system does")
def test_processes_at_work_end_when_their_parent_is_killed(tmp_path):
    script = (
        "import os, pathlib, sys, time\n"
        "from powersim.planning.parallel import in_parallel\n"
        "def work(folder, thing):\n"
        "    (pathlib.Path(folder) / str(os.getpid())).touch()\n"
        "    time.sleep(600)\n"
        "list(in_parallel(work, sys.argv[1], [1, 2], jobs=2))\n"
    )
    with subprocess.Popen([sys.executable, "-c", script, str(tmp_path)], env=FOUND) as parent:
        at_work = waited_for(lambda: [int(path.name) for path in tmp_path.iterdir()], count=2)
        parent.kill()
    assert len(at_work) == 2
    assert waited_for(lambda: [pid for pid in at_work if is_alive(pid)], count=0) == []


def waited_for(found, *, count):
    """What is found, as soon as it is so many, or after half a minute whatever there is."""
    begin_s = time.monotonic()
    while len(found()) != count and time.monotonic() - begin_s < 30.0:
        time.sleep(0.05)
    return found()


def is_alive(pid):
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return "State:\tZ" not in state_of(pid)


def state_of(pid):
    """Where /proc tells it: an orphan that has ended may not have been taken leave of yet."""
    try:
        return Path(f"/proc/{pid}/status").read_text(encoding="utf-8")
    except OSError:
        return ""
