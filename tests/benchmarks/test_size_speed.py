"""A search for sizes: how long it takes, and what the second core brings.

    python -m pytest tests/benchmarks/test_size_speed.py -s

The clock is what counts here, so the machine should have nothing else to do. Pairs are run in turn,
and the best of them counts: it is the one that others disturbed least.
"""

import shutil
import statistics
import subprocess
import sys
import time
from pathlib import Path

import pytest

from powersim.inputs.folder import load_folder
from powersim.planning.size import points
from powersim.planning.size_choices import choice_of, grid
from powersim.planning.size_point import Study

DEMO = Path(__file__).resolve().parents[2] / "loads" / "iceland-to-cabo-verde"
FIFTY = (
    *("--battery", "150:350:50Ah"),
    *("--solar", "100:500:100W"),
    *("--alternator", "45A,90A"),
)
PAIRS = 3
CHOICES = 16


@pytest.fixture(scope="module")
def work():
    passage = load_folder(DEMO)
    boats = {passage.boat.battery.chemistry: passage.boat}
    study = Study(passage=passage, boats=boats, members=200, seed=1, step_h=0.25)
    sizes = {"batteries_Ah": (150.0, 220.0, 300.0, 400.0), "solars_W": (100.0, 200.0, 300.0, 400.0)}
    choices = grid(boats, choice_of(passage.boat), **sizes)
    assert len(choices) == CHOICES
    list(points(study, choices[:4], jobs=2))  # the processes are started, and have imported all
    list(points(study, choices[:1], jobs=1))
    return study, choices


def test_the_second_core_brings_most_of_itself(work):
    """Pairs in turn, so that a machine that slows down slows both."""
    study, choices = work
    ratios = []
    for _ in range(PAIRS):
        seconds = {}
        for jobs in (1, 2):
            begin = time.perf_counter()
            assert len(list(points(study, choices, jobs=jobs))) == CHOICES
            seconds[jobs] = time.perf_counter() - begin
        ratios.append(seconds[1] / seconds[2])
        print(f"\n{CHOICES} choices: {seconds[1]:.1f} s on one core, {seconds[2]:.1f} s on two")
    best = max(ratios)
    print(f"speed-up {statistics.median(ratios):.2f}, at best {best:.2f}")
    assert best >= 1.6


def test_fifty_choices_in_200_weathers(tmp_path):
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
