"""Why a line of the endurance table can outlast that of a boat on which all works."""

from __future__ import annotations

from typing import TYPE_CHECKING

from powersim.planning.failures import WORKING
from powersim.records import Boat
from powersim.simulation.bands import quantiles

if TYPE_CHECKING:
    from powersim.planning.endurance_table import EnduranceTable

#: What is longer by less than this is as long. [days]
_ALIKE_DAYS = 1.0 / 24.0


def longer_notes(found: EnduranceTable, boat: Boat) -> list[str]:
    """What to think of a loss by which the bank lasts longer: a sentence or two, or none."""
    working = {line.loads: line for line in found.lines if line.loss == WORKING}
    longer = dict.fromkeys(
        line.loss
        for line in found.lines
        if line.loads in working and not line.at_once and _outlasts(line, working[line.loads])
    )
    if not longer:
        return []
    sooner = "starts the engine sooner" if boat.engine else "has loads switched off sooner"
    return [
        f"Longer than with everything working: {', '.join(longer)}. No gain: less in the bank "
        f"{sooner}, and the hour at which it comes low is another."
    ]


def _outlasts(line, working) -> bool:
    return any(
        longer > usual + _ALIKE_DAYS
        for key in ("days_to_floor", "days_to_flat")
        for longer, usual in zip(
            _told(getattr(line, key)), _told(getattr(working, key)), strict=True
        )
    )


def _told(days):
    """What is printed of it: a number, or the quantiles over members."""
    return (days,) if isinstance(days, float) else quantiles(days)
