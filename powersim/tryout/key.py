"""The key of one page: whoever has it may ask. It lives as long as its server."""

from __future__ import annotations

import hmac
import secrets

#: The header in which the page sends it.
HEADER = "Powersim-Key"
_BYTES = 32


def new_key() -> str:
    """A key that nobody guesses, of letters that an address takes as they are."""
    return secrets.token_urlsafe(_BYTES)


def is_same(given: str, key: str) -> bool:
    """Whether it is the key, in a time that tells nothing about where they differ.

    Parameters
    ----------
    given : str
        As it came from outside.
    key : str
        Of this server.
    """
    # As bytes, since the comparison refuses letters beyond ASCII.
    return hmac.compare_digest(given.encode("utf-8", "surrogatepass"), key.encode("utf-8"))
