"""The rules that `plan` offers in one table, and why one of them is recommended."""

from __future__ import annotations

from typing import TYPE_CHECKING

from powersim.planning.rule_limits import lowest
from powersim.planning.rule_offers import COST, DIESEL, FULL, MARGIN, RUNS
from powersim.report import rounding
from powersim.report.plan_verdict import bounds, one_in
from powersim.report.rule_in_short import rule_in_short
from powersim.report.text import paragraph, table, title

if TYPE_CHECKING:
    from powersim.planning.plan import Plan
    from powersim.planning.rule_offers import Offer


def offers_text(plan: Plan) -> str:
    """The rules that hold, side by side, and why the first is recommended; empty for no choice."""
    offers, days = plan.found.offers, plan.passage_days
    if len(offers) < 2:
        return ""
    fuel = plan.passage.boat.fuel_word
    rows = [_row(place, offer, plan, days) for place, offer in enumerate(offers, start=1)]
    below, fail = f"{one_in(plan)}\nbelow", f"fail of {plan.validation_members}\n(of ever more)"
    head = ("", fuel, "engine", "runs\na week", below, "without\nfull", fail)
    lines = [
        paragraph(
            f"{_called(offer, fuel)}: {rule_in_short(offer.rule, plan.passage.boat, plan.shown_V)}",
            bullet=f"{place}. ",
        )
        for place, offer in enumerate(offers, start=1)
    ]
    return "\n".join(
        [
            title("Rules that hold"),
            *lines,
            table(rows, aligns="lrrrrrr", header=head),
            paragraph(f"{_why(offers, plan)} All keys of each are in 'powersim plan --json'."),
        ]
    )


def _called(offer: Offer, fuel: str) -> str:
    names = [name.replace("fuel", fuel) for name in offer.merits]
    return (", ".join(names) or "the best of both").capitalize()


def _row(place, offer, plan, days):
    validated, told = offer.validated, offer.verdict.fails
    longest_h = float(validated.longest_since_full_h.mean())
    return (
        f"{place}.",
        rounding.litres(float(validated.charging_L.mean())),
        rounding.hours(float(validated.charging_h.mean())),
        rounding.number(7.0 * float(validated.charging_runs.mean()) / days, decimals=1),
        rounding.soc(float(lowest(validated, plan.limits)[0])),
        rounding.days(longest_h / 24.0),
        f"{round(told.frac * plan.validation_members)} ({bounds(told)})",
    )


def _why(offers, plan) -> str:
    """Why the first is recommended, and what the others would give and take."""
    first, fuel = offers[0], plan.passage.boat.fuel_word
    cost_L = float(first.validated.cost_L.mean())
    cheapest = COST in first.merits
    by = "costs least" if cheapest else "fills the bank in time and costs little more"
    head = (
        f"1 is recommended: with hours, starts, light load and late full charges counted it {by}, "
        f"{rounding.litres(cost_L)} a passage."
    )
    return " ".join(
        [head, *(_beside(place, one, first, fuel) for place, one in enumerate(offers[1:], 2))]
    )


def _beside(place, one, first, fuel) -> str:
    here, there = one.validated, first.validated

    def more(name):
        return float(getattr(here, name).mean() - getattr(there, name).mean())

    gives = []
    if DIESEL in one.merits:
        gives.append(f"saves {rounding.litres(-more('charging_L'))} of {fuel}")
    if RUNS in one.merits:
        gives.append(f"saves {rounding.plural(max(round(-more('charging_runs')), 1), 'run')}")
    if MARGIN in one.merits:
        gives.append("keeps the bank higher")
    if FULL in one.merits:
        gives.append("fills the bank sooner")
    extra = more("cost_L")
    cost = f" for {rounding.litres(extra)} more in all" if extra > 0.05 else ""
    return f"{place} {' and '.join(gives)}{cost}."
