"""The cores of this machine: the same work on several stretches of members at once, in threads."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable
from functools import cache
from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from concurrent.futures import ThreadPoolExecutor

#: Parts for each core, so that none is idle for long at the end.
PARTS_EACH = 4
#: Member-steps below which the work is not divided: starting a thread takes as long. [-]
LEAST = 5000


def side_by_side(work: Callable[[int, int], None], members: int, *, steps: int) -> None:
    """Divide members among the cores.

    Parameters
    ----------
    work : callable
        Called as work(first, last) for members first to before last, in any order and at the same
        time; it lets go of Python's lock while it works.
    members : int
        How many there are.
    steps : int
        How many steps each is carried through.
    """
    hands = min(cores(), members * steps // LEAST, members)
    if hands < 2:
        work(0, members)
        return
    from concurrent.futures import wait

    # Some members take longer than others: whoever is done takes the next part.
    parts = min(hands * PARTS_EACH, members * steps // LEAST, members)
    edges = [members * part // parts for part in range(parts + 1)]
    mine, *others = pairwise(edges)
    left = deque(others)

    def take() -> None:
        while True:
            try:
                part = left.popleft()
            except IndexError:  # none is left
                return
            work(*part)

    futures = [_pool().submit(take) for _ in range(hands - 1)]
    try:
        work(*mine)
        take()
    finally:
        # Who has not begun by now need not: there may even be nobody, in a process that was forked.
        at_work = [future for future in futures if not future.cancel()]
        wait(at_work)  # whatever any of them says: nobody writes any more when it is heard
        for future in at_work:
            future.result()


def use_one() -> None:
    """From now on use one only: where each core has a process of its own."""
    _Limit.most = 1


class _Limit:
    most: int | None = None


def cores() -> int:
    """How many this process may use."""
    return _Limit.most or _all_cores()


@cache
def _all_cores() -> int:
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


@cache
def _pool() -> ThreadPoolExecutor:
    from concurrent.futures import ThreadPoolExecutor

    return ThreadPoolExecutor(max(cores() - 1, 1), thread_name_prefix="members")
