"""The current folder holds data: it is no place to look for code.

Python puts it first among the places where code is looked for: with `-m`, with `-c`, and wherever
PYTHONPATH has an empty part. There it would find the pickle.py or the powersim of a passage folder
that somebody sent. Only what Python has built in is imported here, since this comes first.
"""

from __future__ import annotations

import os
import sys

_ROOT = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))


class _Forgotten:
    """Whether what the interpreter put first is gone from this process's own search path."""

    yet = False


def trusted_path() -> list[str]:
    """Where this process looks for code, without the current folder as such.

    Returns
    -------
    list of str
        Absolute. A folder that is named in full stays, even where it is the current one, so that
        any kind of installation is found; powersim's own comes last.
    """
    entries = list(sys.path)
    here = _current_folder()
    # Put there by the interpreter: "" for -c, for a prompt and for a notebook, in full for -m.
    put_there = not (sys.flags.safe_path or _Forgotten.yet)
    if entries and put_there and entries[0] in ("", here):
        del entries[0]
    if here in entries and _holds_the_current_folder(os.environ.get("PYTHONPATH")):
        entries.remove(here)
    entries = [os.path.abspath(entry) for entry in entries if entry not in ("", os.curdir)]
    return entries if _ROOT in entries else [*entries, _ROOT]


def forget_the_current_folder() -> None:
    """Look for no code in the current folder from now on, in this process."""
    sys.path[:] = trusted_path()
    _Forgotten.yet = True


def _current_folder() -> str | None:
    try:
        return os.getcwd()
    except OSError:  # it has been removed
        return None


def _holds_the_current_folder(variable: str | None) -> bool:
    """Whether an empty part, or a dot, asks for whatever folder is the current one."""
    if not variable:
        return False
    return any(part in ("", os.curdir) for part in variable.split(os.pathsep))
