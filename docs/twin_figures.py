"""Writes the measured table of twins in docs/validation.md: 200 boats a line, and takes long.

`python docs/twin_figures.py`, from a clone with the tests beside it.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests"))

import twins  # noqa: E402 (found beside the tests)
from measured import put  # noqa: E402

from powersim.inputs.folder import load_folder  # noqa: E402
from powersim.logbook.posterior import posteriors_of  # noqa: E402

PAGE = ROOT / "docs" / "validation.md"
COUNT, MEMBERS, SIDE_BY_SIDE = 200, 100, 25
#: What the logs of the shipped passages have.
KEPT = {
    "all": {},
    "and gear hours": {"gear": True},
    "gear hours and the monitor's Ah": {"gear": True, "count": True},
}
HEAD = (
    "| passage, seed, step, log | draw | panels | bank | burn | alternator | charge now | "
    "draw off | burn off | Ah | litres | days |\n|---|---|---|---|---|---|---|---|---|---|---|---|"
)


def line(passage, name, *, seed, step_h, **kept):
    """One line of the table: shares of intervals that cover, and what is left of the errors."""
    made = twins.twins_of(passage, count=COUNT, seed=seed, step_h=step_h)
    with tempfile.TemporaryDirectory() as folder:
        logs = list(twins.logs_of(made, Path(folder), **kept))
    posterior = []
    for first in range(0, COUNT, SIDE_BY_SIDE):
        some = logs[first : first + SIDE_BY_SIDE]
        posterior += posteriors_of(made.passage, some, members=MEMBERS, seed=1, step_h=step_h)
        print(".", end="", flush=True)
    found = twins.outcome_of(made, posterior)
    shares = [f"{100.0 * share:.0f} %" for share in (*found.covered, found.soc_covered)]
    shares += [f"{100.0 * found.rms_factor[place]:.0f} %" for place in (0, 3)]
    ratios = [f"{found.ratio(name):.2f}" for name in ("loads_Ah", "charging_L", "days")]
    return f"| {name} | {' | '.join(shares + ratios)} |"


def lines():
    """All lines, as they are measured."""
    with tempfile.TemporaryDirectory() as folder:
        crossing = twins.crossing(Path(folder))
    for seed in (11, 12, 13):
        yield line(crossing, f"the crossing, {seed}, 0.5 h, all", seed=seed, step_h=0.5)
    yield line(crossing, "the same, 11, 1 h, no counter", seed=11, step_h=1.0, counter=False)
    for folder in sorted((ROOT / "loads").glob("*/boat.toml")):
        passage = load_folder(folder.parent)
        for name, kept in KEPT.items():
            yield line(passage, f"{passage.name}, 11, 1 h, {name}", seed=11, step_h=1.0, **kept)


def main():
    """Measure, print, and put the table into the page."""
    rows = []
    for row in lines():
        rows.append(row)
        print(row, flush=True)
    put(PAGE, "twins", [HEAD, *rows])


if __name__ == "__main__":
    main()
