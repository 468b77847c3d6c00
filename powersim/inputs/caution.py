"""One warning of `check`."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """Something in the files that is allowed but not wise.

    Attributes
    ----------
    text : str
        What was found, in one sentence.
    advice : str
        What to do about it.
    """

    text: str
    advice: str
