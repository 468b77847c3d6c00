"""Plain text for a terminal or a printer: nothing wider than 80 columns, nothing that needs colour.

Each function gives one block of text without a newline at its end; `join` puts blocks together
with an empty line between them.
"""

from __future__ import annotations

import re
import textwrap
import unicodedata
from collections.abc import Iterable, Sequence

WIDTH = 80
#: Within a unit of two words.
_LONG_UNIT = re.compile(r"(?<=US) (?=gal)|(?<=imp) (?=gal)")
_GAP = "  "
# Narrower than this a column of words is no longer readable.
_NARROWEST = 8
# A number and its unit stay on one line; textwrap does not break at a no-break space.
_BEFORE_UNIT = re.compile(
    r"(?<=\d) (?=(?:%|°[CF]|k?Wh?|Ah?|V|L(?:/h)?|(?:US|imp) gal(?:/h)?|h|min|days|nm|km|kn)(?!\w))"
    r"|(?<=\d US) (?=gal\b)|(?<=\d imp) (?=gal\b)"
    r"|(?<=\d) (?=\d+/\d)|(?<=/\d) (?=in\b)|(?<=/16) (?=in\b)"
)


def printable(text: str) -> str:
    """The text with control characters, which could confuse a terminal, shown as "?".

    Parameters
    ----------
    text : str
        From anywhere.

    Examples
    --------
    >>> printable("tiller\\x1b[31m pilot\\n")
    'tiller?[31m pilot\\n'
    """
    return "".join(
        "?" if unicodedata.category(char).startswith("C") and char not in "\n\t" else char
        for char in text
    )


def join(*blocks: str) -> str:
    """Blocks with an empty line between them; empty ones are left out.

    Examples
    --------
    >>> print(join("one", "", "two"))
    one
    <BLANKLINE>
    two
    """
    return "\n\n".join(block for block in blocks if block)


def title(text: str) -> str:
    """A heading, underlined.

    Examples
    --------
    >>> print(title("Fuel"))
    Fuel
    ----
    """
    lines = _wrapped(text, WIDTH)
    return "\n".join([*lines, "-" * max(map(len, lines), default=0)])


def paragraph(text: str, *, indent: int = 0, bullet: str = "") -> str:
    """Running text, wrapped; lines after the first align behind the bullet.

    Parameters
    ----------
    text : str
        On one line.
    indent : int
        Blanks before it.
    bullet : str
        Before its first line.

    Examples
    --------
    >>> print(paragraph("Keep a separate starting battery.", bullet="- "))
    - Keep a separate starting battery.
    """
    first = " " * indent + bullet
    behind = " " * len(first)
    return "\n".join(_wrapped(text, WIDTH, initial_indent=first, subsequent_indent=behind))


def bullets(items: Iterable[str], *, indent: int = 0) -> str:
    """A list of short texts.

    Examples
    --------
    >>> print(bullets(["fuse at the battery", "ventilate"]))
    - fuse at the battery
    - ventilate
    """
    return "\n".join(paragraph(item, indent=indent, bullet="- ") for item in items)


def key_values(pairs: Iterable[tuple[str, str]], *, indent: int = 0) -> str:
    """One line a pair, values aligned and wrapped in their column.

    Parameters
    ----------
    pairs : iterable of (str, str)
        Names, each with its answer.
    indent : int
        Spaces before each line.

    Examples
    --------
    >>> print(key_values([("lowest charge", "57 %"), ("fuel", "31.0 L")]))
    lowest charge  57 %
    fuel           31.0 L
    """
    pairs = list(pairs)
    if not pairs:
        return ""
    return table(pairs, aligns="ll", indent=indent)


def table(
    rows: Iterable[Sequence[str]],
    *,
    aligns: str,
    header: Sequence[str] | None = None,
    overs: Sequence[tuple[str, int]] = (),
    indent: int = 0,
) -> str:
    """Rows in aligned columns, within the page.

    Parameters
    ----------
    aligns : str
        One letter a column: "l" for words, which are wrapped where the page is too narrow; "r"
        for numbers, whose units come to stand below them where nothing else fits.
    header : sequence of str, optional
        Column heads, underlined; a line break in one makes a head of two lines.
    overs : sequence of (str, int)
        Heads above these, and over how many columns each; in turn over all of them.

    Raises
    ------
    ValueError
        If a row has not one cell a column, or the bare numbers are wider than the page.

    Examples
    --------
    >>> rows = [("radio", "0.5 Ah"), ("pilot", "36 Ah")]
    >>> print(table(rows, aligns="lr", header=("load", "a day")))
    load    a day
    -----  ------
    radio  0.5 Ah
    pilot   36 Ah
    """
    body = [[" ".join(printable(cell).split()) for cell in row] for row in rows]
    if not body:
        return ""
    heads = _head_rows(header) if header is not None else []
    if any(len(row) != len(aligns) for row in heads + body):
        raise ValueError(f"every row needs {len(aligns)} cells")
    cells, wrapped = [*heads, *body], _on_lines
    try:
        widths = _fitted(cells, aligns, WIDTH - indent, overs)
    except ValueError:  # then a number's unit comes to stand below it
        cells, wrapped = (
            [[_LONG_UNIT.sub("\u00a0", cell) for cell in row] for row in cells],
            _parted,
        )
        widths = _fitted(cells, aligns, WIDTH - indent, overs, numbers_too=True)
    heads, body = cells[: len(heads)], cells[len(heads) :]
    rule = [["-" * width for width in widths]] if heads else []
    lines = [
        line
        for row in heads + rule + body
        for line in _row_lines(row, widths, aligns, indent, wrapped=wrapped)
    ]
    return "\n".join([*([_over(overs, widths, indent)] if overs else []), *lines])


def listed(words: Iterable[str]) -> str:
    """Several things one after the other, in a sentence.

    Parameters
    ----------
    words : iterable of str
        One or more.

    Examples
    --------
    >>> listed(["arch"]), listed(["boat.toml", "loads.csv", "route.csv"])
    ('arch', 'boat.toml, loads.csv and route.csv')
    """
    *before, last = words
    return f"{', '.join(before)} and {last}" if before else last


def shortened(text: str, most: int) -> str:
    """One line of text, with dots where it is longer than so many characters.

    Examples
    --------
    >>> shortened("log and  depth", 20), shortened("log and depth", 12), shortened("x" * 20, 8)
    ('log and depth', 'log and ...', 'xxxx ...')
    """
    line = printable(text)
    short = textwrap.shorten(line, most, placeholder=" ...")
    # A first word that is too long itself is cut.
    return f"{line[: most - 4]} ..." if short.strip() == "..." else short


def glued(text: str) -> str:
    """One line of text in which a no-break space holds each number to its unit.

    Examples
    --------
    >>> glued("about  80 % of it").split(" ")
    ['about', '80\\xa0%', 'of', 'it']
    """
    return held(" ".join(printable(text).split()))


def held(text: str) -> str:
    """The same of a piece of a line, whose spaces at its ends count."""
    return _BEFORE_UNIT.sub("\u00a0", text)


def _over(overs: Sequence[tuple[str, int]], widths: Sequence[int], indent: int) -> str:
    """A line of heads, each above the middle of several columns."""
    heads, at = [], 0
    for head, count in overs:
        wide = sum(widths[at : at + count]) + len(_GAP) * (count - 1)
        heads.append(head.center(wide))
        at += count
    return (" " * indent + _GAP.join(heads)).rstrip()


def _head_rows(header: Sequence[str]) -> list[list[str]]:
    """Heads as rows of cells; those of fewer lines stand at the bottom."""
    heads = [cell.split("\n") for cell in header]
    deepest = max(map(len, heads), default=0)
    filled = [[""] * (deepest - len(lines)) + lines for lines in heads]
    return [list(row) for row in zip(*filled, strict=True)]


def _wrapped(
    text: str, width: int, *, initial_indent: str = "", subsequent_indent: str = ""
) -> list[str]:
    lines = textwrap.wrap(
        glued(text),
        width,
        break_on_hyphens=False,
        initial_indent=initial_indent,
        subsequent_indent=subsequent_indent,
    )
    return [line.replace("\u00a0", " ") for line in lines]


def _on_lines(text: str, width: int) -> list[str]:
    """A cell on lines, each number with its unit."""
    return _wrapped(text, width)


def _parted(text: str, width: int) -> list[str]:
    """A cell on lines between which a number and its unit may come apart."""
    lines = textwrap.wrap(text, width, break_on_hyphens=False)
    return [line.replace("\u00a0", " ") for line in lines]


def _fitted(
    rows,
    aligns: str,
    page: int,
    overs: Sequence[tuple[str, int]] = (),
    *,
    numbers_too: bool = False,
) -> list[int]:
    """Column widths: as wide as the widest cell, the widest columns of words cut to the page.

    A word is broken only where no column has room for all of its words; no number is, nor cut at
    all but where `numbers_too`. The last column under a head is as much wider as that head needs.
    """
    whole = [
        max(len(word) for row in rows for word in (*row[i].split(), "")) for i in range(len(aligns))
    ]
    widths = [max(1, *(len(row[i]) for row in rows)) for i in range(len(aligns))]
    last = -1
    for head, count in overs:
        last += count
        under = widths[last - count + 1 : last + 1]
        widths[last] += max(len(head) - sum(under) - len(_GAP) * (count - 1), 0)
    least = [
        _NARROWEST if align == "l" else _longest_part(rows, i) if numbers_too else page
        for i, align in enumerate(aligns)
    ]
    spare = page - len(_GAP) * (len(widths) - 1)
    while sum(widths) > spare:
        wordy = [i for i, width in enumerate(widths) if width > least[i]]
        if not wordy:
            raise ValueError(f"a table of {sum(widths)} columns does not fit {page}")
        roomy = [i for i in wordy if widths[i] > whole[i]] or wordy
        widths[max(roomy, key=widths.__getitem__)] -= 1
    return widths


def _longest_part(rows, column: int) -> int:
    """The widest of what a column of numbers may be parted into."""
    return max(len(part) for row in rows for part in row[column].split(" "))


def _row_lines(row, widths: list[int], aligns: str, indent: int, *, wrapped) -> list[str]:
    cells = [wrapped(cell, width) or [""] for cell, width in zip(row, widths, strict=True)]
    lines = []
    for i in range(max(map(len, cells))):
        pieces = [cell[i] if i < len(cell) else "" for cell in cells]
        parts = [
            piece.rjust(width) if align == "r" else piece.ljust(width)
            for piece, width, align in zip(pieces, widths, aligns, strict=True)
        ]
        lines.append((" " * indent + _GAP.join(parts)).rstrip())
    return lines
