"""Standard output and error as the command finds them: a closed one, a sign that it lacks."""

from __future__ import annotations

import io
import os
import sys

from powersim.cli.plain_signs import PLAINLY


def make_ready() -> None:
    """Open what the shell has closed (`>&-`), and let no sign stop the command.

    Left closed, its number would go to the next file that is opened, and what is printed into
    that file. Opened for reading, it refuses what is written to it, as a full disk does.
    """
    for number, name in enumerate(("stdin", "stdout", "stderr")):
        if getattr(sys, name) is not None:
            continue
        if _is_closed(number):
            _open_for_reading(number)
        if name != "stdin":
            refusing = open(number, "w", encoding="utf-8", closefd=False)  # noqa: SIM115
            setattr(sys, name, refusing)
    for stream in (sys.stdout, sys.stderr):
        # A terminal that has no sign for "°" or "–" shows a plainer one; nothing stops the command.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=PLAINLY)


def forget_what_cannot_be_written() -> None:
    """Keep the interpreter from complaining as it flushes into what takes no more at its end."""
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except OSError:
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, stream.fileno())
            os.close(nowhere)


def _is_closed(number: int) -> bool:
    try:
        os.fstat(number)
    except OSError:
        return True
    return False


def _open_for_reading(number: int) -> None:
    nowhere = os.open(os.devnull, os.O_RDONLY)
    if nowhere != number:
        os.dup2(nowhere, number)
        os.close(nowhere)
    os.set_inheritable(number, True)
