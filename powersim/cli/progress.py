"""A line on a terminal while something takes longer than a sailor would wonder at."""

from __future__ import annotations

import sys
import threading
from contextlib import contextmanager

import click

PATIENCE_s = 2.0


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
