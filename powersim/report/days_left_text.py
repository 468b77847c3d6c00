"""How long the bank lasts with all charging lost, in one line: at the quay, and when it hurts most.

From a full bank at the quay it looks longer than it will be at sea, after grey days.
"""

from __future__ import annotations

import math
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from powersim.planning.cases import ALL_LOADS
from powersim.planning.failures import NO_CHARGING
from powersim.report.kinds import LASTS, MOMENT, Quantity, Words, say
from powersim.simulation.bands import quantiles

if TYPE_CHECKING:
    from powersim.planning.endurance_table import DaysFrom
    from powersim.records.arrays import Floats
    from powersim.simulation.result import SimulationResult


def days_left_told(result: SimulationResult, departure: DaysFrom, worst: DaysFrom) -> Words:
    """Days to floor and to flat from departure, and to flat from the worst moment, all loads on.

    Parameters
    ----------
    result : Result
        Of the simulation, for the time and place of the moment.
    departure, worst : DaysFrom
        Counted from there; told in many passages as their median, and what 1 in 10 comes before.
    """
    leaves, hurts = (moment.line(NO_CHARGING, ALL_LOADS) for moment in (departure, worst))
    if all(math.isinf(_middle(each.days_to_flat)) for each in (leaves, hurts)):
        return say("lasts to landfall with all charging lost at any moment")
    floor_days = _middle(leaves.days_to_floor)
    floor: str | Words = "already below its floor"
    if floor_days:
        floor = say("at its floor after {}", lasts_told(leaves.days_to_floor))
    quay = say("{}, flat after {}", floor, lasts_told(leaves.days_to_flat))
    if worst.from_h <= 0.0:
        return say("all charging lost at departure, the worst moment: {}", quay)
    return say(
        "all charging lost at departure: {}; at the worst moment, {}: flat after {}",
        *(quay, moment_told(result, worst), lasts_told(hurts.days_to_flat)),
    )


def moment_told(result: SimulationResult, at: DaysFrom) -> Quantity:
    """Date and ship's time that days are counted from.

    Parameters
    ----------
    result : Result
        Of the simulation.
    at : DaysFrom
        Counted from there.
    """
    track = result.prepared.track
    step = round(at.from_h / track.step_h)
    when_utc = datetime.fromtimestamp(track.edge_utc_s[step], UTC)
    return MOMENT((when_utc, float(track.ship_offset_h[step])))


def _middle(values: Floats) -> float:
    return values if isinstance(values, float) else float(quantiles(values, (0.5,))[0])


def lasts_told(values: Floats) -> Words:
    """Days, and where 1 in 10 comes sooner, that.

    Parameters
    ----------
    values : float or ndarray, shape (members,)
        How long it lasts; infinite past landfall. [days]
    """
    middle = LASTS(_middle(values))
    if isinstance(values, float):
        return say("{}", middle)
    soon = LASTS(float(quantiles(values, (0.1,))[0]))
    if not soon.value:
        return say("{} (1 in 10 already)", middle)
    if str(soon) == str(middle):
        return say("{}", middle)
    return say("{} (1 in 10 before {})", middle, soon)
