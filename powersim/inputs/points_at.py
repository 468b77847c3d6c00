"""A short table on one line: what there is at some shares, such as `700 at 50 %; 400 at 80 %`."""

from __future__ import annotations

import re
from collections.abc import Callable

from powersim.inputs.text import ReadingError, quoted
from powersim.inputs.toml_keys import one_text
from powersim.inputs.units import to_float

_AT = re.compile(r"\s+at\s+", re.IGNORECASE)


def points_at(
    value: object,
    read: Callable[[str, str], float],
    *,
    at: Callable[[str], float] = lambda text: to_float(text, "frac"),
) -> tuple[str, tuple[tuple[float, float], ...]]:
    """The text of such a table, and its points, in whatever order they stand.

    Parameters
    ----------
    value : object
        As boat.toml has it.
    read : callable
        Makes a number of what stands before `at`; it is given that, and the whole point.
    at : callable
        Makes a share of what stands behind it.

    Returns
    -------
    tuple of (str, tuple of (float, float))
        Points have the share and the number, the smallest share first.

    Raises
    ------
    ReadingError
        If there is none, or one cannot be read.
    """
    text = one_text(value)
    points = []
    for part in (one.strip() for one in text.split(";") if one.strip()):
        what, *share = _AT.split(part)
        if len(share) != 1:
            raise ReadingError(f"cannot read {quoted(part)}")
        number = read(what, part)
        points.append((at(share[0]), number))
    if not points:
        raise ReadingError("is empty")
    return text, tuple(sorted(points))
