"""Why the engine was started to charge: what engine.csv says of each run."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from powersim.records.clock import clock

if TYPE_CHECKING:
    from powersim.kernel.flows import Flows
    from powersim.records.arrays import Array
    from powersim.simulation.prepared import Prepared

#: Rounding of hours since 1970. [h]
_SLACK_h = 1e-6


def why_charging(prepared: Prepared, flow: Flows[Array], first: int) -> str:
    """Why a charging run was begun.

    Parameters
    ----------
    prepared : Prepared
        The passage in average weather.
    flow : Flows
        Of arrays shaped (steps, 1).
    first : int
        Step in which it begins.

    Returns
    -------
    str
        "full charge due", "engine plan", "by the clock", "read at 06:00", "low again at 18:00"
        (after waiting) or "low charge".
    """
    if flow.for_full[first, 0]:
        return "full charge due"
    if prepared.signals.ordered[first, 0] > 0.0:
        return "by the clock" if prepared.passage.engine_plan is None else "engine plan"
    read = np.flatnonzero(prepared.signals.reads[: first + 1, 0])
    if not read.size:
        return "low charge"
    last, rule = int(read[-1]), prepared.plant.rule
    # In average weather nobody misreads. As a run begins, a reading of its own step is not known.
    waited = last > 0 and bool(flow.soc[last - 1, 0] > rule.start_soc)
    return f"{'low again' if waited else 'read'} at {clock(_time_read_h(prepared, last))}"


def _time_read_h(prepared: Prepared, step: int) -> float:
    """The ship's time of the reading that falls into a step, as the rule has it. [h]"""
    track = prepared.track
    begins_h = track.edge_utc_s[step] / 3600.0 + track.ship_offset_h[step]
    times_h = prepared.passage.boat.charging.read_at_h
    return min(times_h, key=lambda at_h: (at_h - begins_h + _SLACK_h) % 24.0)
