"""One calculation at a time, and a newer question before an older one."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable, Iterator

from powersim.tryout.superseded import Superseded

#: Called with the share that is done, now and then; raises Superseded when nobody waits for it.
GoOn = Callable[[float], None]


class Turns:
    """Who may calculate now.

    Numbers grow with every change on the page, across its reloads too; of two questions the one
    with the larger number is the newer, and those of one number belong together.
    """

    def __init__(self) -> None:
        self._latest = -1
        self._guard = threading.Lock()
        self._work = threading.Lock()

    def begin_anew(self) -> None:
        """Take any number for the newest: a page has just been opened, its clock perhaps set."""
        with self._guard:
            self._latest = -1

    @contextlib.contextmanager
    def turn(self, number: int) -> Iterator[GoOn]:
        """Wait until nothing else is worked out.

        Parameters
        ----------
        number : int
            Of the question.

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
            if number < self._latest:
                raise Superseded
            self._latest = number

        def go_on(_done_frac: float = 0.0) -> None:
            if number < self._latest:
                raise Superseded

        with self._work:
            go_on()
            yield go_on

    @contextlib.contextmanager
    def whole(self) -> Iterator[None]:
        """Wait for a turn that nothing breaks off, such as for what is printed."""
        with self._work:
            yield
