"""A search on a cluster: two workers in processes of their own on this machine."""

from dataclasses import replace
from datetime import timedelta

import pytest
from builders import passage_of

from powersim.errors import PowersimError
from powersim.planning import compare, parallel
from powersim.planning.compare import Choice, outcomes
from powersim.planning.parallel import in_parallel
from powersim.planning.size import points
from powersim.planning.size_choices import choice_of, grid
from powersim.planning.size_point import Study

distributed = pytest.importorskip("distributed", reason="dask is not installed")

# Dask is at fault for these, at the end of a cluster in the same process as its client.
pytestmark = [
    pytest.mark.slow,
    pytest.mark.filterwarnings("ignore::ResourceWarning", "ignore::DeprecationWarning"),
]


@pytest.fixture(scope="module")
def cluster():
    """The scheduler's address, and the cluster itself."""
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=":0", silence_logs=50
    ) as cluster:
        yield cluster


def dead(_, thing):
    import os

    os._exit(thing)


def test_a_cluster_gives_the_same_numbers_to_the_last_digit(cluster):
    passage = passage_of(days=1.0)
    boats = {"flooded": passage.boat}
    study = Study(passage=passage, boats=boats, members=20, seed=1, step_h=1.0)
    choices = grid(
        boats, choice_of(passage.boat), batteries_Ah=(100.0, 300.0), solars_W=(0.0, 200.0)
    )
    there = points(study, choices, backend="dask", scheduler=cluster.scheduler_address)
    here = points(study, choices, jobs=1)
    by_choice = {point.choice: point for point in there}
    assert by_choice == {point.choice: point for point in here}
    assert len(by_choice) == len(choices) == 5


def test_choices_side_by_side_come_to_the_same_there(cluster):
    passage = passage_of(days=1.0)
    leaves = [passage.depart_utc + timedelta(days=30 * at) for at in range(5)]
    choices = [
        Choice(passage=replace(passage, depart_utc=depart_utc), name="made")
        for depart_utc in leaves
    ]
    study = compare.Study(members=20, seed=1, step_h=1.0, risk_frac=0.05)
    address = cluster.scheduler_address
    there = dict(outcomes(study, choices, backend="dask", scheduler=address))
    here = dict(outcomes(study, choices, jobs=1))
    assert sorted(there) == [0, 1, 2, 3, 4]
    for place, outcome in here.items():
        assert there[place].verdict == outcome.verdict
        for name, values in outcome.measured.items():
            assert (there[place].measured[name] == values).all()


def test_a_worker_of_another_version(cluster, monkeypatch):
    monkeypatch.setattr(parallel, "__version__", "9.9.9")
    with pytest.raises(PowersimError, match=r"has powersim [\d.]+, and this machine has 9\.9\.9"):
        list(in_parallel(dead, None, [1], backend="dask", scheduler=cluster.scheduler_address))


def test_workers_that_end_before_their_work(cluster):
    with pytest.raises(PowersimError) as caught:
        list(in_parallel(dead, None, [1, 1], backend="dask", scheduler=cluster.scheduler_address))
    assert str(caught.value) == (
        "workers of the cluster ended before their work, perhaps for want of memory"
    )


def test_a_cluster_without_workers():
    with (
        distributed.LocalCluster(
            n_workers=0, processes=False, dashboard_address=":0", silence_logs=50
        ) as empty,
        pytest.raises(PowersimError, match="has no workers; start one on each machine with"),
    ):
        list(in_parallel(dead, None, [1], backend="dask", scheduler=empty.scheduler_address))
