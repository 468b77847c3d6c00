"""One value that was set in place of what the files say, and how that is told."""

from __future__ import annotations

from dataclasses import dataclass

#: How whatever was made for changed files begins: nobody is to take it for that of her own boat.
WHAT_IF = "What if, not as the files say:"


@dataclass(frozen=True, slots=True, kw_only=True)
class SetValue:
    """One thing that differs from the files, since somebody asked what if.

    Attributes
    ----------
    place : str
        As it was typed, such as "battery.capacity" or "loads.music"; with its key where a whole
        table was given.
    old, new : str or None
        As the file has it, and as it is now; None where it has none, or is taken out.
    told : str
        In a few words, such as "battery.capacity 300 Ah (was 220 Ah)" or "music left off".
    """

    place: str
    old: str | None
    new: str | None
    told: str
