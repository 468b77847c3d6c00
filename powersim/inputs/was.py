"""What is noted beside a value that was changed in the sailor's files: "(was 220 Ah)"."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from powersim.inputs.places import said
from powersim.inputs.text import printable

_LONGEST = 60
#: A note of this kind, at the end of what somebody noted.
_WAS = re.compile(r"\s*\(was [^()]*\)\s*$")


def with_was(note: str | None, before: Mapping[str, Any]) -> str:
    """A note that says what stood there; it takes the place of an older one of its kind.

    Parameters
    ----------
    note : str or None
        What is noted already.
    before : mapping
        What keys held before, by name; None for one that was not given. A name may be empty.

    Examples
    --------
    >>> with_was("two of 110 Ah (was 200 Ah)", {"": "220 Ah"})
    'two of 110 Ah (was 220 Ah)'
    >>> with_was(None, {"draw": "5 W", "standby": None})
    '(was draw 5 W and standby not given)'
    """
    parts = " and ".join(f"{name} {_shown(old)}".strip() for name, old in before.items())
    return f"{_WAS.sub('', note or '')} (was {parts})".strip()


def _shown(old: Any) -> str:
    if old is None:
        return "not given"
    return printable(said(old), longest=_LONGEST).replace("(", "[").replace(")", "]")
