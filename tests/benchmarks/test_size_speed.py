"""A search for sizes: how long it takes, and what the second core brings.

    python -m pytest tests/benchmarks/test_size_speed.py -s

Pairs are run in turn, so that a machine that slows down slows both.
"""

import os
import shutil
import statistics
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path

import pytest

from powersim.inputs.folder import load_folder
from powersim.planning.parallel import in_parallel
from powersim.planning.size import points
from powersim.planning.size_choices import choice_of, grid
from powersim.planning.size_point import Study, point_of

DEMO = Path(__file__).resolve().parents[2] / "loads" / "iceland-to-cabo-verde"
FIFTY = (
    *("--battery", "150:350:50Ah"),
    *("--solar", "100:500:100W"),
    *("--alternator", "45A,90A"),
)
PAIRS = 3
CHOICES = 8


@pytest.fixture(scope="module")
def work():
    passage = load_folder(DEMO)
    boats = {passage.boat.battery.chemistry: passage.boat}
    study = Study(passage=passage, boats=boats, members=200, seed=1, step_h=0.25)
    sizes = {"batteries_Ah": (220.0, 400.0), "solars_W": (100.0, 200.0, 300.0, 400.0)}
    choices = grid(boats, choice_of(passage.boat), **sizes)
    assert len(choices) == CHOICES
    list(points(study, choices[:4], jobs=2))  # the processes are started, and have imported all
    list(points(study, choices[:1], jobs=1))
    return study, choices


def timed(study, choice):
    """Which process tries a choice, and its processor time. [s]"""
    begin = time.process_time()
    point_of(study, choice)
    return os.getpid(), time.process_time() - begin


def test_the_second_core_brings_most_of_itself(work):
    """By processor time: of one process alone, over that of the busier of two at once. It holds on
    a shared machine too, and has in it what two at once cost each other. The clock's is printed.
    """
    study, choices = work
    by_clock, by_processor = [], []
    for _ in range(PAIRS):
        clock_s, longest_s = {}, {}
        for jobs in (1, 2):
            begin = time.perf_counter()
            done = list(in_parallel(timed, study, choices, jobs=jobs))
            clock_s[jobs] = time.perf_counter() - begin
            taken_s = Counter()
            for process, seconds in done:
                taken_s[process] += seconds
            assert len(done) == CHOICES
            longest_s[jobs] = max(taken_s.values())
        by_clock.append(clock_s[1] / clock_s[2])
        by_processor.append(longest_s[1] / longest_s[2])
        print(
            f"\n{CHOICES} choices: processor {longest_s[1]:.1f} s alone, {longest_s[2]:.1f} s each "
            f"of two; clock {clock_s[1]:.1f} and {clock_s[2]:.1f} s"
        )
    speed_up = statistics.median(by_processor)
    print(f"speed-up {speed_up:.2f} by processor time, {statistics.median(by_clock):.2f} by clock")
    assert speed_up >= 1.6


def test_fifty_choices_in_200_members(tmp_path):
    shutil.copytree(DEMO, tmp_path / "demo")
    begin = time.perf_counter()
    subprocess.run(
        [sys.executable, "-m", "powersim", "size", str(tmp_path / "demo"), *FIFTY, "--jobs", "2"],
        check=True,
        capture_output=True,
    )
    seconds = time.perf_counter() - begin
    print(f"\n51 choices in 200 weathers: {seconds:.0f} s by the clock")
    assert seconds < 180.0
