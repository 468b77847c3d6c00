"""What a rule asks of the sailor in each week: about so many runs of so long, and so much fuel."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from powersim.report import rounding, when_where
from powersim.report.text import table, title

if TYPE_CHECKING:
    from powersim.planning.plan import Plan

#: Fewer runs than this in a week are called hardly any.
_HARDLY = 0.5


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
    """The same as a table for a reader; empty where the engine never charges."""
    rows, track = [], plan.result.prepared.track
    for week in weeks_dicts(plan):
        step = round(week["start_h"] / track.step_h)
        begins = plan.passage.depart_utc + timedelta(hours=week["start_h"])
        rows.append(
            (
                when_where.short_date(begins, ship_offset_h=float(track.ship_offset_h[step])),
                runs_told(week["runs"], week["charging_h"]),
                rounding.litres(week["charging_L"]),
            )
        )
    if not rows:
        return ""
    head = title("What to expect by the week")
    fuel = plan.passage.boat.fuel_word
    return f"{head}\n" + table(rows, aligns="llr", header=("from", "engine", fuel))


def runs_told(runs: float, hours: float) -> str:
    """So many runs of so long, as a person says it.

    Parameters
    ----------
    runs : float
        How many, on average.
    hours : float
        How long they are together, on average. [h]

    Examples
    --------
    >>> runs_told(3.8, 7.9), runs_told(1.2, 2.3), runs_told(0.2, 0.4)
    ('about 4 runs of 2 h', 'about 1 run of 2 h', 'hardly any run')
    """
    if runs < _HARDLY:
        return "hardly any run"
    each_h = round(2.0 * hours / runs) / 2.0 or 0.5
    return f"about {rounding.plural(round(runs), 'run')} of {each_h:g} h"
