"""Tables kept by tired hands, without the rows that cannot be cut into cells."""

from __future__ import annotations

import io
from collections.abc import Sequence
from os import PathLike

from powersim.errors import Problem
from powersim.inputs.headings import CsvColumn
from powersim.inputs.table import CsvTable, table_of
from powersim.inputs.text import read_sound_lines

#: A row that cannot be cut into cells hides those below it; so many are taken out one by one.
_MOST_TORN = 50


def whole_rows(
    path: str | PathLike[str], columns: Sequence[CsvColumn]
) -> tuple[CsvTable, list[Problem]]:
    """A table as far as it can be cut into cells, and what is wrong with its form.

    Parameters
    ----------
    path : str or Path
        The file.
    columns : sequence of CsvColumn
        That it may have.

    Raises
    ------
    InputError
        If it is no text.
    """
    text, no_text = read_sound_lines(path)
    torn: list[Problem] = list(no_text)
    for _ in range(_MOST_TORN):
        table = table_of(text, columns, file=str(path))
        if table.torn_line is None:
            break
        torn += [problem for problem in table.problems if problem.line == table.torn_line]
        lines = list(io.StringIO(text, newline=""))  # lines as the reader of tables counts them
        lines[table.torn_line - 1] = "#\n"
        text = "".join(lines)
    return table, [*torn, *(problem for problem in table.problems if problem not in torn)]
