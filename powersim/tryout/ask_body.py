"""What is asked, out of the bytes that came: a JSON object, or a sentence about what is wrong."""

from __future__ import annotations

import json
from typing import Any


class BadBodyError(Exception):
    """The bytes are no question; its text says why, in a sentence."""


def asked_in(body: bytes) -> dict[str, Any]:
    """The object that a question's body holds.

    Parameters
    ----------
    body : bytes
        As it came; of any length, though the server takes no long ones.

    Raises
    ------
    BadBodyError
        If it is no JSON object in UTF-8, or holds what cannot be written again.
    """
    try:
        asked = json.loads(
            body.decode("utf-8"), parse_constant=_refused, object_pairs_hook=_each_once
        )
    except UnicodeDecodeError:
        raise BadBodyError("The question is not UTF-8.") from None
    except RecursionError:
        raise BadBodyError("The question is nested too deep.") from None
    except ValueError:
        raise BadBodyError("The question is not JSON.") from None
    if not isinstance(asked, dict):
        raise BadBodyError("The question is no JSON object.")
    try:
        # Half a sign ("\ud800") could be neither shown nor written into a file.
        json.dumps(asked, ensure_ascii=False).encode("utf-8")
    except (UnicodeEncodeError, RecursionError):
        raise BadBodyError("The question holds half a sign, which is no text.") from None
    return asked


def _refused(constant: str) -> None:
    raise BadBodyError(f"The question holds {constant}, which is no number.")


def _each_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) < len(pairs):
        raise BadBodyError("The question says something twice.")
    return made
