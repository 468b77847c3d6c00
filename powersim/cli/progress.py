"""A line on a terminal while something takes longer than a sailor would wonder at."""

from __future__ import annotations

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
    """Say on standard error what is being done, if it lasts and somebody looks on.

    Parameters
    ----------
    doing : str
        Such as "simulating 32 days".
    after_s : float
        How long to wait before saying so. [s]
    """
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
    """A moving line on standard error with the share that is done, if it lasts and somebody looks.

    Parameters
    ----------
    doing : str
        Such as "trying 200 weathers".
    after_s : float
        How long to wait before saying so. [s]
    pace_s : float
        Least time between two changes of the line. [s]

    Yields
    ------
    callable or None
        To be called with the share that is done, 0 to 1; None where nobody looks on.
    """
    if not sys.stderr.isatty():
        yield None
        return
    line = _MovingLine(doing, due_s=time.monotonic() + after_s, pace_s=pace_s)
    try:
        yield line.tell
    finally:
        line.clear()


class _MovingLine:
    """One line of a terminal, written over again and wiped at the end."""

    def __init__(self, doing: str, *, due_s: float, pace_s: float):
        self.doing, self.due_s, self.pace_s = doing, due_s, pace_s
        self.width = 0

    def tell(self, done_frac: float) -> None:
        now_s = time.monotonic()
        if now_s < self.due_s:
            return
        text = f"{self.doing}: {int(100.0 * done_frac)} %"
        click.echo(f"\r{text.ljust(self.width)}", nl=False, err=True)
        self.width, self.due_s = len(text), now_s + self.pace_s

    def clear(self) -> None:
        if self.width:
            click.echo(f"\r{' ' * self.width}\r", nl=False, err=True)
