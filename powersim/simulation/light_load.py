"""How hard the engine works while it charges: a diesel that idles along for hours suffers.

Light load glazes a diesel's bores, soots its exhaust and lets unburnt fuel through (wet stacking).
An hour of it does no harm; many of them do, with no spell of harder work between.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, NamedTuple

from powersim.records import Engine
from powersim.records.belt import propeller_W

if TYPE_CHECKING:
    import pandas as pd

#: Load over rated power below which a diesel's run counts as light; common practice, no source. [-]
LIGHT_FRAC = 0.20
#: How long a spell of harder work burns off what light load has left; common practice, no source.
#: [h]
CLEANS_h = 0.5
#: Time of light running without such a spell that is long; common practice, no source. [h]
LONG_h = 10.0


class LightLoad(NamedTuple):
    """How lightly the engine is loaded in charging runs.

    `load_frac` is the mean of all charging runs, over rated power; None without any. `longest_h` is
    the most time in light charging runs with no spell of harder work between, and `until` the
    place in the engine's table of the run with which it is reached; None where there is none.
    """

    load_frac: float | None
    longest_h: float
    until: int | None


def light_load(engine: Engine | None, runs: pd.DataFrame) -> LightLoad:
    """How lightly the engine is loaded while it charges.

    Parameters
    ----------
    engine : Engine or None
        Its rated power; None for a boat without.
    runs : pandas.DataFrame
        Every run of the engine, in order, from `tables.engine_table`.

    Returns
    -------
    LightLoad
        Over all runs.

    Notes
    -----
    In gear the propeller's power is that of `belt.propeller_W`, with the alternator's on top.
    """
    charging_kWh = charging_h = so_far_h = longest_h = 0.0
    until = None
    if engine is None:
        return LightLoad(None, longest_h, until)
    rows: Iterable[Any] = runs.itertuples()  # named after the table's columns
    for place, run in enumerate(rows):
        load_kWh = run.shaft_kWh
        if run.kind == "motoring":
            load_kWh += propeller_W(engine) / 1000.0 * run.run_h
        else:
            charging_kWh += load_kWh
            charging_h += run.run_h
        light = load_kWh < LIGHT_FRAC * engine.rated_kW * run.run_h
        if not light and run.run_h >= CLEANS_h:
            so_far_h = 0.0
        elif light and run.kind == "charging":
            so_far_h += run.run_h
            if so_far_h > longest_h:
                longest_h, until = so_far_h, place
    mean_frac = charging_kWh / charging_h / engine.rated_kW if charging_h else None
    return LightLoad(mean_frac, longest_h, until)
