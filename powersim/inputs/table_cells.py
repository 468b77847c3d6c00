"""Single cells of a table's text put otherwise, with every other sign of it as it stands."""

from __future__ import annotations

import io
import itertools
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from powersim.inputs.table import delimiter_of


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cell:
    """Where a cell begins and ends, quotation marks included."""

    begin: int
    end: int


def with_cells(
    text: str,
    cells: Mapping[tuple[int, int], str],
    *,
    new_rows: Sequence[Sequence[str]] = (),
    after_line: int = 0,
) -> str:
    """A table's text in which some cells hold something else.

    Parameters
    ----------
    text : str
        As `table_of` reads it without a problem.
    cells : mapping of (int, int) to str
        What cells are to hold, by the line on which their row begins and their number in it; both
        from 1, as in Row. A row that is too short for a cell is filled up with empty ones.
    new_rows : sequence of sequence of str
        Rows that come behind the others.
    after_line : int
        Where the last row begins, for those.

    Returns
    -------
    str
        With its line ends, its separators, the blanks before a value and all other cells as they
        were. What needs quotation marks gets them, and what had them keeps them.

    Examples
    --------
    >>> with_cells('a,b\\n"x, y", 1 W\\nlamp\\n', {(2, 2): "2 W", (3, 2): "3 W"})
    'a,b\\n"x, y", 2 W\\nlamp,3 W\\n'
    """
    lines = io.StringIO(text, newline="")  # lines as the reader of tables counts them
    begins = [0, *itertools.accumulate(map(len, lines))]
    delimiter = delimiter_of(text)
    rows: dict[int, dict[int, str]] = {}
    for (line, number), value in cells.items():
        rows.setdefault(line, {})[number] = value
    pieces: list[str] = []
    done = len(text)
    if new_rows:
        end = _row(text, begins[after_line - 1], delimiter)[-1].end
        pieces.append(text[end:done])
        begin = line_end_of(text)
        for row in reversed(new_rows):
            quoted = (quoted_cell(one, delimiter) for one in row)
            pieces += [begin + delimiter.join(quoted)]
        done = end
    for line in sorted(rows, reverse=True):
        found = _row(text, begins[line - 1], delimiter)
        pieces.append(text[found[-1].end : done])
        pieces.append(_changed(text, found, rows[line], delimiter))
        done = found[0].begin
    return "".join([text[:done], *reversed(pieces)])


def _changed(text: str, row: list[_Cell], values: Mapping[int, str], delimiter: str) -> str:
    """A row with some values in it."""
    cells = [text[cell.begin : cell.end] for cell in row]
    cells += [""] * (max(values) - len(cells))
    for number, value in values.items():
        old = cells[number - 1]
        in_quotes = old.startswith('"')
        within = old[1:-1] if in_quotes else old
        lead, trail = "", ""
        if within.strip():  # the reader passes over the blanks around a value
            lead = within[: len(within) - len(within.lstrip())]
            trail = within[len(within.rstrip()) :]
        cells[number - 1] = quoted_cell(lead + value + trail, delimiter, always=in_quotes)
    return delimiter.join(cells)


def quoted_cell(value: str, delimiter: str, *, always: bool = False) -> str:
    """A value as a cell holds it, in quotation marks where it needs them.

    Parameters
    ----------
    value : str
        On one line.
    delimiter : str
        Of the table.
    always : bool
        Put them in any case.

    Examples
    --------
    >>> quoted_cell('5" lamp, red', ",")
    '"5"" lamp, red"'
    """
    if not always and not any(sign in value for sign in (delimiter, '"', "\r", "\n")):
        return value
    doubled = value.replace('"', '""')
    return f'"{doubled}"'


def line_end_of(text: str) -> str:
    """What ends the lines of a text, by its first.

    Examples
    --------
    >>> line_end_of("a,b\\r\\n1,2")
    '\\r\\n'
    """
    match = re.search(r"\r\n|\n|\r", text)
    return "\n" if match is None else match[0]


def _row(text: str, at: int, delimiter: str) -> list[_Cell]:
    """The cells of the row that begins there."""
    found = []
    while True:
        end = _end(text, at, delimiter)
        found.append(_Cell(begin=at, end=end))
        if end >= len(text) or text[end] != delimiter:
            return found
        at = end + 1


def _end(text: str, at: int, delimiter: str) -> int:
    """Where the cell at `at` ends, by the rules of the csv module."""
    if text.startswith('"', at):
        at = text.index('"', at + 1) + 1
        while text.startswith('"', at):  # a doubled quotation mark stands for one
            at = text.index('"', at + 1) + 1
    while at < len(text) and text[at] not in (delimiter, "\r", "\n"):
        at += 1
    return at
