"""What a diesel that charges under light load suffers, in words: for a passage and for a plan."""

from __future__ import annotations

from powersim.records import Caution
from powersim.report import rounding, when_where
from powersim.simulation.light_load import LONG_h


def light_load_told(result):
    """What the sailor should know of runs that load the engine lightly for long.

    Parameters
    ----------
    result : Result

    Yields
    ------
    Caution
        Nothing where a spell of harder work comes often enough, or for an engine that burns
        petrol.
    """
    told = result.summary["engine"]
    if told["longest_light_h"] < LONG_h or result.passage.boat.fuel_word != "diesel":
        return
    run = result.engine.iloc[told["longest_light_until"]]
    when = when_where.short_date(
        run.start_utc.to_pydatetime(),
        ship_offset_h=(run.ship_time - run.start_utc.tz_localize(None)).total_seconds() / 3600.0,
    )
    yield Caution(
        text=f"{rounding.hours(told['longest_light_h'])} of charging by {when} at about "
        f"{rounding.soc(told['charging_load_frac'])} of the engine's power, no harder work "
        "between: a diesel glazes and soots up",
        advice="charge in fewer, longer runs, and every ten hours work it hot in gear for half an "
        "hour",
    )
