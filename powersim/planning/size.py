"""Many choices of sizes, each tried on the same members."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from powersim.planning.parallel import in_parallel
from powersim.planning.size_choices import Choice
from powersim.planning.size_point import Point, Study, point_of


def points(study: Study, choices: Sequence[Choice], **where) -> Iterator[Point]:
    """Try every choice.

    Parameters
    ----------
    **where
        Jobs, backend and scheduler, as `parallel.in_parallel` takes them.

    Yields
    ------
    Point
        As they are done, which may be in any order.

    Raises
    ------
    PowersimError
        If the cluster cannot be reached, or a process ends before its work.
    BalanceError
        If any member's books do not close.
    """
    yield from in_parallel(point_of, study, choices, **where)
