"""A log held against its passage, as a whole process: what the new rule adds to it.

    python -m pytest tests/benchmarks/test_underway_speed.py -s

Processor time, user and system together, of runs in turn, since a shared machine's clock tells of
its other guests too.
"""

import os
import statistics
from pathlib import Path

import pytest
from processes import used_by

DEMO = Path(__file__).resolve().parents[2] / "loads" / "iceland-to-cabo-verde"
NOW = "2026-12-01 12:00"  # after the last entry of the log that lies there
PAIRS = 3
#: The rule may take so many times what all else takes: the log is short and the rest is long.
MOST_TIMES = 6.0

pytestmark = pytest.mark.skipif(not hasattr(os, "wait4"), reason="needs wait4 to ask what it used")


def test_the_new_rule_takes_a_few_times_what_all_else_takes():
    command = ["-m", "powersim", "underway", str(DEMO), "--now", NOW]
    times, found = [], []
    for _ in range(PAIRS):
        whole, without = used_by(command), used_by([*command, "--no-plan"])
        times.append((whole.cpu_s - without.cpu_s) / without.cpu_s)
        found.append((whole, without))
    whole, without = found[-1]
    print(
        f"\nunderway: {whole.cpu_s:.1f} s of processor time, {whole.clock_s:.1f} s by the clock; "
        f"--no-plan: {without.cpu_s:.1f} and {without.clock_s:.1f} s; the rule takes "
        f"{statistics.median(times):.1f} times all else"
    )
    assert statistics.median(times) <= MOST_TIMES
