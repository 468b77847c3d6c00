"""How many cycles a bank lasts at a depth: the curve on the maker's sheet, and its faults."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

#: Points of a curve: (depth of a cycle as a share of the label's capacity, cycles to end of life).
CycleLife = Sequence[tuple[float, float]]


def cycle_life_fault(points: CycleLife) -> str | None:
    """What a cycle-life curve has that cannot be, in words; None for a sound one.

    Parameters
    ----------
    points : sequence of (float, float)
        Depth and cycles, the shallowest first.

    Examples
    --------
    >>> cycle_life_fault([(0.3, 450.0), (0.8, 1500.0)])
    'no fewer cycles at 80 % than at 30 %'
    >>> cycle_life_fault([(0.3, 1500.0), (0.8, 450.0)])
    """
    if not points:
        return "no point"
    for depth_frac, cycles in points:
        if not 0 < depth_frac <= 1:
            return f"a depth of {_percent(depth_frac)}, which is not above 0 % and at most 100 %"
        if not 1 <= cycles <= 1e6:
            return f"{cycles:.10g} cycles at {_percent(depth_frac)}, which are not 1 to 1000000"
    for (shallow_frac, many), (deep_frac, few) in pairwise(points):
        if not deep_frac > shallow_frac:
            return f"two points at {_percent(deep_frac)}"
        if not few < many:
            return f"no fewer cycles at {_percent(deep_frac)} than at {_percent(shallow_frac)}"
    return None


def _percent(share_frac: float) -> str:
    return f"{100.0 * share_frac:.4g} %"
