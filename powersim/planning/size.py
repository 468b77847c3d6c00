"""Many choices of sizes at once: on all cores of this machine, or on a cluster."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Sequence

from powersim.errors import PowersimError
from powersim.planning.size_choices import Choice
from powersim.planning.size_point import Point, Study, point_of

BACKENDS = ("local", "dask")


def points(
    study: Study,
    choices: Sequence[Choice],
    *,
    jobs: int | None = None,
    backend: str = "local",
    scheduler: str | None = None,
) -> Iterator[Point]:
    """Try every choice.

    Parameters
    ----------
    study : Study
    choices : sequence of Choice
    jobs : int or None
        Processes at once on this machine; None for one a core.
    backend : str
        "local", or "dask" for the workers of a cluster.
    scheduler : str or None
        Address of the cluster's scheduler, for "dask".

    Yields
    ------
    Point
        As they are done, which may be in any order; each is the same wherever it is worked out.

    Raises
    ------
    PowersimError
        If the cluster cannot be reached, or a process ends before its work.
    """
    if not choices:
        return
    if backend == "dask":
        with _cluster(scheduler, study):
            yield from _spread(study, choices, jobs=-1)
    elif jobs == 1:
        for choice in choices:
            yield point_of(study, choice)
    else:
        from joblib import parallel_config

        # One thread each: more would be in each other's way.
        with parallel_config(backend="loky", inner_max_num_threads=1):
            yield from _spread(study, choices, jobs=jobs or -1)


def _spread(study, choices, *, jobs):
    from joblib import Parallel, delayed
    from joblib.externals.loky.process_executor import TerminatedWorkerError

    run = Parallel(n_jobs=jobs, return_as="generator_unordered")
    try:
        yield from run(delayed(point_of)(study, choice) for choice in choices)
    except TerminatedWorkerError as error:
        raise PowersimError(
            "a process of the search was ended from outside, perhaps for want of memory; take "
            "fewer with --jobs"
        ) from error


@contextlib.contextmanager
def _cluster(scheduler, study):
    """Joblib at work on a cluster that somebody else has started."""
    try:
        from distributed import Client
    except ImportError:
        raise PowersimError(
            "a cluster needs dask; python -m pip install 'powersim[cluster]' brings it"
        ) from None
    from joblib import parallel_config

    try:
        client = Client(scheduler, timeout="10 s", set_as_default=False)
    except (OSError, ValueError) as error:
        raise PowersimError(
            f"no scheduler of a cluster answers at {scheduler!r}; what is wanted is what "
            "'dask scheduler' prints as it starts, such as tcp://192.168.1.20:8786"
        ) from error
    with client:
        if not client.nthreads():
            raise PowersimError(
                f"the scheduler at {scheduler!r} has no workers; start one on each machine with "
                "'dask worker'"
            )
        with parallel_config(backend="dask", client=client, scatter=[study]):
            yield
