"""How long the server lives: while a page is open or asked for, and a while beyond."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

#: A page says every 20 s that it is open, and once a minute where a browser slows it in the
#: background; some browsers let such a page sleep for minutes. [s]
IDLE_s = 15 * 60.0
_TICK_s = 1.0


class Lifetime:
    """Whether anybody is still there.

    Time in which this process was not running counts for nothing: a laptop that has slept wakes
    to the page that it had.

    Parameters
    ----------
    idle_s : float
        Without a word from a page, until `wait` returns. [s]
    clock : callable
        Gives seconds; another one in tests. [s]
    """

    def __init__(self, idle_s: float = IDLE_s, *, clock: Callable[[], float] = time.monotonic):
        self.idle_s = idle_s
        self._clock = clock
        self._lock = threading.Lock()
        self._at_work = 0
        self._silent_s = 0.0
        self._seen_s = clock()
        self._stop = threading.Event()
        #: Whether a page has asked anything yet.
        self.heard = threading.Event()

    @contextmanager
    def asked(self) -> Iterator[None]:
        """While a question is being answered."""
        with self._lock:
            self._at_work += 1
        self.heard.set()
        try:
            yield
        finally:
            with self._lock:
                self._at_work -= 1
                self._silent_s = 0.0

    def end(self) -> None:
        """Have `wait` return now."""
        self._stop.set()

    def tick(self) -> bool:
        """Take note of the time that has gone by; whether all have been silent for too long."""
        with self._lock:
            now_s = self._clock()
            self._silent_s += min(now_s - self._seen_s, 2.0 * _TICK_s)
            self._seen_s = now_s
            if self._at_work:
                self._silent_s = 0.0
            return self._silent_s >= self.idle_s

    def wait(self) -> None:
        """Return when nobody has been there for `idle_s`; Ctrl-C ends it as anything else."""
        while not self.tick():
            if self._stop.wait(min(_TICK_s, self.idle_s)):
                return
