"""A change of one load in a prepared passage against all of it afresh, in one warm process.

    python -m pytest tests/benchmarks/test_prepared_passage_speed.py -s

Processor time, taken in pairs one after the other. What is asserted are ratios within this run,
which hold on any machine.
"""

import statistics
from dataclasses import replace
from pathlib import Path
from time import perf_counter, process_time

import powersim

DEMO = Path(__file__).resolve().parents[2] / "loads" / "iceland-to-cabo-verde"
MEMBERS, PAIRS = 200, 5
#: Of what it takes to prepare the passage, and to simulate it, afresh; of the latter the steps
#: themselves, which nothing can keep, are the larger part.
MOST_OF_PREPARING, MOST_OF_SIMULATING = 0.15, 0.97


def used_by(work):
    """What some work gives, and the processor's time and the clock's that it takes. [s]"""
    clock_s, cpu_s = perf_counter(), process_time()
    found = work()
    return found, process_time() - cpu_s, perf_counter() - clock_s


def test_a_change_of_one_load_of_the_demo():
    passage = powersim.load(DEMO)
    ready = powersim.prepare(passage, members=MEMBERS)
    used_by(lambda: ready.simulate().summary)  # once through, so that all is imported and compiled
    place = next(i for i, load in enumerate(passage.loads) if load.role == "pilot")
    preparing, simulating, change_s, prepare_s = [], [], [], []
    for pair in range(PAIRS):
        load = replace(passage.loads[place], draw_A=2.0 + 0.1 * (pair + 1))
        loads = (*passage.loads[:place], load, *passage.loads[place + 1 :])
        other = replace(passage, loads=loads)
        changed, quick_s, _ = used_by(lambda loads=loads: ready.with_loads(loads))
        answer, answer_s, clock_s = used_by(lambda ready=changed: ready.simulate().summary)
        _, whole_s, _ = used_by(lambda other=other: powersim.prepare(other, members=MEMBERS))
        afresh, afresh_s, _ = used_by(
            lambda other=other: powersim.simulate(other, members=MEMBERS).summary
        )
        assert answer == afresh
        preparing.append(quick_s / whole_s)
        simulating.append((quick_s + answer_s) / afresh_s)
        change_s.append(clock_s + quick_s)
        prepare_s.append(quick_s)
    print(
        f"\na change of one load, {MEMBERS} weathers: {min(change_s):.3f} s by the clock at best, "
        f"median {statistics.median(change_s):.3f} s; {statistics.median(simulating):.2f} times a "
        f"fresh simulate; {1e3 * statistics.median(prepare_s):.1f} ms of it before the first step, "
        f"{statistics.median(preparing):.3f} times preparing afresh"
    )
    assert statistics.median(preparing) < MOST_OF_PREPARING
    assert statistics.median(simulating) < MOST_OF_SIMULATING
