"""Writes the measured tables of docs/model/plan.md: shipped rules, how sure and how good.

Takes about two minutes on two quiet cores: `python docs/plan_figures.py`. Names of passage folders
after it take those alone, and print what they come to without writing.
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace
from pathlib import Path
from unittest import mock

import numpy as np
from measured import put

from powersim.api.results import simulate
from powersim.defaults import PLAN_MEMBERS, RISK_FRAC, SEED
from powersim.inputs.folder import load_folder
from powersim.planning import policy_evaluation, rule_candidates
from powersim.planning.panel_values import shown_V
from powersim.planning.plan import VALIDATION_MEMBERS, plan, with_rule
from powersim.planning.policy_evaluation import evaluate_policies
from powersim.planning.rule_limits import failing, lowest
from powersim.planning.rule_search import search_for
from powersim.report import rounding
from powersim.report.plan_text import figures
from powersim.report.rule_in_short import rule_in_short
from powersim.simulation.allowed import rule_steps
from powersim.simulation.differences import paired_mean
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.prepare import prepare

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "model" / "plan.md"
#: Fresh members: so many of each of these seeds, none of which the search has seen.
FRESH, SEEDS = 1000, (11, 12, 13, 14, 15)
HEADS = {
    "yardstick": "| passage | foresight, L | best rule for this weather, L | more, L | times | "
    "this rule, L | price of caution, L | cpu, s |\n|---|---|---|---|---|---|---|---|",
    "shipped": "| passage | her own rule | diesel, L | engine, h | runs a week | fail with the "
    "usual seed, % | in 5,000 fresh, % | by seed | one standard error, % |\n"
    "|---|---|---|---|---|---|---|---|---|",
    "risk": "| passage | rule | diesel, L | engine, h | runs a week | lowest, 1 in 20 below, % | "
    "longest without a full charge, days | fail in validation, % | in 5,000 fresh, % | by seed | "
    "one standard error, % |\n|---|---|---|---|---|---|---|---|---|---|---|",
    "waiting": "| passage | the best that does not wait: diesel, L | runs | cost, L | the best of "
    "all kinds: diesel, L | runs | cost, L | waits | less diesel, L | less if no calm "
    "is motored, L | fail with every 7th reading slept through, %: not waiting | waiting |\n"
    "|---|---|---|---|---|---|---|---|---|---|---|---|",
    "price": "| passage | at set times: diesel, L | engine, h | runs | known at any moment: "
    "diesel, L | engine, h | runs | more, L | more by all costs, L |\n"
    "|---|---|---|---|---|---|---|---|---|",
}


def main(names):
    """Plan every shipped passage, and put the figures into the page."""
    rows = {name: [] for name in HEADS}
    for folder in sorted((ROOT / "loads").glob("*/boat.toml")):
        if names and folder.parent.name not in names:
            continue
        passage = load_folder(folder.parent)
        began_s = time.process_time()
        found = plan(passage)
        cpu_s = time.process_time() - began_s
        rows["yardstick"].append(yardstick(passage, found, cpu_s))
        rows["shipped"].append(shipped(passage))
        rows["risk"].append(risk(passage, found))
        rows["waiting"].append(waiting(passage, found))
        rows["price"].append(price(passage, found))
        for name in HEADS:
            print(rows[name][-1], flush=True)
    if not names:
        for name, head in HEADS.items():
            put(PAGE, name, [head, *rows[name]])


def yardstick(passage, found, cpu_s):
    """How good the rule is in average weather."""
    if found.lower_bound is None:
        return f"| {passage.name} | no rule holds | | | | | | {cpu_s:.0f} |"
    bound, best, planned = figures(found.lower_bound)
    return (
        f"| {passage.name} | {bound:.2f} | {best:.2f} | {best - bound:.2f} | "
        f"{best / bound:.3f} | {planned:.2f} | {planned - best:.2f} | {cpu_s:.0f} |"
    )


def shipped(passage):
    """The rule that boat.toml has, as `simulate` judges it."""
    usual, *fresh = (simulate(passage, members=FRESH, seed=seed) for seed in (SEED, *SEEDS))
    fails = [round(FRESH * one.summary["verdict"]["fails"]["frac"]) for one in fresh]
    total = FRESH * len(SEEDS)
    rule = rule_in_short(
        passage.boat.charging, passage.boat, lambda soc: shown_V(usual.prepared, soc)
    )
    means = (
        sum(float(getattr(one.ensemble, name).mean()) for one in fresh) / len(SEEDS)
        for name in ("charging_L", "charging_h", "charging_runs")
    )
    litres, hours, runs = means
    seeds = ", ".join(f"{100.0 * count / FRESH:.1f}" for count in fails)
    return (
        f"| {passage.name} | {rule} | {litres:.1f} | {hours:.1f} | "
        f"{7.0 * runs / usual.summary['passage']['days']:.1f} | "
        f"{100.0 * usual.summary['verdict']['fails']['frac']:.1f} | "
        f"{100.0 * sum(fails) / total:.2f} | {seeds} | {100.0 * error(sum(fails), total):.2f} |"
    )


def risk(passage, found):
    """The rule, and how often it fails in members that nobody has seen."""
    validated, told = found.found.validated, found.found.verdict
    fails = fresh_failures(passage, found)
    total = FRESH * len(SEEDS)
    rule = rule_in_short(found.rule, passage.boat, found.shown_V)
    seeds = ", ".join(f"{100.0 * count / FRESH:.1f}" for count in fails)
    return (
        f"| {passage.name} | {'' if told.holds else 'NO RULE HOLDS; the nearest: '}{rule} | "
        f"{validated.charging_L.mean():.1f} | {validated.charging_h.mean():.1f} | "
        f"{7.0 * validated.charging_runs.mean() / found.passage_days:.1f} | "
        f"{rounding.soc(float(lowest(validated, found.limits)[0])).removesuffix(' %')} | "
        f"{validated.longest_since_full_h.mean() / 24.0:.1f} | {100.0 * told.fails.frac:.1f} | "
        f"{100.0 * sum(fails) / total:.2f} | {seeds} | {100.0 * error(sum(fails), total):.2f} |"
    )


def fresh_failures(passage, found):
    """In how many fresh members of each seed the rule fails."""
    planned = with_rule(passage, found.rule)
    prepared = prepare(planned)
    fails = []
    for seed in SEEDS:
        forcing = draw_ensemble(planned, prepared, members=FRESH, seed=seed)
        evaluation = evaluate_policies(
            planned.boat, forcing, [found.rule], counted_from_h=found.limits.counted_from_h
        )
        fails.append(int(failing(evaluation, found.limits).any.sum()))
    return fails


def waiting(passage, found):
    """What rules that wait for one more reading save, in fresh members of the same passages."""
    with mock.patch.object(rule_candidates, "_waiting", return_value=[]):
        at_once = search_for(
            passage,
            prepare(passage),
            members=PLAN_MEMBERS,
            validation_members=VALIDATION_MEMBERS,
            seed=SEED,
            risk_frac=RISK_FRAC,
        ).found
    rules = [at_once.rule, found.rule]
    told = " | ".join(
        f"{one.validated.charging_L.mean():.1f} | {one.validated.charging_runs.mean():.1f} | "
        f"{one.validated.cost_L.mean():.1f}"
        for one in (at_once, found.found)
    )
    waits = "no" if found.rule.wait_below_soc is None else "yes"
    under_sail = replace(
        passage,
        waypoints=tuple(
            replace(one, motoring_start_h=0.0, motoring_end_h=0.0, motoring_calm_frac=0.0)
            for one in passage.waypoints
        ),
    )
    less = [saved(one, rules) for one in (passage, under_sail)]
    with mock.patch.object(policy_evaluation, "rule_steps", _every_seventh_slept_through):
        missed = fresh_evaluations(passage, rules)
    fails = [sum(failing(one, found.limits).any[place].sum() for one in missed) for place in (0, 1)]
    shares = " | ".join(f"{100.0 * count / FRESH / len(SEEDS):.1f}" for count in fails)
    return f"| {passage.name} | {told} | {waits} | {' | '.join(less)} | {shares} |"


def saved(passage, rules):
    """How much less diesel the second of two rules takes than the first, with its interval."""
    evaluations = fresh_evaluations(passage, rules)
    first_L, second_L = (
        np.concatenate([one.charging_L[place] for one in evaluations]) for place in (0, 1)
    )
    less = paired_mean(second_L, first_L)
    return f"{less.mean:.2f} ({less.least:.2f} to {less.most:.2f})"


def fresh_evaluations(passage, rules):
    """What rules come to in the fresh members of each seed."""
    prepared = prepare(passage)
    return [
        evaluate_policies(
            passage.boat, draw_ensemble(passage, prepared, members=FRESH, seed=seed), rules
        )
        for seed in SEEDS
    ]


def _every_seventh_slept_through(rule, sun_track, per_step):
    steps = rule_steps(rule, sun_track, per_step)
    read = np.flatnonzero(steps["reads"])
    steps["reads"][read[6::7]] = 0.0
    return steps


def price(passage, found):
    """What it costs to read the bank at set times, and not to know it at any moment."""
    awake = replace(
        with_rule(
            passage,
            replace(passage.boat.charging, read_at_h=(), little_sun_Ah=None, wait_below_soc=None),
        ),
        assumptions=(),
    )
    _, _, known = search_for(
        awake,
        prepare(awake),
        members=PLAN_MEMBERS,
        validation_members=VALIDATION_MEMBERS,
        seed=SEED,
        risk_frac=RISK_FRAC,
    )
    lived, always = found.found.validated, known.validated
    told = " | ".join(
        f"{one.charging_L.mean():.1f} | {one.charging_h.mean():.1f} | "
        f"{one.charging_runs.mean():.1f}"
        for one in (lived, always)
    )
    if not (found.found.holds and known.holds):
        return f"| {passage.name} | {told} | one of them does not hold | |"
    more_L, more_cost_L = (
        float(getattr(lived, name).mean() - getattr(always, name).mean())
        for name in ("charging_L", "cost_L")
    )
    more = (f"{one:+.1f}".replace("-0.0", "0.0") for one in (more_L, more_cost_L))
    return f"| {passage.name} | {told} | {' | '.join(more)} |"


def error(count, total):
    """Standard error of a share."""
    frac = count / total
    return (frac * (1.0 - frac) / total) ** 0.5


if __name__ == "__main__":
    main(sys.argv[1:])
