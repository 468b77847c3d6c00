"""An answer as sections that hold raw numbers: said once, for the screen, the page and the card.

`screen_text`, the page's macros and `Paper` each write a section; what a number looks like is its
kind's, so that no form can say it otherwise.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import groupby

from powersim.report.kinds import Quantity, Text, quantities_in


@dataclass(frozen=True, slots=True)
class Title:
    """A heading."""

    text: str


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Running text."""

    text: Text


@dataclass(frozen=True, slots=True)
class Bullets:
    """A list of short texts."""

    items: tuple[Text, ...]


@dataclass(frozen=True, slots=True)
class KeyValues:
    """Names, each with its answer."""

    pairs: tuple[tuple[str, Text], ...]


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table.

    Attributes
    ----------
    head : str
        A line break in it where a narrow form may break it.
    over : str
        A head above it, shared with neighbours of the same.
    words : bool
        Whether it holds words, which are wrapped, and not numbers, which never are.
    """

    head: str
    over: str = ""
    words: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Rows under columns.

    Attributes
    ----------
    columns : tuple of Column
        From left to right.
    rows : tuple of tuple of Text
        A cell a column.
    caption : str
        What it is, for forms that say so above it.
    sum_at : int
        Place of the row that sums up those above it; -1 for none.
    """

    columns: tuple[Column, ...]
    rows: tuple[tuple[Text, ...], ...]
    caption: str = ""
    sum_at: int = -1

    def only(
        self,
        *,
        column: Callable[[Column], bool],
        row: Callable[[tuple[Text, ...]], bool] = lambda cells: True,
    ) -> Table:
        """The same with the columns and the rows that are to be kept."""
        kept = [place for place, one in enumerate(self.columns) if column(one)]
        return replace(
            self,
            columns=tuple(self.columns[place] for place in kept),
            rows=tuple(tuple(cells[place] for place in kept) for cells in self.rows if row(cells)),
        )

    @property
    def overs(self) -> list[tuple[str, int]]:
        """Heads above the columns, and over how many of them; empty where there are none."""
        spans = [(over, len(list(same))) for over, same in groupby(self.columns, lambda c: c.over)]
        return spans if any(over for over, _ in spans) else []


Section = Title | Paragraph | Bullets | KeyValues | Table


def quantities_of(sections: Iterable[Section]) -> Iterator[Quantity]:
    """Every raw number of some sections with its kind, in order.

    Examples
    --------
    >>> from powersim.report.kinds import DAYS, say
    >>> [str(one) for one in quantities_of([Paragraph(say("after {}", DAYS(3.0)))])]
    ['3.0 days']
    """
    for section in sections:
        for text in _texts(section):
            yield from quantities_in(text)


def _texts(section) -> Iterator[Text]:
    match section:
        case Title(text) | Paragraph(text):
            yield text
        case Bullets(items):
            yield from items
        case KeyValues(pairs):
            yield from (text for _, text in pairs)
        case Table():
            yield from (cell for row in section.rows for cell in row)
