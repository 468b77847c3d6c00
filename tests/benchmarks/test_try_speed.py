"""What a changed value costs against the same passage made fresh, in one warm process.

    python -m pytest tests/benchmarks/test_try_speed.py -s

Processor time, taken in pairs one after the other, the demo with 200 members. What is asserted are
ratios within this run, which hold on any machine; the milliseconds are printed beside them.
"""

import statistics
from dataclasses import replace
from pathlib import Path
from time import perf_counter, process_time

import pytest

import powersim
from powersim.planning.days_left import days_left
from powersim.report.figure_fan import fan_figure
from powersim.report.files import answer
from powersim.simulation.ensemble import run_ensemble
from powersim.simulation.result import simulate

DEMO = Path(__file__).resolve().parents[2] / "loads" / "iceland-to-cabo-verde"
MEMBERS, PAIRS = 200, 7
#: A kind of change, what is set, and the most that `changed` may take of preparing it afresh.
CHANGES = {
    "a load": ({"loads.navigation laptop.count": 0}, 0.25),
    "a bank": ({"battery.capacity": "300 Ah"}, 0.15),
    "a rule": ({"charging.start": "75 %"}, 0.15),
    "a panel": ({"panel.arch.power": "150 W"}, 0.35),
    "a departure a week later": ({"passage.depart": "2026-09-12 09:00"}, 0.98),
}
#: Of what carrying the members takes (run_ensemble): average weather, what is told of both, the
#: numbers of the picture, and how long the bank lasts from both moments.
SHARES = {"average weather": 0.10, "the answer": 0.25, "the fan": 0.10, "days left": 4.0}


def used_by(work):
    """What some work gives, and the processor's time and the clock's that it takes. [s]"""
    clock_s, cpu_s = perf_counter(), process_time()
    found = work()
    return found, process_time() - cpu_s, perf_counter() - clock_s


@pytest.fixture(scope="module")
def ready():
    """The demo, worked out; once through, so that all is imported and compiled."""
    ready = powersim.prepare(powersim.load(DEMO), members=MEMBERS)
    result = ready.simulate()
    answer(result)
    fan_figure(result)
    return ready


@pytest.mark.parametrize(("values", "most"), CHANGES.values(), ids=CHANGES)
def test_a_kept_change_against_the_passage_made_fresh(ready, values, most):
    passage = ready.passage.with_(values)
    kept_s, fresh_s, ratios = [], [], []
    for _ in range(PAIRS):
        changed, quick_s, _ = used_by(lambda: ready.changed(passage))
        fresh, whole_s, _ = used_by(lambda: powersim.prepare(passage, members=MEMBERS))
        kept_s.append(quick_s)
        fresh_s.append(whole_s)
        ratios.append(quick_s / whole_s)
    print(
        f"\n{values}: {1e3 * min(kept_s):.0f} ms at best against {1e3 * min(fresh_s):.0f} ms, "
        f"median {statistics.median(ratios):.2f} times"
    )
    assert changed.simulate().verdict == fresh.simulate().verdict
    assert statistics.median(ratios) < most


def test_what_is_told_against_the_members_steps(ready):
    """Whatever follows a change: shares of the time that its members' steps take."""
    took = {name: [] for name in ("the members", *SHARES)}
    for _ in range(PAIRS):
        given = {"prepared": ready.prepared, "risk_frac": 0.05}
        ensemble, cpu_s, clock_s = used_by(
            lambda given=given: run_ensemble(
                ready.passage, members=MEMBERS, seed=1, forcing=ready.forcing, **given
            )
        )
        took["the members"].append((cpu_s, clock_s))
        average, *used = used_by(
            lambda given=given: simulate(ready.passage, kind=ready.kind, **given)
        )
        took["average weather"].append(used)
        result = replace(average, ensemble=ensemble)
        for name, work in {
            "the answer": lambda result=result: answer(result),
            "the fan": lambda result=result: fan_figure(result),
            "days left": lambda: days_left(ready, members=MEMBERS, seed=1),
        }.items():
            took[name].append(used_by(work)[1:])
    for name, used in took.items():
        cpu_s, clock_s = (min(each) for each in zip(*used, strict=True))
        print(f"\n{name}: {1e3 * cpu_s:.0f} ms of processor time, {1e3 * clock_s:.0f} ms", end="")
    for name, most in SHARES.items():
        pairs = zip(took[name], took["the members"], strict=True)
        ratio = statistics.median(one[0] / other[0] for one, other in pairs)
        print(f"\n{name}: {ratio:.2f} times the members' steps", end="")
        assert ratio < most
