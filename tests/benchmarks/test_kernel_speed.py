"""Throughput of the stepping kernel, in member-steps a second, compiled and plain.

    python -m pytest tests/benchmarks/test_kernel_speed.py -s

All in one run and in turn, so that a machine that slows down slows both sides of a ratio. One core
is timed by the processor's time of its thread, which tells nothing of other guests.
"""

import statistics
import time
from pathlib import Path

import numpy as np
import pytest

from powersim.inputs.folder import load_folder
from powersim.simulation import compiled, cores
from powersim.simulation.carry import Batch
from powersim.simulation.ensemble import blocks, members_state, stretch_h
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.flat import Laid
from powersim.simulation.ledgers import LEDGERS
from powersim.simulation.prepare import prepare

DEMO = Path(__file__).resolve().parents[2] / "loads" / "iceland-to-cabo-verde"
ROUNDS = 9
#: One core; the machine that it was set for is told in docs/performance.md.
LEAST_PER_s = 6.5e6


@pytest.fixture(scope="module")
def passage():
    return load_folder(DEMO)


@pytest.fixture(scope="module")
def prepared(passage):
    return prepare(passage)


class Run:
    """The whole demo in some members, whose signals are laid out beforehand."""

    def __init__(self, passage, prepared, members, *, days=None):
        forcing = draw_ensemble(passage, prepared, members=members, seed=1)
        n_steps = prepared.track.n_steps if days is None else 96 * days
        # As long as those of an ensemble.
        stretches = blocks(n_steps, step_h=0.25, days=stretch_h(members) / 24.0)
        self.laid = [Laid(forcing.signals(steps)) for steps in stretches]
        for one in self.laid:
            assert one.flat is not None
        self.plant, self.member_steps = forcing.plant, members * n_steps
        self.state = members_state(forcing, soc=passage.boat.battery.soc_at_departure)

    def through(self):
        batch = Batch(plant=self.plant, state=self.state, step_h=0.25, sums=LEDGERS)
        for laid in self.laid:
            batch.through(laid, series=("soc", "burnt_L"), every=4)
        return batch

    def rate(self, clock):
        """Member-steps a second."""
        begun_s = clock()
        self.through()
        return self.member_steps / (clock() - begun_s)


def median_rate(run, clock, rounds=ROUNDS):
    run.through()
    return statistics.median(run.rate(clock) for _ in range(rounds))


@pytest.fixture
def one_core(monkeypatch):
    monkeypatch.setattr(cores, "cores", lambda: 1)


@pytest.mark.parametrize("members", [100, 200, 1_000, 5_000])
def test_one_core_at_any_number_of_members(passage, prepared, one_core, members):
    # A week for the many: what is laid out beforehand has to fit into the memory.
    run = Run(passage, prepared, members, days=7 if members > 1_000 else None)
    rate = median_rate(run, time.thread_time)
    print(f"\n{members} members on one core: {rate / 1e6:.1f} million member-steps a second")
    assert rate > LEAST_PER_s


@pytest.mark.skipif(cores.cores() < 2, reason="one core")
def test_two_cores_against_one(passage, prepared, monkeypatch):
    run = Run(passage, prepared, 1_000)
    rates = {1: [], 2: []}
    for _ in range(ROUNDS):
        for count, found in rates.items():
            monkeypatch.setattr(cores, "cores", lambda count=count: count)
            found.append(run.rate(time.perf_counter))
    ratio = statistics.median(two / one for one, two in zip(*rates.values(), strict=True))
    print(f"\ntwo cores: {ratio:.2f} times one, by the clock")
    assert ratio > 1.5


def test_compiled_against_plain(passage, prepared, one_core):
    """Processor time of a member-step, one and the same function."""
    before = compiled.run_as(compiled.PLAIN)
    plain = median_rate(Run(passage, prepared, 2), time.thread_time, rounds=5)
    compiled.run_as(before)
    quick = median_rate(Run(passage, prepared, 200), time.thread_time)
    print(
        f"\nplain: {1e6 / plain:.0f} us a step, {60 * 96 / plain:.2f} s for a member's 60 days; "
        f"compiled: {quick / plain:.0f} times as fast"
    )
    assert 60 * 96 / plain < 0.5
    assert quick / plain > 50


def test_preparing_the_demo(benchmark, passage):
    benchmark.pedantic(prepare, (passage,), rounds=5, warmup_rounds=1)
    print(f"\ntrack, sky, yield and demand: {1e3 * benchmark.stats.stats.median:.0f} ms")
    assert np.isfinite(prepare(passage).signals.load_A).all()
