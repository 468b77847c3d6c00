"""A line on a terminal while something takes longer than a sailor would wonder at."""

from __future__ import annotations

import math
import sys
import threading
import time
from contextlib import contextmanager

import click

PATIENCE_s = 2.0
#: Time between two changes of a moving line. [s]
_PACE_s = 0.2


@contextmanager
def told_if_slow(doing: str, *, after_s: float = PATIENCE_s):
    """Say on standard error what is being done, if it lasts and somebody looks on."""
    if not sys.stderr.isatty():
        yield
        return
    timer = threading.Timer(after_s, click.echo, [f"{doing} ..."], {"err": True})
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()


@contextmanager
def share_told(doing: str, *, after_s: float = PATIENCE_s, pace_s: float = _PACE_s):
    """A moving line on standard error, if it lasts and somebody looks: what is done, what is left.

    The time left is estimated from what has been done so far.

    Yields
    ------
    callable or None
        To be called with the share that is done, 0 to 1; None where nobody looks on.
    """
    if not sys.stderr.isatty():
        yield None
        return
    line = _MovingLine(doing, after_s=after_s, pace_s=pace_s)
    try:
        yield line.tell
    finally:
        line.clear()


class _MovingLine:
    """One line of a terminal, written over again and wiped at the end."""

    def __init__(self, doing: str, *, after_s: float, pace_s: float):
        self.doing, self.pace_s = doing, pace_s
        self.begin_s = time.monotonic()
        self.due_s = self.begin_s + after_s
        self.width = 0
        self.lock = threading.Lock()
        # Until the first share is known, which may take long, what is being done is told alone.
        self.first = threading.Timer(after_s, self._write_first)
        self.first.daemon = True
        self.first.start()

    def tell(self, done_frac: float) -> None:
        now_s = time.monotonic()
        if now_s < self.due_s:
            return
        share = f"{self.doing}: {int(100.0 * done_frac)} %"
        if 0.0 < done_frac < 1.0:
            left_s = (now_s - self.begin_s) * (1.0 - done_frac) / done_frac
            share += f", {time_left(left_s)} left"
        with self.lock:
            self.first.cancel()
            self._write(share)
        self.due_s = now_s + self.pace_s

    def clear(self) -> None:
        self.first.cancel()
        with self.lock:
            if self.width:
                click.echo(f"\r{' ' * self.width}\r", nl=False, err=True)

    def _write_first(self) -> None:
        with self.lock:
            if not self.width:
                self._write(f"{self.doing} ...")

    def _write(self, text: str) -> None:
        padded = text.ljust(self.width)
        self.width = len(padded)  # noted first, so that an interrupted line is wiped whole
        click.echo(f"\r{padded}", nl=False, err=True)
        self.width = len(text)


def time_left(left_s: float) -> str:
    """How much longer something takes, as roughly as it is known.

    Examples
    --------
    >>> time_left(0.2), time_left(41.0), time_left(150.0), time_left(3 * 3600.0 + 60.0)
    ('1 s', '45 s', '3 min', '3 h 10 min')
    """
    if left_s < 100.0:
        seconds = math.ceil(left_s)
        return f"{seconds if seconds <= 10 else 5 * math.ceil(left_s / 5.0)} s"
    if left_s < 3600.0:
        return f"{math.ceil(left_s / 60.0)} min"
    whole_h, rest = divmod(math.ceil(left_s / 600.0), 6)
    return f"{whole_h} h {10 * rest} min" if rest else f"{whole_h} h"
