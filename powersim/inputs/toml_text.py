"""Values of TOML as text.

Only what boat.toml can hold: what cannot be printed is refused before it comes here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import date, time

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def written_value(value: object) -> str:
    """A value as TOML has it.

    Parameters
    ----------
    value : object
        Text on one line, number, flag, date, list or mapping.

    Examples
    --------
    >>> written_value({"name": 'the "bow"', "wired": True, "read_at": ["06:00"]})
    '{ name = "the \\\\"bow\\\\"", wired = true, read_at = ["06:00"] }'
    """
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        inner = value.replace("\\", "\\\\").replace('"', '\\"')
        return f'"{inner}"'
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, Mapping):
        inner = ", ".join(
            f"{written_key(key)} = {written_value(one)}" for key, one in value.items()
        )
        return f"{{ {inner} }}" if inner else "{}"
    assert isinstance(value, Iterable), "a file holds nothing else"
    return f"[{', '.join(map(written_value, value))}]"


def written_key(*names: str) -> str:
    """A key as TOML has it, in quotes where it needs them.

    Examples
    --------
    >>> written_key("fuel", "tank"), written_key("a b")
    ('fuel.tank', '"a b"')
    """
    return ".".join(name if _BARE.fullmatch(name) else written_value(name) for name in names)
