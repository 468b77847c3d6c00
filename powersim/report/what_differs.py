"""Tables without what is the same everywhere: said once, in a sentence below."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from powersim.report.view import Paragraph, Section, Table

#: Fewer rows than this that say the same are left where they are.
_LEAST = 2
#: A column is dropped only in a table of so many rows.
_LEAST_ROWS = 3


def what_differs(sections: Iterable[Section], *, same: str, means: str) -> Iterator[Section]:
    """Sections whose tables keep the rows that tell something, each with a sentence on the others.

    Parameters
    ----------
    sections : iterable of Section
        Of an answer; what is no table is passed on.
    same : str
        What a cell says that is the usual thing.
    means : str
        The beginning of the sentence, before the names of the rows that say it in every column.

    Examples
    --------
    >>> from powersim.report.view import Column
    >>> table = Table(
    ...     columns=(Column("what", words=True), Column("lasts")),
    ...     rows=(("sun lost", "3 days"), ("one panel lost", "-"), ("tank fouled", "-")),
    ... )
    >>> for one in what_differs([table], same="-", means="To the end: "):
    ...     print(one.rows if isinstance(one, Table) else one.text)
    (('sun lost', '3 days'),)
    To the end: one panel lost, tank fouled.
    """
    for section in sections:
        if not isinstance(section, Table):
            yield section
            continue
        usual = [row for row in section.rows if {str(cell) for cell in row[1:]} == {same}]
        if len(usual) < _LEAST:
            yield section
            continue
        told = tuple(row for row in section.rows if row not in usual)
        if told:
            yield replace(section, rows=told, sum_at=-1)
        yield Paragraph(f"{means}{', '.join(str(row[0]) for row in usual)}.")


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
