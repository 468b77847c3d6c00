"""Single cells of a table's text put otherwise, with every other sign of it as it stands."""

from __future__ import annotations

import io
import itertools
import re
from collections.abc import Callable, Iterable

from powersim.inputs.table import delimiter_of

#: What may stand before the value of a cell: blanks, and the quotation mark around it.
_LEAD = re.compile(r'"?\s*')


def with_cells(text: str, cells: Iterable[tuple[int, int]], change: Callable[[str], str]) -> str:
    """A table's text in which some cells hold something else.

    Parameters
    ----------
    text : str
        As `table_of` reads it without a problem.
    cells : iterable of (int, int)
        Line on which the row begins, and number of the cell; both from 1, as in Row.
    change : callable
        From the value on, without what stands before it, to what is put there instead. It gets
        all of the rest of the cell, a closing quotation mark included, and keeps that.

    Returns
    -------
    str
        With its line ends, its separators and all other cells as they were.

    Examples
    --------
    >>> with_cells('a,b\\n"x, y", 1 W\\n', [(2, 2)], lambda value: value.replace("1", "2"))
    'a,b\\n"x, y", 2 W\\n'
    """
    lines = io.StringIO(text, newline="")  # lines as the reader of tables counts them
    begins = [0, *itertools.accumulate(map(len, lines))]
    delimiter = delimiter_of(text)
    done = len(text)
    pieces = []
    for line, number in sorted(set(cells), reverse=True):
        begin, end = _span(text, begins[line - 1], number, delimiter)
        lead = _LEAD.match(text, begin, end)
        assert lead is not None, "it matches where nothing leads, too"
        pieces += [text[end:done], change(text[lead.end() : end])]
        done = lead.end()
    return "".join([text[:done], *reversed(pieces)])


def _span(text: str, at: int, number: int, delimiter: str) -> tuple[int, int]:
    """Where a cell of the row at `at` begins and ends."""
    for _ in range(number - 1):
        at = _end(text, at, delimiter) + 1
    return at, _end(text, at, delimiter)


def _end(text: str, at: int, delimiter: str) -> int:
    """Where the cell at `at` ends, by the rules of the csv module."""
    if text.startswith('"', at):
        at = text.index('"', at + 1) + 1
        while text.startswith('"', at):  # a doubled quotation mark stands for one
            at = text.index('"', at + 1) + 1
    while at < len(text) and text[at] not in (delimiter, "\r", "\n"):
        at += 1
    return at
