"""Fixtures that more than one part of the tests uses."""

import os
import sys

import pytest
import stop_at_random

# No test of ours is of a kind that other packages teach it, and to ask them all takes a third of a
# second at every start.
os.environ.setdefault("HYPOTHESIS_NO_PLUGINS", "1")
from hypothesis import settings

# The same examples on every run, so that a change is judged by what it changes. New ones:
# HYPOTHESIS_PROFILE=explore python -m pytest tests/properties
# However long one takes: other work on the machine is no fault.
settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.register_profile("explore", deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "repeatable"))

# Some machines tell Python to keep no bytecode. Then both workers compile every file of the tests,
# and each of the hundreds of commands that are started every file of powersim, on every run. Only
# tests/mutations/run.py means it: bytecode is told by whole seconds, and its slips come faster.
if os.environ.get("PYTHONDONTWRITEBYTECODE") != "slips":
    sys.dont_write_bytecode = False
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)


def pytest_configure(config):
    """Have Ctrl-C heeded, and the simulation compiled once, before any process asks for it."""
    stop_at_random.heed_ctrl_c()  # tests send it to what they start
    if not hasattr(config, "workerinput"):
        from powersim.simulation import compiled

        compiled.tell_by(lambda text: None)
        compiled.prepared()


@pytest.fixture
def write_file(tmp_path):
    """Write a file of text or bytes into the test's own folder; its path is returned."""

    def write(name, content):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
        return path

    return write


@pytest.fixture
def undrawn(monkeypatch):
    """Pictures are composed and not drawn, where words are looked at: that takes half of the time.

    Drawn they are in the tests of figures, of page and commands, and looked at in a browser.
    """
    from markupsafe import Markup

    from powersim.report import figures, page_figures

    def kept(figure, where, **_):
        where.write_text(f"{type(figure).__name__}, not drawn", encoding="utf-8")

    monkeypatch.setattr(figures, "save", kept)
    monkeypatch.setattr(page_figures, "inline_svg", lambda axes, **_: Markup())


@pytest.fixture
def plainly():
    """Members carried by the plain functions, one after the other, however many they are."""
    from kernels import plain

    with plain():
        yield


@pytest.fixture
def middle_banks(monkeypatch):
    """Every member has the middle bank of its kind, so that other things tell."""
    import numpy as np

    from powersim.simulation import ensemble_forcing
    from powersim.simulation.member_banks import BankDraws

    def middle(battery, *, seed, members):
        one = np.ones(members)
        return BankDraws(
            offset_V=0.0 * one,
            slope=one,
            resistance=one,
            exponent=battery.peukert_exponent * one,
            capacity=one,
        )

    monkeypatch.setattr(ensemble_forcing, "draw_banks", middle)
