"""How long the bank lasts with all charging lost, in one line: at the quay, and when it hurts most.

From a full bank at the quay it looks longer than it will be at sea, after grey days.
"""

from __future__ import annotations

import math
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from powersim.planning.failures import NO_CHARGING
from powersim.report.kinds import LASTS, MOMENT, Words, say
from powersim.simulation.bands import quantiles

if TYPE_CHECKING:
    from powersim.planning.endurance_table import DaysFrom
    from powersim.records.arrays import Floats
    from powersim.simulation.result import SimulationResult

_ALL_LOADS = "all loads"


def days_left_told(result: SimulationResult, departure: DaysFrom, worst: DaysFrom) -> Words:
    """Days to floor and to flat from departure, and to flat from the worst moment, all loads on.

    Parameters
    ----------
    result : Result
        Of the simulation, for the time and place of the moment.
    departure, worst : DaysFrom
        Counted from there; told in many passages as their median, and what 1 in 10 comes before.
    """
    leaves, hurts = (moment.line(NO_CHARGING, _ALL_LOADS) for moment in (departure, worst))
    if all(math.isinf(_middle(each.days_to_flat)) for each in (leaves, hurts)):
        return say("lasts to landfall with all charging lost at any moment")
    floor_days = _middle(leaves.days_to_floor)
    floor: str | Words = "already below its floor"
    if floor_days:
        floor = say("at its floor after {}", _lasts(leaves.days_to_floor))
    quay = say("{}, flat after {}", floor, _lasts(leaves.days_to_flat))
    if worst.from_h <= 0.0:
        return say("all charging lost at departure, the worst moment: {}", quay)
    track = result.prepared.track
    step = round(worst.from_h / track.step_h)
    at = datetime.fromtimestamp(track.edge_utc_s[step], UTC), float(track.ship_offset_h[step])
    return say(
        "all charging lost at departure: {}; at the worst moment, {}: flat after {}",
        *(quay, MOMENT(at), _lasts(hurts.days_to_flat)),
    )


def _middle(values: Floats) -> float:
    return values if isinstance(values, float) else float(quantiles(values, (0.5,))[0])


def _lasts(values: Floats) -> Words:
    """Days, and where 1 in 10 comes sooner, that."""
    middle = LASTS(_middle(values))
    if isinstance(values, float):
        return say("{}", middle)
    soon = LASTS(float(quantiles(values, (0.1,))[0]))
    if str(soon) == str(middle):
        return say("{}", middle)
    return say("{} (1 in 10 before {})", middle, soon)
