"""What a phone sends as one short message: 160 letters of its own alphabet.

The alphabet is that of 3GPP TS 23.038, 6.2.1 (GSM 03.38), from memory, without the signs that
count double (circumflex, brackets, braces, tilde, bar, backslash, euro) and its Greek capitals.
"""

from __future__ import annotations

import unicodedata

#: Letters of one message.
MOST_LETTERS = 160
GSM_LETTERS = frozenset(
    "@£$¥èéùìòÇØøÅåÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿"
    "abcdefghijklmnopqrstuvwxyzäöñüà_"
)
_SPELLED = {"–": "-", "—": "-", "−": "-", "‘": "'", "’": "'", "“": '"', "”": '"', "Œ": "OE"}


def strangers(text: str) -> str:
    """The signs of a text that the alphabet has not, each once.

    Parameters
    ----------
    text : str
        Of a message.

    Examples
    --------
    >>> strangers("22 °C [below]")
    '°[]'
    """
    return "".join(dict.fromkeys(sign for sign in text if sign not in GSM_LETTERS))


def as_gsm(text: str) -> str:
    """A name in letters of the alphabet, in capitals: accents that it has not are left out.

    Parameters
    ----------
    text : str
        Such as a load's name.

    Examples
    --------
    >>> as_gsm("Kühlbox “vorn” ładowarka")
    'KÜHLBOX "VORN" ?ADOWARKA'
    """
    return "".join(map(_letter, text.upper()))


def _letter(sign: str) -> str:
    if sign in GSM_LETTERS:
        return sign
    if sign in _SPELLED:
        return _SPELLED[sign]
    plain = unicodedata.normalize("NFKD", sign)[0]
    return plain if plain in GSM_LETTERS else "?"
