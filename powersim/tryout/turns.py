"""One calculation at a time, and a newer question before an older one."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable, Iterator

from powersim.tryout.superseded import Superseded

#: Called with the share that is done, now and then; raises Superseded when nobody waits for it.
GoOn = Callable[[float], None]

#: Of how many pages the newest number is known.
_PAGES = 100


class Turns:
    """Who may calculate now.

    Numbers grow with every change on a page; of two questions of one page the one with the larger
    number is the newer, and those of one number belong together. Another page, as in a second tab,
    breaks nothing off: its questions wait for theirs.
    """

    def __init__(self) -> None:
        self._latest: dict[str, int] = {}
        self._guard = threading.Lock()
        self._work = threading.Lock()

    @contextlib.contextmanager
    def turn(self, number: int, *, page: str = "") -> Iterator[GoOn]:
        """Wait until nothing else is worked out.

        Parameters
        ----------
        number : int
            Of the question.
        page : str
            Who asks it; every load of a page has a name of its own.

        Yields
        ------
        callable
            To be called while the work goes on.

        Raises
        ------
        Superseded
            If there is a newer question, at once or while it waits.
        """
        with self._guard:
            if number < self._latest.get(page, number):
                raise Superseded
            self._latest[page] = number
            while len(self._latest) > _PAGES:
                del self._latest[next(iter(self._latest))]

        def go_on(_done_frac: float = 0.0) -> None:
            if number < self._latest.get(page, number):
                raise Superseded

        with self._work:
            go_on()
            yield go_on

    @contextlib.contextmanager
    def whole(self) -> Iterator[None]:
        """Wait for a turn that nothing breaks off, such as for what is printed."""
        with self._work:
            yield
