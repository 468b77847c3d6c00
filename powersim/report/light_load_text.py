"""What a diesel that charges under light load suffers, in words: for a passage and for a plan."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from powersim.records import Caution
from powersim.report import rounding, when_where
from powersim.report.engine_runs import engine_runs, ship_offset_h
from powersim.simulation.light_load import LONG_h

if TYPE_CHECKING:
    from powersim.simulation.result import SimulationResult


def light_load_told(result: SimulationResult) -> Iterator[Caution]:
    """What the sailor should know of runs that load the engine lightly for long.

    Nothing where a spell of harder work comes often enough, or for an engine that burns petrol.
    """
    told = result.summary["average"]["engine"]
    if told["longest_light_h"] < LONG_h or result.passage.boat.fuel_word != "diesel":
        return
    run = next(engine_runs(result.engine.iloc[told["longest_light_until"] :]))
    when = when_where.short_date(run.start_utc, ship_offset_h=ship_offset_h(run))
    yield Caution(
        text=f"{rounding.hours(told['longest_light_h'])} of charging by {when} at about "
        f"{rounding.soc(told['charging_load_frac'])} of the engine's power, no harder work "
        "between: a diesel glazes and soots up",
        advice="charge in fewer, longer runs, and every ten hours work it hot in gear for half an "
        "hour",
    )
