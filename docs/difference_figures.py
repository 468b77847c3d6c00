"""Writes the measured tables of docs/model/compare.md: how often intervals of differences hold.

Takes a minute or two: `python docs/difference_figures.py`.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np
from measured import put
from scipy.special import stdtrit
from scipy.stats import multinomial

from powersim.inputs.folder import load_folder
from powersim.planning.measures import measured
from powersim.planning.tried import tried
from powersim.simulation.differences import paired_mean, paired_share

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "model" / "compare.md"
DEMO = ROOT / "loads" / "iceland-to-cabo-verde"
#: Members that stand for ever more of them, those that are drawn from them, and how often.
ALL, DRAWN, TIMES = 4000, 200, 20_000
SEEDS = range(1, 9)
Z = 1.959963984540054
#: Chances that a member fails no more, and that it fails newly.
CHANCES = (
    (0.0, 0.01),
    (0.0, 0.02),
    (0.0, 0.05),
    (0.01, 0.01),
    (0.005, 0.02),
    (0.01, 0.05),
    (0.05, 0.2),
)
MEASURES = {
    "left": "diesel left, L",
    "charging": "diesel for the bank, L",
    "lowest": "lowest charge",
    "dark_h": "time in the dark, h",
}


def passages():
    """The demo, and what is changed in it."""
    as_she_is = load_folder(DEMO)
    later = replace(as_she_is, depart_utc=as_she_is.depart_utc + timedelta(days=7))
    return {
        "as she is": as_she_is,
        "a week later": later,
        "without the laptop": load_folder(DEMO, values={"loads.navigation laptop": None}),
        "a bank of 120 Ah": load_folder(DEMO, values={"battery.capacity": "120 Ah"}),
    }


def amounts(passage, *, members, seed=1):
    """What each member comes to."""
    found = tried(passage, members=members, seed=seed, step_h=0.25)
    return measured(found.ensemble, passage.boat) | {"dark_h": found.ensemble.dark_h}


def coverage(differences, random):
    """How often Student's interval of some of the members holds the mean of all."""
    true, held, half = differences.mean(), 0, stdtrit(DRAWN - 1, 0.975) / np.sqrt(DRAWN)
    for _ in range(TIMES // 1000):
        some = differences[random.integers(len(differences), size=(1000, DRAWN))]
        apart = np.abs(some.mean(axis=1) - true)
        held += int(np.count_nonzero(apart <= half * some.std(axis=1, ddof=1) + 1e-12))
    return held / TIMES


def mean_rows(found):
    """Coverage by change and measure."""
    random, rows = np.random.default_rng(1), []
    first = found["as she is"]
    for change in list(found)[1:]:
        for key, name in MEASURES.items():
            differences = found[change][key] - first[key]
            differ = np.count_nonzero(differences) / len(differences)
            rows.append(
                f"| {change} | {name} | {100 * differ:.1f} % | {differences.mean():+.3f} "
                f"| {coverage(differences, random):.3f} |"
            )
            print(rows[-1], flush=True)
    head = "| change | of | members that differ | true mean | the interval holds it |"
    return [head, "|---|---|---|---|---|", *rows]


def held_by(interval, chances):
    """How often an interval holds the true difference, over every outcome of so many pairs."""
    true, held = chances[1] - chances[0], 0.0
    for goes in range(90):
        for comes in range(90):
            kinds = (goes, comes, DRAWN - goes - comes)
            weight = multinomial.pmf(kinds, DRAWN, (*chances, 1.0 - sum(chances)))
            if weight > 1e-9:
                least, most = interval(goes, comes)
                held += weight * (least - 1e-12 <= true <= most + 1e-12)
    return held


def wald(added, pairs):
    """An adjusted Wald interval: so much added to both kinds that change, and to the pairs."""

    def interval(goes, comes):
        counted = DRAWN + pairs
        middle = (comes - goes) / counted
        error = np.sqrt(((comes + goes + 2 * added) / counted - middle**2) / counted)
        return middle - Z * error, middle + Z * error

    return interval


def ours(goes, comes):
    """As `paired_share` has it."""
    before = np.repeat([True, False, False], [goes, comes, DRAWN - goes - comes])
    after = np.repeat([False, True, False], [goes, comes, DRAWN - goes - comes])
    found = paired_share(before, after)
    return found.least, found.most


def share_rows():
    """Coverage by the true chances."""
    rows = []
    for chances in CHANCES:
        held = [held_by(one, chances) for one in (wald(0.0, 0), wald(0.5, 2), ours)]
        told = " | ".join(f"{one:.3f}" for one in held)
        rows.append(f"| {100 * chances[1]:g} % | {100 * chances[0]:g} % | {told} |")
        print(rows[-1], flush=True)
    head = "| fail newly | fail no more | Wald | Agresti and Min | Bonett and Price |"
    return [head, "|---|---|---|---|---|", *rows]


def median_rows():
    """The demo a week later, diesel left by pairs and by medians, by each of some seeds."""
    passages_2, rows = list(passages().values())[:2], []
    for seed in SEEDS:
        first, later = (amounts(one, members=DRAWN, seed=seed)["left"] for one in passages_2)
        pairs = paired_mean(first, later)
        medians = np.median(later) - np.median(first)
        half = (pairs.most - pairs.least) / 2.0
        rows.append(f"| {seed} | {pairs.mean:+.1f} ± {half:.1f} L | {medians:+.1f} L |")
    return ["| `--seed` | by pairs | by medians |", "|---|---|---|", *rows]


def main():
    """Work out all three tables, and put them into the page."""
    put(PAGE, "medians", median_rows())
    put(PAGE, "shares", share_rows())
    put(
        PAGE,
        "means",
        mean_rows({name: amounts(one, members=ALL) for name, one in passages().items()}),
    )


if __name__ == "__main__":
    main()
