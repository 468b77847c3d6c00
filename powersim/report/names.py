"""What a passage is called, so that one named after its ends is not named twice."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from powersim.records import Passage


def named_by_ends(name: str, start: str, end: str) -> bool:
    """Whether a passage's name says no more than where it begins and where it ends.

    Examples
    --------
    >>> named_by_ends("reykjavik-to-mindelo", "Reykjavik", "Mindelo")
    True
    >>> named_by_ends("Iceland to Cabo Verde", "Reykjavik", "Mindelo")
    False
    """
    return _words(name) == _words(between(start, end))


def between(start: str, end: str) -> str:
    """Where a passage begins and ends, once where that is one place.

    Examples
    --------
    >>> between("Reykjavik", "Mindelo"), between("Vathy", "Vathy")
    ('Reykjavik to Mindelo', 'Vathy')
    """
    return start if start == end else f"{start} to {end}"


def headed(name: str, start: str, end: str) -> str:
    """A passage's name with its ends behind it, or the ends alone where they are its name.

    Examples
    --------
    >>> headed("Iceland to Cabo Verde", "Reykjavik", "Mindelo")
    'Iceland to Cabo Verde: Reykjavik to Mindelo'
    >>> headed("Reykjavik - Mindelo", "Reykjavik", "Mindelo")
    'Reykjavik to Mindelo'
    """
    ends = between(start, end)
    return ends if named_by_ends(name, start, end) else f"{name}: {ends}"


def entitled(passage: Passage, words: str) -> str:
    """A title of a picture, which says so where it is not of the files as they are.

    Parameters
    ----------
    passage : Passage
        That it is of.
    words : str
        The title.
    """
    return f"What if: {words}" if passage.changed else words


def _words(text: str) -> list[str]:
    """Its words in small letters, without signs, and without the `to` between two places."""
    return [word for word in re.findall(r"[^\W_]+", text.casefold()) if word != "to"]
