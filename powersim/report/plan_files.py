"""The plan as files and for programs: plan.csv, which `simulate --engine-plan` runs, and JSON."""

from __future__ import annotations

import csv
import io
import math
from typing import TYPE_CHECKING

from powersim.planning.rule_limits import lowest
from powersim.records.timetable import NO_RULE
from powersim.report import when_where
from powersim.report.changed_told import changed_dicts, changed_note
from powersim.report.engine_runs import engine_runs, ship_offset_h
from powersim.report.plain import plain
from powersim.report.plan_text import figures
from powersim.report.plan_weeks import weeks_dicts
from powersim.report.rule_lines import rule_lines
from powersim.simulation.bands import band

if TYPE_CHECKING:
    from powersim.planning.new_rule import NewRule
    from powersim.planning.plan import Plan

COLUMNS = ("start_utc", "run_min", "ship_time", "place", "fuel_L", "soc_before", "soc_after")


def plan_csv(plan: Plan) -> str:
    """The expected timetable, one charging run a line.

    Parameters
    ----------
    plan : Plan
        Its expected timetable.

    Returns
    -------
    str
        Times to the second, minutes to a hundredth, so that it runs as it was planned. Places
        without degree signs: spreadsheets take UTF-8 for another encoding. Notes
        above the heading say what was changed from the files, and if no rule holds.
    """
    text = io.StringIO(newline="")
    text.write(changed_note(plan.passage))
    if not plan.found.holds:
        text.write(f"# {NO_RULE}: these are the runs of the nearest, which fails.\n")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    for run in engine_runs(plan.runs):
        writer.writerow(
            (
                f"{run.start_utc:%Y-%m-%d %H:%M:%S}",
                f"{60.0 * run.run_h:.6g}",
                when_where.ship_time(run.start_utc, ship_offset_h=ship_offset_h(run)),
                when_where.plain_position(run.lat_deg, run.lon_deg),
                f"{run.fuel_L:.3f}",
                f"{run.soc_before:.3f}",
                f"{run.soc_after:.3f}",
            )
        )
    return text.getvalue()


def plan_dict(plan: Plan) -> dict:
    """The plan in plain numbers.

    Parameters
    ----------
    plan : Plan
        As the search found it.

    Returns
    -------
    dict
        Strict JSON: None for what never comes or is not known.
    """
    lower_bound = plan.lower_bound
    return {
        "passage": plan.passage.name,
        "changed": changed_dicts(plan.passage),
        **rule_dict(plan),
        "seed": plan.seed,
        "cold": plan.result.summary["cold"],
        "mean_sky": None if lower_bound is None else _mean_sky(lower_bound),
        "what_would_help": plain(plan.help),
        "weeks": weeks_dicts(plan),
        "engine_hours": plain(plan.engine_hours),
        "runs": [
            {
                "start_utc": run.start_utc.isoformat(),
                "ship_time": run.ship_time.isoformat(),
                "lat_deg": float(run.lat_deg),
                "lon_deg": float(run.lon_deg),
                "run_min": 60.0 * float(run.run_h),
                "fuel_L": float(run.fuel_L),
                "soc_before": float(run.soc_before),
                "soc_after": float(run.soc_after),
            }
            for run in engine_runs(plan.runs)
        ],
    }


def rule_dict(plan: Plan | NewRule) -> dict:
    """A rule, what it comes to, and the boat's own rule beside it, in plain numbers."""
    validated, own = plan.found.validated, plan.own
    harms = ("lowest_soc", "below_floor_h", "dark_h")
    costs = ("charging_h", "charging_runs", "charging_L", "cost_L")
    bands = (*harms, *costs, "fuel_left_L", "longest_since_full_h")
    return {
        "holds": plan.found.holds,
        "risk_frac": plan.limits.risk_frac,
        "searched_in": plan.members,
        "judged_in": plan.validation_members,
        "rules_tried": plan.found.rules_evaluated,
        "rule": plain(plan.rule),
        "rule_in_words": [
            str(line) for line in rule_lines(plan.rule, plan.panel, plan.passage.boat, plan.keep_V)
        ],
        "panel": plain(plan.panel),
        "keep_V": plan.keep_V,
        "verdict": plan.found.verdict.as_dict(),
        "moved": {f"{points:+d}": one.fails._asdict() for points, one in plan.found.moved.items()},
        "slept_through": plan.found.slept_through and plan.found.slept_through.fails._asdict(),
        "offers": [_offer(offer, plan) for offer in plan.found.offers],
        "bands": {name: band(getattr(validated, name)[0]) for name in bands},
        "mean": {name: float(getattr(validated, name).mean()) for name in bands},
        "own_rule_mean": {name: float(getattr(own, name).mean()) for name in bands},
        "own_rule_below_floor_frac": float(own.below_floor.mean()),
        "own_rule_dark_frac": float((own.dark_h > 0.0).mean()),
    }


def _offer(offer, plan) -> dict:
    validated = offer.validated
    means = ("charging_L", "charging_h", "charging_runs", "cost_L")
    return {
        "rule": plain(offer.rule),
        "merits": list(offer.merits),
        "fails": offer.verdict.fails._asdict(),
        "sure": offer.verdict.sure,
        "lowest_soc": float(lowest(validated, plan.limits)[0]),
        "longest_since_full_days": float(validated.longest_since_full_h.mean()) / 24.0,
        "mean": {name: float(getattr(validated, name).mean()) for name in means},
    }


def _mean_sky(lower_bound) -> dict:
    bound, best, planned = figures(lower_bound)
    return {
        "foresight_L": bound,
        "foresight_keeps_limits": lower_bound.bound.feasible,
        "best_rule_L": best,
        "best_rule_to_foresight": best / bound if bound > 0.0 and math.isfinite(bound) else None,
        "this_rule_L": planned,
        "price_of_caution_L": planned - best,
    }
