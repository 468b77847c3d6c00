"""Whole processes against what they cannot do without, pair by pair in one run.

    python -m pytest tests/benchmarks -s

Each pair is run in turn, A B A B, so that a machine that slows down slows both. The limits stand
here and not in the ordinary tests, which never depend on a clock.
"""

import os
import shutil
import statistics
import subprocess
import sys
import time
from pathlib import Path

import pytest

#: The report of the demo in 300 members, whole process, in times of importing pandas and pvlib.
REPORT = 9.0
DEMO = Path(__file__).resolve().parents[2] / "loads" / "iceland-to-cabo-verde"
PAIRS = 9


def seconds(arguments):
    # Byte code is kept, as it is after an installation; the first, uncounted pair writes it.
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    begin = time.perf_counter()
    subprocess.run([sys.executable, *arguments], check=True, capture_output=True, env=environment)
    return time.perf_counter() - begin


def ratio_of(arguments, floor):
    """Median ratio over pairs, and the medians themselves; one pair first to warm the disk."""
    pairs = [(seconds(arguments), seconds(floor)) for _ in range(PAIRS + 1)][1:]
    whole, bare = (statistics.median(column) for column in zip(*pairs, strict=True))
    ratio = statistics.median(one / other for one, other in pairs)
    print(f"\n{' '.join(arguments[:4])}: {whole:.3f} s, {ratio:.2f} times {bare:.3f} s")
    return ratio


@pytest.fixture
def demo(tmp_path):
    return str(shutil.copytree(DEMO, tmp_path / "demo"))


def test_help_against_importing_click():
    assert ratio_of(["-m", "powersim", "--help"], ["-c", "import click"]) < 1.3


def test_check_against_importing_click(demo):
    # No limit is set for it; six times click alone is still a blink.
    assert ratio_of(["-m", "powersim", "check", demo], ["-c", "import click"]) < 6.0


def test_simulate_without_figures_against_importing_pandas_and_pvlib(demo):
    simulate = ["-m", "powersim", "simulate", demo, "--no-figures"]
    assert ratio_of(simulate, ["-c", "import pandas, pvlib"]) < 2.7


def test_simulate_with_figures_against_importing_pandas_pvlib_and_matplotlib(demo):
    floor = "import pandas, pvlib, matplotlib.figure, matplotlib.backends.backend_agg"
    assert ratio_of(["-m", "powersim", "simulate", demo], ["-c", floor]) < 3.0


def test_the_report_in_300_members(demo):
    """By the clock; where other work shares the machine, the least of three says most."""
    bare_s = min(seconds(["-c", "import pandas, pvlib"]) for _ in range(3))
    report = ["-m", "powersim", "report", demo, "--members", "300", "--risk", "99", "--card"]
    took_s = min(seconds([*report, "--force"]) for _ in range(3))
    page = Path(demo) / "results" / "report.html"
    print(
        f"\nreport in 300 weathers with its card: {took_s:.1f} s, {took_s / bare_s:.1f} times the "
        f"imports, {page.stat().st_size} bytes"
    )
    assert took_s < REPORT * bare_s
    assert page.stat().st_size < 2_000_000
