"""Sections of an answer for a terminal: 80 columns, nothing that needs colour."""

from __future__ import annotations

from collections.abc import Iterable

from powersim.report import text
from powersim.report.view import Bullets, KeyValues, Paragraph, Section, Title


def screen_text(sections: Iterable[Section]) -> str:
    """Some sections, with an empty line between them.

    Parameters
    ----------
    sections : iterable of Section
        In the order in which they are read.

    Returns
    -------
    str
        At most 80 columns wide.

    Examples
    --------
    >>> from powersim.report.kinds import LITRES, say
    >>> print(screen_text([Title("Fuel"), Paragraph(say("{} left.", LITRES(96.1)))]))
    Fuel
    ----
    <BLANKLINE>
    96.1 L left.
    """
    return text.join(*map(_block, sections))


def _block(section) -> str:
    match section:
        case Title(words):
            return text.title(words)
        case Paragraph(words):
            return text.paragraph(str(words))
        case Bullets(items):
            return text.bullets(map(str, items))
        case KeyValues(pairs):
            return text.key_values((name, str(words)) for name, words in pairs)
    return _table(section)


def _table(table) -> str:
    return text.table(
        [tuple(map(str, row)) for row in table.rows],
        aligns="".join("l" if column.words else "r" for column in table.columns),
        header=[column.head for column in table.columns],
        overs=table.overs,
    )
