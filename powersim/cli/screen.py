"""What a terminal adds to plain text, and that the answer gets there whatever becomes of files."""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Callable

import click

_HEADING = re.compile(r"^(\S.*)$(?=\n-+$)", re.MULTILINE)


def emphasised(text: str) -> str:
    """Text with its underlined headings in bold, on a terminal that may have it.

    NO_COLOR is honoured, and so is a terminal that calls itself dumb.
    """
    if not sys.stdout.isatty() or os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb":
        return text
    return _HEADING.sub(lambda heading: click.style(heading[1], bold=True), text)


def answered(write: Callable[[], object], show: Callable[[object], object]) -> None:
    """Write files and print the answer; print it too where they cannot be written.

    Parameters
    ----------
    show : callable
        Given that, or None where nothing was written; then it is told why after the answer.
    """
    try:
        written = write()
    except Exception:
        show(None)
        sys.stdout.flush()
        raise
    show(written)


def print_json(answer: object) -> None:
    """An answer for a program."""
    import json

    click.echo(json.dumps(answer, indent=2))
