"""Whole commands on the demo by the clock, and what many members cost above one.

    python -m pytest tests/benchmarks/test_command_speed.py -s

The limits in seconds are those of docs/performance.md, for the machine that is told there and with
the machine to itself; the ratios hold on any.
"""

import os
import shutil
import statistics
from pathlib import Path

import pytest
from processes import used_by

DEMO = Path(__file__).resolve().parents[2] / "loads" / "iceland-to-cabo-verde"
PAIRS = 9
#: Command to its limit, median of three. [s]
LIMITS_s = {
    "plan": (["plan"], 8.0),
    "underway": (["underway"], 6.0),
    "endurance in 200 weathers": (["endurance", "--members", "200"], 5.0),
    "report in 200 weathers with its card": (
        ["report", "--members", "200", "--card", "--force"],
        5.5,
    ),
}
#: Of the first compile. [s]
COMPILE_s = 12.0

pytestmark = pytest.mark.skipif(not hasattr(os, "wait4"), reason="needs wait4 to ask what it used")


@pytest.fixture
def demo(tmp_path):
    return str(shutil.copytree(DEMO, tmp_path / "demo"))


def clock_s(arguments):
    return used_by(["-m", "powersim", *arguments]).clock_s


def test_two_hundred_members_against_one(demo, tmp_path):
    simulate = ["simulate", demo, "--no-figures", "--force", "--out", str(tmp_path / "out")]
    pairs = [
        [clock_s([*simulate, "--members", members]) for members in ("200", "1")]
        for _ in range(PAIRS + 1)
    ][1:]
    ratio = statistics.median(many / one for many, one in pairs)
    many, one = (statistics.median(column) for column in zip(*pairs, strict=True))
    print(f"\nsimulate in 200 weathers: {many:.2f} s, {ratio:.2f} times one of {one:.2f} s")
    assert ratio < 1.6


@pytest.mark.parametrize("name", LIMITS_s)
def test_a_command_keeps_to_its_limit(name, demo):
    (command, *options), limit_s = LIMITS_s[name]
    taken = [clock_s([command, demo, *options]) for _ in range(3)]
    print(f"\n{name}: {statistics.median(taken):.1f} s ({min(taken):.1f} to {max(taken):.1f})")
    assert statistics.median(taken) < limit_s


def test_the_first_compile(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    asks = "from powersim.simulation.compiled import prepared; assert prepared().run"
    first, again = (used_by(["-c", asks]).clock_s for _ in range(2))
    print(f"\nthe first compile: {first:.1f} s; read from the cache {again:.2f} s, start included")
    assert first < COMPILE_s
    assert again < 0.1 * first
