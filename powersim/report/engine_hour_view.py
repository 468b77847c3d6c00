"""What an hour in gear puts into the bank besides its miles, and what an hour at rest does."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from powersim.report.kinds import AH, LITRES_PER_HOUR, MILES, SHARE, TENTHS, WH, say
from powersim.report.view import Column, Paragraph, Section, Table, Title

if TYPE_CHECKING:
    from powersim.planning.hour_in_gear import EngineHour

_COLUMNS = (
    Column("", words=True),
    Column("bank at", words=True),
    *(Column(head, over="into the bank") for head in ("charge", "energy", "of it")),
    *(Column(head, over="burns") for head in ("in all", "for the bank")),
)


def engine_hours_told(hours: Sequence[EngineHour]) -> list[Section]:
    """What the hours come to, and what that means for a calm.

    Parameters
    ----------
    hours : sequence of EngineHour
        From `hour_in_gear.engine_hours`; in gear at the floor first.

    Returns
    -------
    list of Section
        Empty where there are none.
    """
    if not hours:
        return []
    rows = tuple(
        (
            say("in gear, {}", MILES(one.miles_nm)) if one.in_gear else "at rest",
            SHARE(one.soc),
            AH(one.into_bank_Ah),
            WH(one.into_bank_Wh),
            SHARE(one.of_bank_frac),
            LITRES_PER_HOUR(one.fuel_L),
            LITRES_PER_HOUR(one.for_bank_L),
        )
        for one in hours
    )
    return [
        Title("What an hour of the engine gives"),
        Table(columns=_COLUMNS, rows=rows),
        Paragraph(
            "No sun is counted, and what the loads take meanwhile is off. In gear only the "
            "alternator's own load is burnt for the bank."
        ),
        *_beside(hours),
    ]


def _beside(hours: Sequence[EngineHour]) -> list[Section]:
    """How dear the same charge is at rest."""
    in_gear, at_rest = hours[0], hours[-1]
    if at_rest.in_gear or min(in_gear.into_bank_Ah, at_rest.into_bank_Ah) <= 0.0:
        return []
    costs = [one.for_bank_L / one.into_bank_Ah for one in (in_gear, at_rest)]
    return [
        Paragraph(
            say(
                "At rest the same charge takes {} times as much fuel: a calm that you will motor "
                "anyway may stand in for a run. But none may come: keep to the rule.",
                TENTHS(costs[1] / costs[0]),
            )
        )
    ]
