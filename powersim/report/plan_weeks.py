"""What a rule asks of the sailor in each week: about so many runs of so long, and so much fuel."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from powersim.report import rounding, when_where
from powersim.report.text import table, title
from powersim.report.week_runs import week_runs_of

if TYPE_CHECKING:
    from powersim.planning.plan import Plan


def weeks_dicts(plan: Plan) -> list[dict]:
    """Each week's runs, hours and litres in plain numbers: means over the members.

    Parameters
    ----------
    plan : Plan
        For its weeks; none where the engine never charges.
    """
    if plan.weeks is None:
        return []
    weeks = plan.weeks
    kinds = (weeks.start_h, weeks.days, weeks.runs, weeks.charging_h, weeks.charging_L)
    return [
        {
            "start_h": float(start_h),
            "days": float(days),
            "runs": float(runs.mean()),
            "charging_h": float(hours.mean()),
            "charging_L": float(litres.mean()),
        }
        for start_h, days, runs, hours, litres in zip(*kinds, strict=True)
    ]


def weeks_text(plan: Plan) -> str:
    """A table for a reader, in the words of `simulate`; empty where the engine never charges."""
    weeks, track = plan.weeks, plan.result.prepared.track
    if weeks is None:
        return ""
    rows = []
    for place, week in enumerate(weeks_dicts(plan)):
        step = round(week["start_h"] / track.step_h)
        begins = plan.passage.depart_utc + timedelta(hours=week["start_h"])
        rows.append(
            (
                when_where.short_date(begins, ship_offset_h=float(track.ship_offset_h[step])),
                str(week_runs_of(weeks, place)),
                rounding.litres(week["charging_L"]),
            )
        )
    head = title("What to expect by the week")
    fuel = plan.passage.boat.fuel_word
    return f"{head}\n" + table(rows, aligns="llr", header=("from", "engine", fuel))
