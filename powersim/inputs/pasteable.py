"""A path as it is printed within a command, for the sailor to paste."""

from __future__ import annotations

import os
import re
from pathlib import Path

#: What no shell reads anything into.
_PLAIN = re.compile(r"[\w+=:./-]+", re.ASCII)
_ON_WINDOWS = os.name == "nt"


def pasteable(path: Path | str) -> str:
    """A path as it can be typed after a command, in any shell.

    In double quotes where it needs quotes, since cmd.exe knows no others; in single ones where
    another shell would read something into a path within double quotes.

    Parameters
    ----------
    path : Path or str
        Of a file or a folder.

    Examples
    --------
    >>> pasteable("tern"), pasteable("my boat"), pasteable("-tern")
    ('tern', '"my boat"', './-tern')
    """
    text = str(path)
    if text.startswith("-"):  # else it is an option
        text = f".{os.sep}{text}"
    if _PLAIN.fullmatch(text.replace("\\", "/") if _ON_WINDOWS else text):
        return text
    if _ON_WINDOWS or not set(text) & set('"$`\\!'):
        return f'"{text}"'
    # Imported here: few paths need it.
    from shlex import quote

    return quote(text)
