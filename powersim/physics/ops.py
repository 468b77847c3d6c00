"""The few operations in which arrays and plain floats differ.

The stepping kernel and the battery are written once. With `ARRAY` they work on arrays shaped
(members,); with `FLOAT` the same lines work on plain floats, which for a single member is an
order of magnitude faster. `tests/unit/test_kernel.py` holds the two equal.
"""

from __future__ import annotations

import math
from bisect import bisect_right

import numpy as np


def _any(condition) -> bool:
    # What holds for all members alike is a plain bool, and most often it is.
    return condition if isinstance(condition, bool) else bool(np.count_nonzero(condition))


class ARRAY:
    """Operations on float64 and bool arrays."""

    minimum = staticmethod(np.minimum)
    maximum = staticmethod(np.maximum)
    where = staticmethod(np.where)
    sqrt = staticmethod(np.sqrt)
    exp = staticmethod(np.exp)
    interp = staticmethod(np.interp)
    logical_not = staticmethod(np.logical_not)
    any = staticmethod(_any)


def _interp(x: float, xs, ys) -> float:
    if x <= xs[0]:
        return ys[0]
    if x >= xs[-1]:
        return ys[-1]
    i = bisect_right(xs, x) - 1
    return ys[i] + (ys[i + 1] - ys[i]) * (x - xs[i]) / (xs[i + 1] - xs[i])


class FLOAT:
    """The same on plain floats and bools; tables for `interp` are tuples of floats."""

    minimum = staticmethod(lambda a, b: a if a < b else b)
    maximum = staticmethod(lambda a, b: a if a > b else b)
    where = staticmethod(lambda condition, a, b: a if condition else b)
    sqrt = staticmethod(math.sqrt)
    exp = staticmethod(math.exp)
    interp = staticmethod(_interp)
    logical_not = staticmethod(lambda condition: not condition)
    any = staticmethod(bool)
