"""Tables on paper: set from what is known, or left open for a pencil; a row is never parted."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from powersim.report.paper import leading_mm
from powersim.report.text import printable
from powersim.report.view import Table

if TYPE_CHECKING:
    from powersim.report.paper import Paper

_CELL_MM = 0.8  # left and right of a table's cell
_SPARE_MM = 0.1  # so that words fit their own column however they are measured
_LEAST_MM = 12.0  # of a column of words that gives way
_UNDER_MM, _BELOW_MM = 0.1, 0.6  # from a row to its line, and from the line to the next row


def set_table(paper: Paper, table: Table, size_pt: float) -> None:
    """A table with its heads underlined, and again on a further page.

    Words are wrapped in the widest column. A line break in a head is one. What is not most
    of a page stays together.
    """
    heads, body, rights, edges = _laid(paper, table, size_pt)
    highs = [_row_mm(row, size_pt) for row in body]
    head_mm = _head_mm(table, heads, size_pt)
    together = head_mm + sum(highs) <= paper.together_mm
    paper.need(head_mm + sum(highs if together else highs[:2]))
    _heads(paper, table.overs, heads, rights, edges, size_pt)
    for row, row_mm in zip(body, highs, strict=True):
        page = len(paper.pages)
        paper.need(row_mm)
        if len(paper.pages) > page:
            _heads(paper, table.overs, heads, rights, edges, size_pt)
        _row(paper, row, rights, edges, size_pt)


def high_mm(paper: Paper, table: Table, size_pt: float) -> float:
    """How high a table comes out. [mm]"""
    heads, body, *_ = _laid(paper, table, size_pt)
    rows_mm = sum(_row_mm(row, size_pt) for row in body)
    return _head_mm(table, heads, size_pt) + rows_mm


def _head_mm(table, heads, size_pt) -> float:
    over_mm = leading_mm(size_pt) + 0.6 if table.overs else 0.0
    return _row_mm(heads, size_pt) + over_mm


def _laid(paper, table, size_pt):
    """Heads and cells in lines, which columns hold numbers, and the columns' edges. [mm]"""
    heads = [column.head.split("\n") for column in table.columns]
    rows = [[str(cell) for cell in row] for row in table.rows]
    rights = [not column.words for column in table.columns]
    widths = _columns(paper, heads, rows, rights, table.overs, size_pt)
    edges = [paper.left_mm]
    for width in widths:
        edges.append(edges[-1] + width)
    body = [
        [
            [cell]
            if right  # a number is never cut
            else paper.wrapped(cell, size_pt, width - 2 * _CELL_MM) or [""]
            for cell, right, width in zip(row, rights, widths, strict=True)
        ]
        for row in rows
    ]
    return heads, body, rights, edges


def _heads(paper, overs, heads, rights, edges, size_pt) -> None:
    """Heads that several columns share, each above its own with a line under it; then those."""
    at = 0
    for over, count in overs:
        left_mm, right_mm = edges[at] + _CELL_MM, edges[at + count] - _CELL_MM
        at += count
        if over:
            middle_mm = (left_mm + right_mm) / 2.0
            paper.words(middle_mm, paper.y_mm, over, size_pt, bold=True, align="center")
            below_mm = paper.y_mm + leading_mm(size_pt)
            paper.line(left_mm, below_mm, right_mm, below_mm, points=0.3)
    if overs:
        paper.y_mm += leading_mm(size_pt) + 0.6
    # All end on one line, the shorter ones below.
    most = max(map(len, heads))
    _row(paper, [[""] * (most - len(head)) + head for head in heads], rights, edges, size_pt, 1.0)


def _row(paper, cells, rights, edges, size_pt, points=0.3) -> None:
    for column, lines in enumerate(cells):
        right = rights[column]
        at_mm = edges[column + 1] - _CELL_MM if right else edges[column] + _CELL_MM
        for place, text in enumerate(lines):
            if text:
                paper.words(
                    at_mm,
                    paper.y_mm + place * leading_mm(size_pt),
                    text,
                    size_pt,
                    bold=points >= 1.0,
                    align="right" if right else "left",
                )
    paper.y_mm += _row_mm(cells, size_pt)
    level_mm = paper.y_mm - _BELOW_MM
    paper.line(edges[0], level_mm, edges[-1], level_mm, points=points)


def set_grid(
    paper: Paper,
    heads: Sequence[str],
    shares: Sequence[float],
    rows: Sequence[str],
    size_pt: float,
    *,
    high_mm: float,
    filled_up: bool = False,
) -> None:
    """A table to be filled in: its rows so high, the first cell of each with its words.

    Heads stand again on every page; `shares` are of the width. `filled_up`: with empty rows to
    the end of the last page.
    """
    edges = [paper.left_mm]
    for share in shares:
        edges.append(edges[-1] + share * paper.wide_mm)
    head_mm = leading_mm(size_pt) + 1.2
    left = list(rows)
    while left:
        paper.need(head_mm + high_mm)
        top_mm = paper.y_mm
        for edge, head in zip(edges[:-1], heads, strict=True):
            paper.words(edge + 1.0, top_mm + 0.8, head, size_pt, bold=True)
        room = int((paper.bottom_mm - top_mm - head_mm + 1e-6) // high_mm)
        now, left = left[:room], left[room:]
        now += [""] * (room - len(now)) if filled_up else []
        levels = [
            top_mm,
            *(top_mm + head_mm + place * high_mm for place in range(len(now) + 1)),
        ]
        for level, words in zip(levels[1:], now, strict=False):
            below_mm = (high_mm - leading_mm(size_pt)) / 2.0 + 0.3
            paper.words(edges[0] + 1.0, level + below_mm, words, size_pt)
        for level in levels:
            paper.line(edges[0], level, edges[-1], level)
        for edge in edges:
            paper.line(edge, levels[0], edge, levels[-1])
        paper.y_mm = levels[-1]


def _columns(paper, heads, rows, rights, overs, size_pt) -> list[float]:
    """Widths of the columns; the widest one of words gives way. [mm]"""
    widths = [
        2 * _CELL_MM
        + _SPARE_MM
        + max(
            *(paper.width_mm(printable(row[column]), size_pt) for row in rows or [[""] * 99]),
            *(paper.width_mm(printable(line), size_pt, bold=True) for line in heads[column]),
        )
        for column in range(len(heads))
    ]
    at = 0
    for over, count in overs:
        # A shared head that is wider than its columns widens them.
        lacks = paper.width_mm(over, size_pt, bold=True) + 2 * _CELL_MM + _SPARE_MM
        lacks -= sum(widths[at : at + count])
        if over and lacks > 0.0:
            widths[at : at + count] = [each + lacks / count for each in widths[at : at + count]]
        at += count
    beyond = sum(widths) - paper.wide_mm
    if beyond > 0.0:
        words = [place for place, right in enumerate(rights) if not right]
        widest = max(words, key=lambda place: widths[place])
        widths[widest] = max(widths[widest] - beyond, _LEAST_MM)
    return widths


def _row_mm(cells: Sequence[Sequence[str]], size_pt: float) -> float:
    """How high a row of a table is, with its line. [mm]"""
    return max(map(len, cells)) * leading_mm(size_pt) + _UNDER_MM + _BELOW_MM
