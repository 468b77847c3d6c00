"""By which kernel a test carries its members: the plain functions or what is compiled of them."""

from __future__ import annotations

from contextlib import contextmanager

import pytest

from powersim.simulation.compiled import COMPILED, PLAIN, prepared, run_as


@contextmanager
def carried(how):
    """Within it the kernel runs as PLAIN or COMPILED, whatever the number of members."""
    if how == COMPILED and prepared().run is None:
        pytest.skip(f"not compiled: {prepared().reason}")
    before = run_as(how)
    try:
        yield
    finally:
        run_as(before)


def plain():
    """Members are carried by the plain functions, one after the other."""
    return carried(PLAIN)


def compiled():
    """Members are carried by machine code, be it but one; skips where there is none."""
    return carried(COMPILED)
