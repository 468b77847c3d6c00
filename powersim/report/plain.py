"""Records as strict JSON holds them: by their fields, whatever the record."""

from __future__ import annotations

import math
from dataclasses import fields, is_dataclass
from typing import Any


def plain(value: Any) -> Any:
    """A record, or what is in one, in texts, numbers, lists and dicts alone.

    A band (p10, p50, p90) stands in place of each array shaped (members,), null for what never
    happens.

    Examples
    --------
    >>> plain({"days": (1.0, math.inf), "of": "landfall"})
    {'days': [1.0, None], 'of': 'landfall'}
    """
    if is_dataclass(value):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, dict):
        return {key: plain(one) for key, one in value.items()}
    if isinstance(value, tuple | list):
        return [plain(one) for one in value]
    if value is None or isinstance(value, str | bool | int):
        return value
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    from powersim.simulation.bands import band

    return band(value)
