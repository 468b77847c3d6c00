"""Many members as a whole process: time, memory, and that both grow no faster than the members.

    python -m pytest tests/benchmarks/test_ensemble_speed.py -s

Everything is above the process that only imports pandas and pvlib, run in turn with it. Time is the
processor's, user and system together, since a shared machine's clock tells of its other guests too.
"""

import os
import statistics
from pathlib import Path

import pytest
from processes import Used, used_by

DEMO = Path(__file__).resolve().parents[2] / "loads" / "iceland-to-cabo-verde"
FLOOR = ("-c", "import pandas, pvlib")
#: Processor time above the imports, in times of what these take, and memory.
MOST_TIMES, MOST_MiB = 2.8, 400.0

pytestmark = pytest.mark.skipif(not hasattr(os, "wait4"), reason="needs wait4 to ask what it used")


def above_the_floor(members, out, *, pairs):
    """Medians over some pairs of what trying so many members takes above the floor."""
    command = ["-m", "powersim", "simulate", str(DEMO), "--members", str(members)]
    command += ["--no-figures", "--force", "--out", str(out)]
    differences = [used_by(command).above(used_by(FLOOR)) for _ in range(pairs)]
    median = Used(*map(statistics.median, zip(*differences, strict=True)))
    cpu_s = [one.cpu_s for one in differences]
    print(
        f"\n{members} members above the imports: {median.cpu_s:.2f} s of processor time "
        f"({min(cpu_s):.2f} to {max(cpu_s):.2f} in {pairs} pairs), "
        f"{median.clock_s:.2f} s by the clock, {median.peak_MiB:.0f} MiB"
    )
    return median


@pytest.fixture(scope="module")
def out(tmp_path_factory):
    """Where results go; once through, so that all byte code is there."""
    out = tmp_path_factory.mktemp("many") / "results"
    above_the_floor(2, out, pairs=1)
    return out


def test_a_thousand_members_of_the_demo(out):
    taken = above_the_floor(1_000, out, pairs=7)
    bare_s = statistics.median(used_by(FLOOR).cpu_s for _ in range(3))
    print(f"{taken.cpu_s / bare_s:.1f} times the imports' {bare_s:.2f} s")
    assert taken.cpu_s < MOST_TIMES * bare_s
    assert taken.peak_MiB < MOST_MiB


def test_cost_grows_no_faster_than_the_members(out):
    """From 1,000 to 3,000 and from there to 10,000: a member more costs the same time and memory,
    give or take a half for what a shared machine's caches do to arrays that outgrow them.
    """
    few, more, most = (above_the_floor(n, out, pairs=3) for n in (1_000, 3_000, 10_000))
    early, late = more.above(few), most.above(more)
    for what in ("cpu_s", "peak_MiB"):
        ratio = (getattr(late, what) / 7_000) / (getattr(early, what) / 2_000)
        print(f"{what}: a member after 3,000 costs {ratio:.2f} times one before")
        assert ratio < 1.5
    assert most.cpu_s < 10.0 * few.cpu_s
