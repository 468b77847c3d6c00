"""Where the fuel goes in average weather: a sum to be checked, in one line or line by line."""

from __future__ import annotations

from powersim.records.units_aboard import aboard
from powersim.report.kinds import TENTH_LITRES, Words, joined, say
from powersim.report.view import Column, Table

#: Key of the summary's ledgers, and what it is.
_SPENT = (
    ("unusable_L", "below the pick-up"),
    ("motoring_L", "motoring"),
    ("charging_L", "charging runs"),
    ("alternator_motoring_L", "alternator while motoring"),
    ("heater_L", "heater"),
)


def _terms(summary):
    """Sign, what it is, and litres; what prints as nothing is left out."""
    fuel = summary["average"]["fuel"]

    def litres(key):
        return TENTH_LITRES(fuel[key], f"average.fuel.{key}")

    yield "", "aboard", litres("aboard_L")
    for key, what in _SPENT:
        if fuel[key] >= 0.05:
            yield "-", what, litres(key)
    if fuel["wanted_and_not_there_L"] >= 0.05:
        yield "+", "missing", litres("wanted_and_not_there_L")
    yield "=", "left", litres("left_L")


def ledger_sum(summary: dict) -> Words:
    """The ledger of fuel in one line, from the summary of a boat with fuel aboard."""
    return joined(
        say("{}{} {}", f"{sign} " if sign else "", litres, what)
        for sign, what, litres in _terms(summary)
    )


def ledger_table(summary: dict) -> Table:
    """The ledger line by line, and the reserve."""
    names = {"-": "less: ", "+": "but of these "}
    rows = [(f"{names.get(sign, '')}{what}", litres) for sign, what, litres in _terms(summary)]
    sum_at = len(rows) - 1
    for key, what in (
        ("reserve_L", "reserve, not to be planned with"),
        ("left_above_reserve_L", "above the reserve (below it if negative)"),
    ):
        rows.append((what, TENTH_LITRES(summary["average"]["fuel"][key], f"average.fuel.{key}")))
    return Table(
        caption="From departure to landfall, in average weather",
        columns=(Column("what", words=True), Column(aboard().volume.name)),
        rows=tuple(rows),
        sum_at=sum_at,
    )
