"""What is printed for a sign that the terminal has not got: a plainer one, or else "?"."""

from __future__ import annotations

import codecs

#: The name under which a stream finds `plainly`.
PLAINLY = "powersim.plainly"
#: Signs of our own text, and those that names of boats and places are written with.
_PLAIN = {
    "–": "-", "—": "-", "−": "-", "‐": "-", "‑": "-", "…": "...", "×": "x", "·": "*", "•": "*",
    "→": "->", "←": "<-", "≥": ">=", "≤": "<=", "≈": "~", "±": "+-", "√": "sqrt", "∞": "inf.",
    "“": '"', "”": '"', "„": '"', "«": '"', "»": '"', "‘": "'", "’": "'", "‚": "'", "′": "'",
    "″": '"', "´": "'", "ʹ": "'", "µ": "u", "μ": "u", "Ω": "ohm", "ω": "ohm", "⁻": "-",
    "½": "1/2", "¼": "1/4", "¾": "3/4", "€": "EUR", "£": "GBP", "§": "S.", "\u00a0": " ",
    "æ": "ae", "Æ": "Ae", "œ": "oe", "Œ": "Oe", "ø": "o", "Ø": "O", "ß": "ss", "þ": "th",
    "Þ": "Th", "ð": "d", "Ð": "D", "ł": "l", "Ł": "L", "đ": "d", "Đ": "D", "ı": "i",
}  # fmt: skip
_DEGREES = "°˚º"


def plainly(error: UnicodeError) -> tuple[str, int]:
    """What stands in for signs that an encoding lacks, as `codecs.register_error` wants it.

    Returns
    -------
    tuple of (str, int)
        In place of the signs, and where to go on.

    Examples
    --------
    >>> "38°32'N, 15° at – °C: Ærø, 日".encode("ascii", PLAINLY).decode()
    "38d32'N, 15 deg at - C: Aero, ?"
    """
    if not isinstance(error, UnicodeEncodeError):
        raise error
    text = error.object
    stand_ins = (
        _degree(text[at + 1 : at + 2]) if text[at] in _DEGREES else _stand_in(text[at])
        for at in range(error.start, error.end)
    )
    return "".join(stand_ins), error.end


def _degree(after: str) -> str:
    """For a sign of degrees, by what stands behind it: 38d32'N, 64dN, 5 C, 15 deg."""
    if after in ("C", "F"):
        return ""
    return "d" if after.isdigit() or after in ("N", "S", "E", "W") else " deg"


def _stand_in(sign: str) -> str:
    if sign in _PLAIN:
        return _PLAIN[sign]
    # Imported here: most terminals have what help shows.
    import unicodedata

    letters = unicodedata.normalize("NFKD", sign)
    return "".join(letter for letter in letters if letter.isascii()) or "?"


codecs.register_error(PLAINLY, plainly)
