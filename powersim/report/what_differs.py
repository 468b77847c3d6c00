"""Tables without what is the same everywhere: said once, in a sentence below."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from powersim.report.rounding import UNKNOWN
from powersim.report.view import Paragraph, Section, Table

#: Fewer rows than this that say the same are left where they are.
_LEAST = 2
#: A column is dropped only in a table of so many rows.
_LEAST_ROWS = 3


def what_differs(sections: Iterable[Section], *, same: str, means: str) -> Iterator[Section]:
    """Sections whose tables tell what is not the usual thing, with a sentence on what is.

    A row that says the usual thing in every column is named in that sentence; a cell that says it
    has a dash.

    Parameters
    ----------
    sections : iterable of Section
        Of an answer; what is no table is passed on.
    same : str
        What a cell says that is the usual thing.
    means : str
        What that means, as a sentence goes on after a dash, or after the names of those rows.

    Examples
    --------
    >>> from powersim.report.view import Column
    >>> table = Table(
    ...     columns=(Column("lost", words=True), Column("to floor"), Column("to flat")),
    ...     rows=(("sun", "3 days", "end"), ("one panel", "end", "end"), ("tank", "end", "end")),
    ... )
    >>> for one in what_differs([table], same="end", means="it lasts to the end"):
    ...     print(one.rows if isinstance(one, Table) else one.text)
    (('sun', '3 days', '–'),)
    –: it lasts to the end. In every column: one panel, tank.
    """
    for section in sections:
        if not isinstance(section, Table) or not _says(section, same):
            yield section
            continue
        usual = [row for row in section.rows if {str(cell) for cell in row[1:]} == {same}]
        if len(usual) < _LEAST:
            usual = []
        told = tuple(
            (row[0], *(UNKNOWN if str(cell) == same else cell for cell in row[1:]))
            for row in section.rows
            if row not in usual
        )
        if told:
            yield replace(section, rows=told, sum_at=-1)
        yield Paragraph(_note(told, usual, means))


def _note(told, usual, means) -> str:
    """What the dash stands for, where there is one, and the rows that are in no table."""
    names = ", ".join(str(row[0]) for row in usual)
    if any(UNKNOWN in row for row in told):
        return f"{UNKNOWN}: {means}." + (f" In every column: {names}." if names else "")
    return f"{means[:1].upper()}{means[1:]}: {names}."


def _says(table, same) -> bool:
    return any(str(cell) == same for row in table.rows for cell in row[1:])


def same_apart(table: Table) -> tuple[Table | Paragraph, ...]:
    """A table without the columns that say one thing in every row; the last row may say nothing.

    Parameters
    ----------
    table : Table
        Its first column names the rows, and stays.

    Examples
    --------
    >>> from powersim.report.view import Column
    >>> rows = (("A", "4 kn", "great circle"), ("B", "5 kn", "great circle"), ("C", "", ""))
    >>> columns = tuple(Column(head, words=True) for head in ("waypoint", "speed on", "line"))
    >>> left, note = same_apart(Table(columns=columns, rows=rows))
    >>> [column.head for column in left.columns], str(note.text)
    (['waypoint', 'speed on'], 'In every row: line great circle.')
    """
    if len(table.rows) < _LEAST_ROWS:
        return (table,)
    said = [_said(table, place) for place in range(len(table.columns))]
    same = [place for place, cells in enumerate(said) if place and len(cells) == 1]
    if not same:
        return (table,)
    told = ", ".join(f"{table.columns[place].head} {next(iter(said[place]))}" for place in same)
    kept = [place for place in range(len(table.columns)) if place not in same]
    left = replace(
        table,
        columns=tuple(table.columns[place] for place in kept),
        rows=tuple(tuple(row[place] for place in kept) for row in table.rows),
    )
    return left, Paragraph(f"In every row: {told}.")


def _said(table, place) -> set[str]:
    """What a column says; of the last row, where a passage ends, only what is no empty cell."""
    *cells, last = (str(row[place]) for row in table.rows)
    return {*cells, *([last] if last else [])}
