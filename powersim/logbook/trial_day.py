"""What the draws of a sea trial come to in a day of the passage."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from powersim.physics.demand import demand_of
from powersim.simulation.prepare import prepare

if TYPE_CHECKING:
    from powersim.logbook.trial import MeasuredDraw, SeaTrial
    from powersim.records import Load, Passage

#: Of the passage, of which only means are asked for. [h]
_STEP_h = 1.0
#: The column of loads.csv that a state is of.
FIELDS = {"on": "draw", "idle": "standby"}


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
    day = _Day(found)
    filed, measured = day.of({}), day.of({one: one.found for one in day.told})
    names = dict.fromkeys(one.names[0] for one in found.draws if len(one.names) == 1)
    return {name: (filed[name], measured[name]) for name in names if name in filed}


def factors_of(found: SeaTrial) -> dict[str, tuple[float, float]]:
    """What each load takes over what the files say, by the trial.

    Parameters
    ----------
    found : SeaTrial
        The draws.

    Returns
    -------
    dict of str to (float, float)
        By the load's name: the factor on its mean day, and that factor's standard
        deviation. A state that was not measured keeps the load's own spread. Loads that draw
        nothing by the files, or of which nothing is told, are left out. [-]
    """
    day = _Day(found)
    best = {one: one.found for one in day.told}
    filed, measured = day.of({}), day.of(best)
    factors = {}
    for name in dict.fromkeys(one.names[0] for one in day.told):
        if not filed.get(name) or measured[name] <= 0.0:
            continue
        own = [one for one in day.told if one.names[0] == name]
        sds_Ah = [day.of(best | {one: one.found + one.sd})[name] - measured[name] for one in own]
        alone_Ah = day.of(dict.fromkeys(own, 0.0))[name]  # what no reading tells of it
        spread = max(load.spread_frac for load in found.passage.loads if load.name == name)
        sd_Ah = math.hypot(*sds_Ah, spread * alone_Ah)
        factors[name] = measured[name] / filed[name], sd_Ah / filed[name]
    return factors


def passage_as_measured(found: SeaTrial) -> Passage:
    """The passage with every draw as the trial found it, where it tells one.

    Parameters
    ----------
    found : SeaTrial
        The draws.
    """
    told = told_draws(found)
    loads = _with_draws(found.passage.loads, {one: one.found for one in told})
    return replace(found.passage, loads=loads)


class _Day:
    """The mean day of a passage with other draws."""

    def __init__(self, found: SeaTrial):
        self.passage, self.told = found.passage, told_draws(found)
        self.prepared = prepare(found.passage, step_h=_STEP_h)

    def of(self, draws: Mapping[MeasuredDraw, float]) -> dict[str, float]:
        """By name, the lines of one name together. [Ah]"""
        boat, track, sky = self.passage.boat, self.prepared.track, self.prepared.sky
        loads = _with_draws(self.passage.loads, draws)
        demand = demand_of(loads, boat.supplies, track=track, sky=sky)
        draws_A = (demand.current_A + demand.power_W / boat.battery.nominal_V).mean(axis=1)
        day: dict[str, float] = {}
        for load, draw_A in zip(loads, draws_A.tolist(), strict=False):  # then supplies that idle
            day[load.name] = day.get(load.name, 0.0) + 24.0 * draw_A
        return day


def told_draws(found: SeaTrial) -> list[MeasuredDraw]:
    """The draws that can stand in place of a load's, in the order of the files.

    Parameters
    ----------
    found : SeaTrial
        The draws.

    Returns
    -------
    list of MeasuredDraw
        Without what is open, what was only switched together, and what no file has.
    """
    return [
        one
        for one in found.draws
        if len(one.names) == 1 and not one.open_because and one.filed is not None
    ]


def _with_draws(loads: Sequence[Load], draws: Mapping[MeasuredDraw, float]) -> tuple[Load, ...]:
    """The loads with other draws; none is below 0."""
    by_place = {(one.names[0], one.state): (one.unit, draw) for one, draw in draws.items()}

    def changed(load: Load) -> Load:
        changes: dict[str, Any] = {}
        for state, name in FIELDS.items():
            if (load.name, state) in by_place:
                unit, draw = by_place[load.name, state]
                changes |= {f"{name}_A": 0.0, f"{name}_W": 0.0, f"{name}_{unit}": max(draw, 0.0)}
        return replace(load, **changes)

    return tuple(map(changed, loads))
