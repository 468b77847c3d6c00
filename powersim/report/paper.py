"""Printed pages: words, lines and tables set from the top down, in millimetres, all in black.

Black on white, so that it can be read by red light, and by a printer short of everything else. What
does not fit goes on the next page: between words, between rows, and never within either.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING

from powersim.report.axes import BLACK, any_script
from powersim.report.text import glued, printable
from powersim.report.view import Table

if TYPE_CHECKING:
    from matplotlib.figure import Figure

#: ISO 216.
A4_MM, A5_MM = (210.0, 297.0), (148.0, 210.0)
_MM_PER_INCH, _PT_PER_INCH = 25.4, 72.0
_MM_PER_PT = _MM_PER_INCH / _PT_PER_INCH
#: Fine enough that a width is that of the printed words, not of dots on a screen. [1/inch]
_RULER_DPI = 1440.0
#: Line to line, as a share of the type size. [-]
_LEADING = 1.35
_CELL_MM = 0.8  # left and right of a table's cell
_SPARE_MM = 0.1  # so that words fit their own column however they are measured
_LEAST_MM = 12.0  # of a column of words that gives way
_UNDER_MM, _BELOW_MM = 0.1, 0.6  # from a row to its line, and from the line to the next row
#: What is no larger than so much of a page is not parted. [-]
_TOGETHER_FRAC = 0.6
_BAR_MM, _INSET_MM = 1.2, 4.0  # of a bar beside what is marked, and of what it marks


class Paper:
    """Pages that are written on from the top down.

    Parameters
    ----------
    size_mm : tuple of (float, float)
        Width and height of a page. [mm]
    margin_mm : float
        Left white on every side. [mm]
    on_each : callable, optional
        Given this paper when a further page begins, for a line at its head.
    """

    def __init__(
        self,
        *,
        size_mm: tuple[float, float],
        margin_mm: float,
        on_each: Callable[[Paper], None] = lambda paper: None,
    ) -> None:
        from matplotlib.backends.backend_agg import RendererAgg

        self.pages: list[Figure] = []
        self._size_mm, self._margin_mm, self._on_each = size_mm, margin_mm, on_each
        self._ruler = RendererAgg(1, 1, _RULER_DPI)
        self._widths: dict[tuple[str, float, bool], float] = {}
        self._inset_mm = 0.0
        self._bar_from_mm: float | None = None
        self.bottom_mm = size_mm[1] - margin_mm
        self.y_mm = margin_mm
        self._add_page()

    @property
    def left_mm(self) -> float:
        """Where a line begins. [mm]"""
        return self._margin_mm + self._inset_mm

    @property
    def right_mm(self) -> float:
        """Where a line ends. [mm]"""
        return self._size_mm[0] - self._margin_mm

    @property
    def wide_mm(self) -> float:
        """How long a line is. [mm]"""
        return self.right_mm - self.left_mm

    def turn(self) -> None:
        """Go on at the top of a new page."""
        barred = self._bar_from_mm is not None
        if barred:
            self._end_bar()
        self._add_page()
        self._on_each(self)
        if barred:
            self._bar_from_mm = self.y_mm

    def need(self, high_mm: float) -> None:
        """Go on at the top of a new page unless so much is left of this one. [mm]"""
        if self.y_mm + high_mm > self.bottom_mm + 1e-6:
            self.turn()

    def skip(self, high_mm: float) -> None:
        """Leave so much white. [mm]"""
        self.y_mm += high_mm

    @contextmanager
    def marked(self) -> Iterator[None]:
        """A black bar at the left of all that is written meanwhile, which is set in."""
        self._bar_from_mm, self._inset_mm = self.y_mm, _INSET_MM
        try:
            yield
        finally:
            self._end_bar()
            self._bar_from_mm, self._inset_mm = None, 0.0

    def _end_bar(self) -> None:
        middle_mm = self._margin_mm + _BAR_MM / 2.0
        assert self._bar_from_mm is not None
        if self.y_mm > self._bar_from_mm:
            self.line(
                middle_mm, self._bar_from_mm, middle_mm, self.y_mm, points=_BAR_MM / _MM_PER_PT
            )

    def _add_page(self) -> None:
        from matplotlib.figure import Figure

        wide_mm, high_mm = self._size_mm
        self.pages.append(Figure(figsize=(wide_mm / _MM_PER_INCH, high_mm / _MM_PER_INCH)))
        self.y_mm = self._margin_mm

    def number_pages(self, size_pt: float) -> None:
        """ "1 of 3" at the foot of every page, once all is written."""
        wide_mm, high_mm = self._size_mm
        for number, page in enumerate(self.pages, start=1):
            page.text(
                self.right_mm / wide_mm,
                (self._margin_mm - 0.8 * leading_mm(size_pt)) / high_mm,
                f"{number} of {len(self.pages)}",
                fontsize=size_pt,
                color=BLACK,
                ha="right",
                va="baseline",
            )

    def width_mm(self, words: str, size_pt: float, *, bold: bool = False) -> float:
        """How wide words come out on one line. [mm]"""
        key = (words, size_pt, bold)
        if key not in self._widths:
            from matplotlib.font_manager import FontProperties

            face = FontProperties(size=size_pt, weight=_weight(bold))
            with any_script():
                wide, *_ = self._ruler.get_text_width_height_descent(words, face, False)
            self._widths[key] = wide * _MM_PER_INCH / _RULER_DPI
        return self._widths[key]

    def wrapped(
        self, words: str, size_pt: float, wide_mm: float, *, bold: bool = False
    ) -> list[str]:
        """Words in lines that are no wider than that; a longer word is cut."""
        lines: list[str] = []
        for word in glued(words).split(" "):
            longer = f"{lines[-1]} {word}" if lines else word
            if lines and self.width_mm(longer, size_pt, bold=bold) <= wide_mm:
                lines[-1] = longer
                continue
            while self.width_mm(word, size_pt, bold=bold) > wide_mm and len(word) > 2:
                word = word[:-2] + "…"
            lines.append(word)
        return [line.replace("\u00a0", " ") for line in lines]

    def words(
        self,
        x_mm: float,
        y_mm: float,
        text: str,
        size_pt: float,
        *,
        bold: bool = False,
        align: str = "left",
    ) -> None:
        """One line, its upper edge at y_mm from the top of the page."""
        wide_mm, high_mm = self._size_mm
        self.pages[-1].text(
            x_mm / wide_mm,
            1.0 - (y_mm + 0.8 * size_pt * _MM_PER_PT) / high_mm,
            printable(text),
            fontsize=size_pt,
            fontweight=_weight(bold),
            color=BLACK,
            ha=align,
            va="baseline",
            parse_math=False,
        )

    def paragraph(
        self,
        text: str,
        size_pt: float,
        *,
        bold: bool = False,
        most_lines: int = 99,
        with_next_mm: float = 0.0,
    ) -> None:
        """Words in lines, the last ending in dots where more would be needed.

        What is not most of a page stays on one, and with it `with_next_mm` of what follows.
        """
        lines = self.wrapped(text, size_pt, self.wide_mm, bold=bold)
        if len(lines) > most_lines:
            lines = lines[:most_lines]
            last = lines[-1].removesuffix("…")
            while self.width_mm(f"{last} …", size_pt, bold=bold) > self.wide_mm:
                last = last.rpartition(" ")[0] if " " in last else last[:-2]
            lines[-1] = f"{last} …"
        leading = leading_mm(size_pt)
        together_mm = len(lines) * leading + with_next_mm
        if together_mm <= _TOGETHER_FRAC * (self.bottom_mm - self._margin_mm):
            self.need(together_mm)
        for line in lines:
            self.need(leading)
            self.words(self.left_mm, self.y_mm, line, size_pt, bold=bold)
            self.y_mm += leading

    def line(
        self, x0_mm: float, y0_mm: float, x1_mm: float, y1_mm: float, *, points: float = 0.6
    ) -> None:
        """A straight line."""
        from matplotlib.lines import Line2D

        wide_mm, high_mm = self._size_mm
        self.pages[-1].add_artist(
            Line2D(
                [x0_mm / wide_mm, x1_mm / wide_mm],
                [1.0 - y0_mm / high_mm, 1.0 - y1_mm / high_mm],
                color=BLACK,
                linewidth=points,
                solid_capstyle="butt",
            )
        )

    def table(self, table: Table, size_pt: float) -> None:
        """A table with its heads underlined, and again on a further page.

        Words are wrapped in the widest column. A line break in a head is one. What is not most
        of a page stays together.
        """
        heads, body, rights, edges = self._laid(table, size_pt)
        highs = [_row_mm(row, size_pt) for row in body]
        head_mm = self._head_mm(table, heads, size_pt)
        room_mm = _TOGETHER_FRAC * (self.bottom_mm - self._margin_mm)
        together = head_mm + sum(highs) <= room_mm
        self.need(head_mm + sum(highs if together else highs[:2]))
        self._heads(table.overs, heads, rights, edges, size_pt)
        for row, high_mm in zip(body, highs, strict=True):
            page = len(self.pages)
            self.need(high_mm)
            if len(self.pages) > page:
                self._heads(table.overs, heads, rights, edges, size_pt)
            self._row(row, rights, edges, size_pt)

    def high_mm(self, table: Table, size_pt: float) -> float:
        """How high a table comes out. [mm]"""
        heads, body, *_ = self._laid(table, size_pt)
        rows_mm = sum(_row_mm(row, size_pt) for row in body)
        return self._head_mm(table, heads, size_pt) + rows_mm

    def _head_mm(self, table, heads, size_pt) -> float:
        over_mm = leading_mm(size_pt) + 0.6 if table.overs else 0.0
        return _row_mm(heads, size_pt) + over_mm

    def _laid(self, table, size_pt):
        """Heads and cells in lines, which columns hold numbers, and the columns' edges. [mm]"""
        heads = [column.head.split("\n") for column in table.columns]
        rows = [[str(cell) for cell in row] for row in table.rows]
        rights = [not column.words for column in table.columns]
        widths = self._columns(heads, rows, rights, table.overs, size_pt)
        edges = [self.left_mm]
        for width in widths:
            edges.append(edges[-1] + width)
        body = [
            [
                [cell]
                if right  # a number is never cut
                else self.wrapped(cell, size_pt, width - 2 * _CELL_MM) or [""]
                for cell, right, width in zip(row, rights, widths, strict=True)
            ]
            for row in rows
        ]
        return heads, body, rights, edges

    def _heads(self, overs, heads, rights, edges, size_pt) -> None:
        """Heads that several columns share, each above its own with a line under it; then those."""
        at = 0
        for over, count in overs:
            left_mm, right_mm = edges[at] + _CELL_MM, edges[at + count] - _CELL_MM
            at += count
            if over:
                middle_mm = (left_mm + right_mm) / 2.0
                self.words(middle_mm, self.y_mm, over, size_pt, bold=True, align="center")
                below_mm = self.y_mm + leading_mm(size_pt)
                self.line(left_mm, below_mm, right_mm, below_mm, points=0.3)
        if overs:
            self.y_mm += leading_mm(size_pt) + 0.6
        # All end on one line, the shorter ones below.
        most = max(map(len, heads))
        self._row([[""] * (most - len(head)) + head for head in heads], rights, edges, size_pt, 1.0)

    def _row(self, cells, rights, edges, size_pt, points=0.3) -> None:
        for column, lines in enumerate(cells):
            right = rights[column]
            at_mm = edges[column + 1] - _CELL_MM if right else edges[column] + _CELL_MM
            for place, text in enumerate(lines):
                if text:
                    self.words(
                        at_mm,
                        self.y_mm + place * leading_mm(size_pt),
                        text,
                        size_pt,
                        bold=points >= 1.0,
                        align="right" if right else "left",
                    )
        self.y_mm += _row_mm(cells, size_pt)
        level_mm = self.y_mm - _BELOW_MM
        self.line(edges[0], level_mm, edges[-1], level_mm, points=points)

    def grid(
        self,
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
        edges = [self.left_mm]
        for share in shares:
            edges.append(edges[-1] + share * self.wide_mm)
        head_mm = leading_mm(size_pt) + 1.2
        left = list(rows)
        while left:
            self.need(head_mm + high_mm)
            top_mm = self.y_mm
            for edge, head in zip(edges[:-1], heads, strict=True):
                self.words(edge + 1.0, top_mm + 0.8, head, size_pt, bold=True)
            room = int((self.bottom_mm - top_mm - head_mm + 1e-6) // high_mm)
            now, left = left[:room], left[room:]
            now += [""] * (room - len(now)) if filled_up else []
            levels = [
                top_mm,
                *(top_mm + head_mm + place * high_mm for place in range(len(now) + 1)),
            ]
            for level, words in zip(levels[1:], now, strict=False):
                below_mm = (high_mm - leading_mm(size_pt)) / 2.0 + 0.3
                self.words(edges[0] + 1.0, level + below_mm, words, size_pt)
            for level in levels:
                self.line(edges[0], level, edges[-1], level)
            for edge in edges:
                self.line(edge, levels[0], edge, levels[-1])
            self.y_mm = levels[-1]

    def _columns(self, heads, rows, rights, overs, size_pt) -> list[float]:
        """Widths of the columns; the widest one of words gives way. [mm]"""
        widths = [
            2 * _CELL_MM
            + _SPARE_MM
            + max(
                *(self.width_mm(printable(row[column]), size_pt) for row in rows or [[""] * 99]),
                *(self.width_mm(printable(line), size_pt, bold=True) for line in heads[column]),
            )
            for column in range(len(heads))
        ]
        at = 0
        for over, count in overs:
            # A shared head that is wider than its columns widens them.
            lacks = self.width_mm(over, size_pt, bold=True) + 2 * _CELL_MM + _SPARE_MM
            lacks -= sum(widths[at : at + count])
            if over and lacks > 0.0:
                widths[at : at + count] = [each + lacks / count for each in widths[at : at + count]]
            at += count
        beyond = sum(widths) - self.wide_mm
        if beyond > 0.0:
            words = [place for place, right in enumerate(rights) if not right]
            widest = max(words, key=lambda place: widths[place])
            widths[widest] = max(widths[widest] - beyond, _LEAST_MM)
        return widths


def leading_mm(size_pt: float) -> float:
    """From line to line. [mm]

    Examples
    --------
    >>> round(leading_mm(10.0), 2)
    4.76
    """
    return _LEADING * size_pt * _MM_PER_PT


def _row_mm(cells: Sequence[Sequence[str]], size_pt: float) -> float:
    """How high a row of a table is, with its line. [mm]"""
    return max(map(len, cells)) * leading_mm(size_pt) + _UNDER_MM + _BELOW_MM


def _weight(bold: bool) -> str:
    return "bold" if bold else "normal"
