"""Numbers whose comma before decimals has been taken for the end of their cell.

Unquoted between commas, `812,3` is two cells. Most rows of such a table are a cell too long and are
set aside; those that are not, since their last cells are empty, would be read as other numbers.
A row in which some number has its decimals behind a point speaks for itself.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from powersim.errors import Problem
from powersim.inputs.table import CsvRow, CsvTable

_CUT = re.compile(r"(?<![\d.])\d+,\d+(?![\d.])")
_POINT = re.compile(r"[-+]?\d+\.\d+(?:\s?[A-Za-z%]+)?")
_HALVES = re.compile(r"[-+]?\d+,\d{1,3}(?:\s?\D.*)?")


def cuts_numbers(table: CsvTable, problems: Iterable[Problem]) -> bool:
    """Whether a table does that: some row has a cell too many, and such a number in it.

    Parameters
    ----------
    table : CsvTable
        As it was read.
    problems : iterable of Problem
        Of its rows.
    """
    return table.decimals.separator == "," and any(
        "has no heading above it" in problem.text and _CUT.search(problem.row or "")
        for problem in problems
    )


def halves(row: CsvRow) -> dict[str, str]:
    """Columns of a row whose cells may be halves of one number, and both as one.

    None of a row with a number that has a point.

    Parameters
    ----------
    row : CsvRow
        Of a table that cuts numbers.
    """
    if any(_POINT.fullmatch(text) for name, text in row.cells.items() if name != "note"):
        return {}
    at = {number: name for name, number in row.fields.items()}
    found: dict[str, str] = {}
    for number, name in at.items():
        other = at.get(number + 1, "")
        whole = f"{row.cells[name]},{row.cells.get(other, '')}"
        if _HALVES.fullmatch(whole):
            found |= {name: whole, other: whole}
    return found
