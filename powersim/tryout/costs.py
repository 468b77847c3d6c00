"""What one load costs in fuel and in chance: the same passage with it left off, pair by pair."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from powersim.errors import refused
from powersim.inputs.places import LOADS, parts_of
from powersim.inputs.text import ReadingError
from powersim.planning.measures import measure_of, measured
from powersim.report.differences_told import difference_told
from powersim.simulation.ensemble import run_ensemble

if TYPE_CHECKING:
    from powersim.records import Load
    from powersim.records.arrays import Array
    from powersim.tryout.trials import Trial
    from powersim.tryout.turns import GoOn

#: What a load costs, by the name of the answer, and the measure in which it does.
_COSTS = {"litres": "burnt", "chance": "fails"}


def cost_of(trial: Trial, load: str, *, risk_frac: float, go_on: GoOn) -> dict[str, Any]:
    """What a load adds to the passage as it is: litres burnt in all, and the chance that it fails.

    Parameters
    ----------
    trial : Trial
        The passage as it was changed.
    load : str
        Its name, or its place.
    risk_frac : float
        Share of the members that may fail. [-]
    go_on : callable
        Called while the work goes on.

    Returns
    -------
    dict
        "litres" and "chance", each a difference in words, empty where there is nothing of it; and
        "stays_on", whether nobody should be without it at sea, whatever it costs.
    """
    passage = trial.result.passage
    name = _name_of(load)
    meant = [one for one in passage.loads if _folded(one.name) == name]
    if not meant:
        raise refused("this page", f"asked what {load!r} costs, and there is no such load")
    loads = tuple(
        replace(one, count=0) if _folded(one.name) == name else one for one in passage.loads
    )
    stays_on = any(one.protected for one in meant)
    if loads == passage.loads:  # it is off already
        return dict.fromkeys(_COSTS, "") | {"stays_on": stays_on}
    without = _measured_without(trial, loads, risk_frac=risk_frac, go_on=go_on)
    told = {told_as: _told(name, without, trial.measured) for told_as, name in _COSTS.items()}
    return told | {"stays_on": stays_on}


def _told(name: str, without: dict[str, Array], with_it: dict[str, Array]) -> str:
    if name not in with_it:
        return ""
    measure = measure_of(name)
    return difference_told(measure, measure.difference(without[name], with_it[name]))


def _measured_without(
    trial: Trial, loads: tuple[Load, ...], *, risk_frac: float, go_on: GoOn
) -> dict[str, Array]:
    """The measures with other loads: the members alone, without average weather."""
    ready = trial.ready.with_loads(loads)
    forcing = ready.forcing
    assert forcing is not None, "two simulated passages are the least that is asked for"
    go_on(0.0)
    ensemble = run_ensemble(
        ready.passage,
        ready.prepared,
        members=forcing.members,
        seed=forcing.seed,
        risk_frac=risk_frac,
        forcing=forcing,
        progress=go_on,
    )
    return measured(ensemble, ready.passage.boat)


def _name_of(load: str) -> str:
    try:
        parts = parts_of(load)
    except ReadingError:
        return _folded(load)
    return _folded(parts[1] if len(parts) == 2 and parts[0] == LOADS else load)


def _folded(name: str) -> str:
    return " ".join(name.split()).casefold()
