"""What the draws of a sea trial come to in a day of the passage."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from powersim.physics.demand import demand_of
from powersim.simulation.prepare import prepare

if TYPE_CHECKING:
    from powersim.logbook.trial import SeaTrial
    from powersim.records import Load, Passage
    from powersim.simulation.prepared import Prepared

#: Of the passage, of which only means are asked for. [h]
_STEP_h = 1.0
_FIELDS = {"on": "draw", "idle": "standby"}


def day_Ah(found: SeaTrial) -> dict[str, tuple[float, float]]:
    """What each load that was measured takes in a mean day, by the files and by the trial.

    Parameters
    ----------
    found : SeaTrial
        The draws.

    Returns
    -------
    dict of str to (float, float)
        By the load's name, at the bank's nominal voltage; what was only switched together with
        others is left out. [Ah]
    """
    passage = found.passage
    prepared = prepare(passage, step_h=_STEP_h)
    filed, measured = (
        _day_Ah(loads, passage, prepared)
        for loads in (passage.loads, passage_as_measured(found).loads)
    )
    names = dict.fromkeys(one.names[0] for one in found.draws if len(one.names) == 1)
    return {name: (filed[name], measured[name]) for name in names if name in filed}


def _day_Ah(loads: Sequence[Load], passage: Passage, prepared: Prepared) -> dict[str, float]:
    """By name, the lines of one name together. [Ah]"""
    boat = passage.boat
    demand = demand_of(loads, boat.supplies, track=prepared.track, sky=prepared.sky)
    draws_A = (demand.current_A + demand.power_W / boat.battery.nominal_V).mean(axis=1)
    day: dict[str, float] = {}
    for load, draw_A in zip(loads, draws_A.tolist(), strict=False):  # then supplies that idle
        day[load.name] = day.get(load.name, 0.0) + 24.0 * draw_A
    return day


def passage_as_measured(found: SeaTrial) -> Passage:
    """The passage with every draw as the trial found it, where it tells one.

    Parameters
    ----------
    found : SeaTrial
        The draws.
    """
    told = {
        (one.names[0], one.state): one
        for one in found.draws
        if len(one.names) == 1 and not one.open_because and one.filed is not None
    }

    def as_measured(load: Load) -> Load:
        changes: dict[str, Any] = {}
        for state, name in _FIELDS.items():
            one = told.get((load.name, state))
            if one is not None:
                changes |= {f"{name}_A": 0.0, f"{name}_W": 0.0}
                changes[f"{name}_{one.unit}"] = max(one.found, 0.0)
        return replace(load, **changes)

    return replace(found.passage, loads=tuple(as_measured(one) for one in found.passage.loads))
