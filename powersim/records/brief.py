"""How a record shows itself at a prompt: what it holds, in ten lines at most."""

from __future__ import annotations

import textwrap
from dataclasses import fields, is_dataclass
from datetime import datetime
from pathlib import PurePath
from typing import Any

#: Lines of so many columns. A record whose every digit is wanted is asked for its fields.
MOST_LINES, WIDTH = 10, 80
_LONGEST_TEXT = 40
_MOST_PARTS = 4


def brief(record: Any) -> str:
    """A record with its arrays, its records and its long lists told in a word each.

    Parameters
    ----------
    record : dataclass
        Any record of an answer.

    Returns
    -------
    str
        At most MOST_LINES lines of WIDTH columns.

    Examples
    --------
    >>> from powersim.records import Waypoint
    >>> print(brief(Waypoint(name="Horta", lat_deg=38.53, lon_deg=-28.63)).split(", speed")[0])
    Waypoint(name='Horta', lat_deg=38.53, lon_deg=-28.63
    """
    told = (f"{each.name}={_told(getattr(record, each.name))}" for each in fields(record))
    lines = textwrap.wrap(
        f"{type(record).__name__}({', '.join(told)})",
        width=WIDTH,
        subsequent_indent="  ",
        break_on_hyphens=False,
    )
    return "\n".join(lines if len(lines) <= MOST_LINES else [*lines[: MOST_LINES - 1], "  ...)"])


def _told(value: Any) -> str:
    """One field in a few words."""
    if hasattr(value, "dtype") and hasattr(value, "shape"):
        return f"{value.dtype}{list(value.shape)}" if value.shape else f"{value.item()!r}"
    if is_dataclass(value) and not isinstance(value, type):
        name = getattr(value, "name", None)
        return f"{type(value).__name__}({f'{_told(name)}, ' if isinstance(name, str) else ''}...)"
    if isinstance(value, datetime):
        return value.isoformat(sep=" ", timespec="minutes")
    if isinstance(value, PurePath):
        value = str(value)
    if isinstance(value, str):
        return repr(value if len(value) <= _LONGEST_TEXT else f"{value[: _LONGEST_TEXT - 3]}...")
    if isinstance(value, dict):
        return f"{{{len(value)} keys}}"
    if isinstance(value, list | tuple) and len(value) > _MOST_PARTS:
        kinds = {type(one).__name__ for one in value}
        return f"({len(value)}*{kinds.pop() if len(kinds) == 1 else 'parts'})"
    if isinstance(value, list | tuple):
        end = "," if len(value) == 1 else ""
        return f"({', '.join(map(_told, value))}{end})"
    text = repr(value)
    return text if len(text) <= _LONGEST_TEXT else f"<{type(value).__name__}>"
