"""Entries of the log as lines of a message: taken from options, told back, and answered."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from powersim.api.from_log import Underway
    from powersim.errors import Problem

#: Standard input, where a file is asked for.
_STDIN = "-"
#: More than anybody sends.
_MOST_LINES = 2_000
#: The last ones alone are told back: those before have been.
_MOST_TOLD = 3


def lines_given(lines: Sequence[str], file: Path | None) -> tuple[str, ...]:
    """The lines of a file or of standard input first, then those of the command line.

    Parameters
    ----------
    lines : sequence of str
        Of the command line.
    file : Path or None
        A file with a line for each entry; "-" is standard input.
    """
    from powersim.errors import refused
    from powersim.inputs.log_line import EXAMPLE
    from powersim.inputs.text import LARGEST_FILE_BYTES, read_text, text_of

    if file is None:
        return tuple(lines)
    if str(file) == _STDIN:
        with click.open_file(_STDIN, "rb") as stream:
            text = text_of(stream.read(LARGEST_FILE_BYTES + 1), file="lines", is_table=True)
    else:
        text = read_text(file, is_table=True)
    found = text.splitlines()
    if len(found) > _MOST_LINES:
        raise refused(str(file), f"holds more than {_MOST_LINES} lines", f"lines such as {EXAMPLE}")
    return (*found, *lines)


def told_back(found: Underway) -> None:
    """Say on the error stream what was understood of the lines, so that a slip is seen.

    Parameters
    ----------
    found : Underway
        What the log shows.
    """
    from powersim.inputs.line_told import line_of
    from powersim.inputs.log_line import LINES

    entries = [one.entry for one in found.log.readings if one.entry.file == LINES]
    if len(entries) > _MOST_TOLD:
        click.echo(f"Read: {len(entries) - _MOST_TOLD} earlier, and the last of them", err=True)
    for entry in entries[-_MOST_TOLD:]:
        click.echo(f"Read: {line_of(entry)}", err=True)


def advice(found: Underway, lines: Sequence[str], **asked: Any) -> str:
    """The day's advice as one line.

    Parameters
    ----------
    found : Underway
        What the log shows, and what comes of it.
    lines : sequence of str
        As they were given; what could not be used of the last is said in the answer.
    **asked
        As `api.day_line.day_advice` takes it.
    """
    from powersim.api.day_line import day_advice
    from powersim.inputs.log_line import LINES
    from powersim.report.advice_line import advice_line

    last = max((number for number, text in enumerate(lines, start=1) if text.strip()), default=0)
    used = any(one.entry.file == LINES and one.entry.line == last for one in found.log.readings)
    problems: list[Problem] = [
        problem
        for problem in (*found.log.set_aside, *found.posterior.left_out)
        if problem.file == LINES and problem.line == last
    ]
    return advice_line(day_advice(found, not_used=problems, last_used=used, **asked))
