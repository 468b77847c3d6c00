"""What a sailor is cautioned of: in the files, or by what the passage brings."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """Something that is allowed but not wise, or that the passage brings.

    Attributes
    ----------
    text : str
        What was found, in one sentence without its capital and its full stop.
    advice : str
        What to do about it, likewise.
    """

    text: str
    advice: str

    @property
    def sentence(self) -> str:
        """Both in one sentence: capital first, full stop last."""
        return f"{self.text[:1].upper()}{self.text[1:]}; {self.advice}."
