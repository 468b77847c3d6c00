"""Writes the measured tables of docs/model/plan.md: lower bound and risk on the shipped passages.

Takes some minutes: `python docs/plan_figures.py`.
"""

from __future__ import annotations

import time
from pathlib import Path

from measured import put

from powersim.inputs.folder import load_folder
from powersim.planning.plan import plan
from powersim.planning.policy_evaluation import evaluate_policies
from powersim.report import rounding
from powersim.report.plan_text import figures
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.prepare import prepare

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "model" / "plan.md"
#: Fresh members: so many of each of these seeds, none of which the search has seen.
FRESH, SEEDS = 1000, (11, 12, 13, 14, 15)


def main():
    """Plan every shipped passage, and put the figures into the page."""
    lower_bound, risk = [], []
    for folder in sorted((ROOT / "loads").glob("*/boat.toml")):
        passage = load_folder(folder.parent)
        began_s = time.process_time()
        found = plan(passage)
        cpu_s = time.process_time() - began_s
        bound, best, planned = figures(found.lower_bound)
        lower_bound.append(
            f"| {passage.name} | {bound:.2f} | {best:.2f} | {best - bound:.2f} | "
            f"{best / bound:.3f} | {planned:.2f} | {planned - best:.2f} | {cpu_s:.0f} |"
        )
        below, total = fresh_failures(passage, found.rule)
        mean_L = float(found.found.validated.charging_L.mean())
        risk.append(
            f"| {passage.name} | {mean_L:.1f} | "
            f"{100.0 * found.found.validated.below_floor.mean():.1f} | "
            f"{100.0 * below / total:.2f} | {100.0 * error(below, total):.2f} |"
        )
        print(lower_bound[-1], risk[-1], rounding.soc(found.rule.start_soc), sep="\n", flush=True)
    heads = {
        "yardstick": "| passage | foresight, L | best rule for this weather, L | more, L | times | "
        "this rule, L | price of caution, L | cpu, s |\n|---|---|---|---|---|---|---|---|",
        "risk": "| passage | diesel for charging, mean, L | below the floor in validation, % | "
        "in 5,000 fresh members, % | one standard error, % |\n|---|---|---|---|---|",
    }
    for name, rows in (("yardstick", lower_bound), ("risk", risk)):
        put(PAGE, name, [heads[name], *rows])


def fresh_failures(passage, rule):
    """In how many fresh members charge falls below the floor, and how many were tried."""
    prepared = prepare(passage)
    below = 0
    for seed in SEEDS:
        forcing = draw_ensemble(passage, prepared, members=FRESH, seed=seed)
        below += int(evaluate_policies(passage.boat, forcing, [rule]).below_floor.sum())
    return below, FRESH * len(SEEDS)


def error(count, total):
    """Standard error of a share."""
    frac = count / total
    return (frac * (1.0 - frac) / total) ** 0.5


if __name__ == "__main__":
    main()
