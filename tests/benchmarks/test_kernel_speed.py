"""Throughput of the stepping kernel, in member-steps a second.

python -m pytest tests/benchmarks -s
"""

import statistics
import time
from pathlib import Path

import numpy as np
import pytest

from powersim.inputs.folder import load_folder
from powersim.simulation.kernel import steps
from powersim.simulation.prepare import prepare
from powersim.simulation.state import start_state

DEMO = Path(__file__).resolve().parents[2] / "loads" / "iceland-to-cabo-verde"
STEPS = 480  # the last five days, with all that a day brings


@pytest.fixture(scope="module")
def prepared():
    return prepare(load_folder(DEMO))


def carry(prepared, soc, first):
    state = start_state(prepared.plant, soc=soc)
    for _flows, after in steps(prepared.signals, plant=prepared.plant, state=state, first=first):
        state = after
    return state


@pytest.mark.parametrize("members", [1, 100, 1_000, 10_000])
def test_arrays_of_members(benchmark, prepared, members):
    soc = np.linspace(0.5, 1.0, members)
    first = prepared.signals.n_steps - STEPS
    benchmark.pedantic(carry, (prepared, soc, first), rounds=5, warmup_rounds=1)
    rate = members * STEPS / benchmark.stats.stats.median
    print(f"\n{members} members as arrays: {rate / 1e6:.2f} million member-steps a second")
    assert rate > 0


def test_one_member_on_floats(benchmark, prepared):
    first = prepared.signals.n_steps - STEPS
    benchmark.pedantic(carry, (prepared, 0.8, first), rounds=5, warmup_rounds=1)
    per_step = benchmark.stats.stats.median / STEPS
    sixty_days_s = per_step * 60 * 96
    print(
        f"\none member on floats: {1e6 * per_step:.0f} us a step, {sixty_days_s:.2f} s for 60 days"
    )
    assert sixty_days_s < 0.5


def test_a_thousand_as_arrays_against_a_plain_loop_over_the_same_physics(prepared):
    """Member-steps in a second of processor time: floats one by one are plain Python."""
    first, members = prepared.signals.n_steps - STEPS, 1_000
    soc = np.linspace(0.5, 1.0, members)
    rates = {"plain loop": [], "arrays": []}
    for _ in range(5):
        for name, start_soc, count in [("plain loop", 0.8, 1), ("arrays", soc, members)]:
            begun_s = time.process_time()
            carry(prepared, start_soc, first)
            rates[name].append(count * STEPS / (time.process_time() - begun_s))
    plain, arrays = (statistics.median(rate) for rate in rates.values())
    print(
        f"\n1,000 members as arrays: {arrays / 1e6:.2f} million member-steps a second, "
        f"{arrays / plain:.0f} times the {plain / 1e6:.3f} million of a plain loop"
    )
    assert arrays / plain > 50


def test_preparing_the_demo(benchmark):
    passage = load_folder(DEMO)
    benchmark.pedantic(prepare, (passage,), rounds=5, warmup_rounds=1)
    print(f"\ntrack, sky, yield and demand: {1e3 * benchmark.stats.stats.median:.0f} ms")
    assert prepare(passage).signals.n_steps > STEPS
