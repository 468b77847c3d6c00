"""The same work on many things at once: on all cores of this machine, or on a cluster."""

from __future__ import annotations

import contextlib
import os
import signal
import warnings
from collections.abc import Callable, Iterator, Sequence

from powersim import __version__
from powersim.errors import PowersimError
from powersim.processes import end_with, for_processes_of_libraries
from powersim.simulation.compiled import prepared
from powersim.simulation.cores import use_one

BACKENDS = ("local", "dask")
#: How long a scheduler may take to answer.
_PATIENCE = "10 s"
_INSTALL = 'python -m pip install "powersim[cluster]"'


def in_parallel(
    work: Callable,
    shared: object,
    things: Sequence,
    *,
    jobs: int | None = None,
    backend: str = "local",
    scheduler: str | None = None,
) -> Iterator:
    """Yield work(shared, thing) for each thing, in the order in which they are done.

    The work must be a function of a module and depend on nothing else. PowersimError says that the
    cluster cannot be reached or is not fit for it, or that a process ended before its work.

    Parameters
    ----------
    jobs : int or None
        Processes at once on this machine; None for one a core.
    backend : str
        One of BACKENDS: "local", or "dask" for the workers of a cluster.
    scheduler : str or None
        Address of the cluster's scheduler, for "dask". Whoever answers there can run any code
        here: answers come as pickles.
    """
    if not things:
        return
    if backend == "dask":
        with _cluster(scheduler, shared):
            yield from _spread(work, shared, things, jobs=-1)
    elif jobs == 1 or len(things) == 1:
        for thing in things:
            yield work(shared, thing)
    else:
        prepared()  # once here, and not in each process
        with _processes(), for_processes_of_libraries():
            yield from _spread(work, shared, things, jobs=jobs or -1)


def _processes():
    """Joblib with processes of this machine."""
    from joblib import parallel_config

    return parallel_config(
        backend="loky",
        inner_max_num_threads=1,  # each: more would be in each other's way
        initializer=_one_core_and_no_interrupts,
        initargs=(os.getpid(),),
        # Arrays go to each process as they are, and no file is shared. Joblib notes the folder for
        # such files all the same, which it can only where the name is ASCII and short: a
        # temporary folder need not be either.
        max_nbytes=None,
        temp_folder=os.path.abspath(os.sep),
    )


def _one_core_and_no_interrupts(parent: int) -> None:
    """Use one core, and ignore Ctrl-C: a terminal sends it to all processes, and only the command
    should answer."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    end_with(parent)
    use_one()


@contextlib.contextmanager
def _interrupts_held():
    """Processes that start meanwhile ignore Ctrl-C from their first moment on."""
    if not hasattr(signal, "pthread_sigmask"):  # as on Windows
        yield
        return
    from multiprocessing import resource_tracker

    # A process of Python's own, which lets interrupts through again as it starts (Python 3.11).
    resource_tracker.ensure_running()
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _spread(work, shared, things, *, jobs):
    from joblib import Parallel, delayed
    from joblib.externals.loky.process_executor import TerminatedWorkerError

    run = Parallel(n_jobs=jobs, return_as="generator_unordered")
    try:
        with _interrupts_held():  # the processes are started with the first of the work
            answers = run(delayed(work)(shared, thing) for thing in things)
        try:
            # Not `yield from`, which would close it itself.
            for answer in answers:  # noqa: UP028
                yield answer
        finally:
            _close_quietly(answers)
    except TerminatedWorkerError as error:
        raise PowersimError(
            "a process at work was ended from outside, perhaps for want of memory; take fewer "
            "at once with --jobs, for example --jobs 1"
        ) from error


def _close_quietly(answers) -> None:
    """Give up what is not done yet, without the warning that joblib would print."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", ".*(still being processed|executed  but not used)")
        answers.close()


@contextlib.contextmanager
def _cluster(scheduler, shared):
    """Joblib with the workers of a cluster that is already running."""
    try:
        from distributed import CancelledError, Client
        from distributed.scheduler import KilledWorker
    except ImportError:
        raise PowersimError(f"a cluster needs dask, which {_INSTALL} brings") from None
    from joblib import parallel_config

    try:
        client = Client(scheduler, timeout=_PATIENCE, set_as_default=False)
    except (OSError, ValueError) as error:
        raise PowersimError(
            f"no scheduler of a cluster answers at {scheduler!r}; give the address that "
            "'dask scheduler' prints as it starts, for example --scheduler "
            "tcp://192.168.1.20:8786"
        ) from error
    with client:
        _refuse_unfit_workers(client, scheduler)
        try:
            with parallel_config(backend="dask", client=client, scatter=[shared]):
                yield
        except (KilledWorker, CancelledError) as error:
            raise PowersimError(
                "workers of the cluster ended before their work, perhaps for want of memory"
            ) from error


def _refuse_unfit_workers(client, scheduler) -> None:
    """Refuse a cluster without workers, or with another version, which may give other answers."""

    def version_there():
        # Sent as code and not by name, since a worker may have no powersim.
        try:
            from powersim import __version__ as version
        except ImportError:
            return None
        return version

    versions = client.run(version_there)
    if not versions:
        raise PowersimError(
            f"the scheduler at {scheduler!r} has no workers; start one on each machine with "
            f"'dask worker {scheduler}'"
        )
    for worker, version in versions.items():
        if version != __version__:
            has = "no powersim" if version is None else f"powersim {version}"
            raise PowersimError(
                f"the worker at {worker} has {has}, and this machine has {__version__}; install "
                "the same on both"
            )
