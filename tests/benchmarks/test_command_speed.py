"""Whole commands on the demo, and what many members cost above one.

    python -m pytest tests/benchmarks/test_command_speed.py -s

The limits are those of docs/performance.md. A command is held against importing pandas and pvlib,
in turn and by processor time, so that the ratio holds on any machine and beside other work; by the
clock it takes less, as two cores share the steps. The first compile has a limit in seconds.
"""

import os
import shutil
import statistics
from pathlib import Path

import pytest
from processes import used_by

DEMO = Path(__file__).resolve().parents[2] / "loads" / "iceland-to-cabo-verde"
PAIRS = 9
FLOOR = ["-c", "import pandas, pvlib"]
#: Command to its limit, in times of the floor's processor time, median of three pairs. [-]
LIMITS = {
    "simulate in 200 weathers": (["simulate", "--no-figures", "--force"], 2.7),
    "plan": (["plan", "--force"], 19.0),
    "underway": (["underway", "--now", "2026-09-15 09:00"], 7.2),
    "endurance in 200 weathers": (["endurance", "--members", "200"], 7.5),
    "report in 200 weathers with its card": (
        ["report", "--members", "200", "--card", "--force"],
        12.0,
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


@pytest.mark.parametrize("name", LIMITS)
def test_a_command_keeps_to_its_limit(name, demo):
    (command, *options), limit = LIMITS[name]
    pairs = [
        (used_by(["-m", "powersim", command, demo, *options]), used_by(FLOOR)) for _ in range(3)
    ]
    ratio = statistics.median(whole.cpu_s / floor.cpu_s for whole, floor in pairs)
    cpu_s, clock_s = (
        statistics.median(getattr(whole, what) for whole, _ in pairs)
        for what in ("cpu_s", "clock_s")
    )
    print(
        f"\n{name}: {ratio:.1f} times the imports, {cpu_s:.1f} s of processor time, "
        f"{clock_s:.1f} s by the clock"
    )
    assert ratio < limit


def test_the_first_compile(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    asks = "from powersim.simulation.compiled import prepared; assert prepared().run"
    first, again = (used_by(["-c", asks]).clock_s for _ in range(2))
    print(f"\nthe first compile: {first:.1f} s; read from the cache {again:.2f} s, start included")
    assert first < COMPILE_s
    assert again < 0.1 * first
