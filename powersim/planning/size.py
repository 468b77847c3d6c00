"""Many choices of sizes, each simulated in the same members."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from powersim.planning.parallel import in_parallel
from powersim.planning.size_choices import Choice
from powersim.planning.size_point import Point, Study, point_of


def points(study: Study, choices: Sequence[Choice], **where: Any) -> Iterator[Point]:
    """Simulate every choice.

    Parameters
    ----------
    study : Study
        The passage, and the members that all choices share.
    choices : sequence of Choice
        The sizes.
    **where
        Jobs, backend and scheduler, as `parallel.in_parallel` takes them.

    Yields
    ------
    Point
        The points in the order in which they are done.

    Raises
    ------
    PowersimError
        If the cluster cannot be reached, or a process ends before its work.
    BalanceError
        If any member's books do not close.
    """
    yield from in_parallel(point_of, study, choices, **where)
