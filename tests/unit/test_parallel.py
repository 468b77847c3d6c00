"""The same work on many things: the same answers on one core, on two, and on a cluster."""

import os

import pytest

from powersim.errors import BalanceError, PowersimError
from powersim.planning import parallel
from powersim.planning.parallel import in_parallel


def summed(shared, thing):
    return thing, shared + thing


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
        "a cluster needs dask, which python -m pip install 'powersim[cluster]' brings"
    )


def test_no_scheduler_answers(monkeypatch):
    pytest.importorskip("distributed", reason="dask is not installed")
    monkeypatch.setattr(parallel, "_PATIENCE", "0.5 s")
    address = "tcp://127.0.0.1:9"
    with pytest.raises(PowersimError) as caught:
        list(in_parallel(summed, 10, [1], backend="dask", scheduler=address))
    assert str(caught.value) == (
        f"no scheduler of a cluster answers at '{address}'; what is wanted is what "
        "'dask scheduler' prints as it starts, for example --scheduler tcp://192.168.1.20:8786"
    )
