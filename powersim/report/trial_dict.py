"""What `underway --json` says of a sea trial."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from powersim.logbook.trial import SeaTrial


def trial_dict(found: SeaTrial, day_Ah: Mapping[str, tuple[float, float]]) -> dict[str, Any]:
    """The answer for a program; null for what the readings leave open.

    Parameters
    ----------
    found : SeaTrial
        What the readings say.
    day_Ah : mapping of str to (float, float)
        From `logbook.trial_day`. [Ah]
    """
    return {
        "readings": len(found.trial.readings),
        "set_aside": [str(one) for one in (*found.trial.set_aside, *found.odd)],
        "outward_below_0": found.outward_below_0,
        "misfit": round(found.misfit, 3),
        "always_A": _rounded(found.always_A),
        "always_sd_A": _rounded(found.always_sd_A),
        "draws": [
            {
                "loads": list(one.names),
                "state": one.state,
                "unit": one.unit,
                "filed": _rounded(one.filed),
                "found": _rounded(one.found),
                "doubt": _rounded(one.doubt),
                "readings": one.readings,
                "open_because": one.open_because or None,
            }
            for one in found.draws
        ],
        "day_Ah": {
            name: {"filed": round(filed, 3), "found": round(measured, 3)}
            for name, (filed, measured) in day_Ah.items()
        },
        "not_listed": list(found.unlisted),
        "not_switched": list(found.not_switched),
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else round(value, 4)
