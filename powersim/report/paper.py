"""A printed page: words, lines and tables set from the top down, in millimetres, all in black.

Black on white, so that it can be read by red light, and by a printer short of everything else.
"""

from __future__ import annotations

from powersim.report.axes import BLACK, any_script
from powersim.report.text import glued, printable
from powersim.report.view import Table

A4_MM = (210.0, 297.0)
_MM_PER_INCH, _PT_PER_INCH = 25.4, 72.0
_MM_PER_PT = _MM_PER_INCH / _PT_PER_INCH
#: Fine enough that a width is that of the printed words, not of dots on a screen. [1/inch]
_RULER_DPI = 1440.0
#: Line to line, as a share of the type size. [-]
_LEADING = 1.35
_CELL_MM = 1.2  # left and right of a table's cell
_SPARE_MM = 0.1  # so that words fit their own column however they are measured
_LEAST_MM = 12.0  # of a column of words that gives way


class Paper:
    """One page that is written on from the top down.

    Parameters
    ----------
    margin_mm : float
        Left white on every side. [mm]
    """

    def __init__(self, *, margin_mm: float) -> None:
        from matplotlib.backends.backend_agg import RendererAgg
        from matplotlib.figure import Figure

        self.figure = Figure(figsize=(A4_MM[0] / _MM_PER_INCH, A4_MM[1] / _MM_PER_INCH))
        self._ruler = RendererAgg(1, 1, _RULER_DPI)
        self._widths: dict[tuple[str, float, bool], float] = {}
        self.left_mm, self.right_mm = margin_mm, A4_MM[0] - margin_mm
        self.bottom_mm = A4_MM[1] - margin_mm

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
        self.figure.text(
            x_mm / A4_MM[0],
            1.0 - (y_mm + 0.8 * size_pt * _MM_PER_PT) / A4_MM[1],
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
        x_mm: float,
        y_mm: float,
        text: str,
        size_pt: float,
        *,
        wide_mm: float,
        bold: bool = False,
        most_lines: int = 99,
    ) -> float:
        """Words in lines, the last ending in dots where more would be needed; the y below. [mm]"""
        lines = self.wrapped(text, size_pt, wide_mm, bold=bold)
        if len(lines) > most_lines:
            lines = lines[:most_lines]
            last = lines[-1].removesuffix("…")
            while self.width_mm(f"{last} …", size_pt, bold=bold) > wide_mm:
                last = last.rpartition(" ")[0] if " " in last else last[:-2]
            lines[-1] = f"{last} …"
        for line in lines:
            self.words(x_mm, y_mm, line, size_pt, bold=bold)
            y_mm += leading_mm(size_pt)
        return y_mm

    def line(
        self, x0_mm: float, y0_mm: float, x1_mm: float, y1_mm: float, *, points: float = 0.6
    ) -> None:
        """A straight line."""
        from matplotlib.lines import Line2D

        self.figure.add_artist(
            Line2D(
                [x0_mm / A4_MM[0], x1_mm / A4_MM[0]],
                [1.0 - y0_mm / A4_MM[1], 1.0 - y1_mm / A4_MM[1]],
                color=BLACK,
                linewidth=points,
                solid_capstyle="butt",
            )
        )

    def box(self, x0_mm: float, y0_mm: float, x1_mm: float, y1_mm: float, *, points: float) -> None:
        """A frame."""
        for x0, y0, x1, y1 in (
            (x0_mm, y0_mm, x1_mm, y0_mm),
            (x1_mm, y0_mm, x1_mm, y1_mm),
            (x1_mm, y1_mm, x0_mm, y1_mm),
            (x0_mm, y1_mm, x0_mm, y0_mm),
        ):
            self.line(x0, y0, x1, y1, points=points)

    def table(
        self, x_mm: float, y_mm: float, table: Table, size_pt: float, *, wide_mm: float
    ) -> float:
        """A table with its heads underlined; words are wrapped in the widest column."""
        heads = [column.head.replace("\n", " ") for column in table.columns]
        rows = [[str(cell) for cell in row] for row in table.rows]
        rights = [not column.words for column in table.columns]
        widths = self._columns(heads, rows, rights, size_pt, wide_mm)
        edges = [x_mm]
        for width in widths:
            edges.append(edges[-1] + width)
        if table.overs:
            y_mm = self._overs(table.overs, edges, y_mm, size_pt)
        for number, row in enumerate([heads, *rows]):
            bold = number == 0
            cells = [
                [cell]
                if right  # a number is never cut
                else self.wrapped(cell, size_pt, width - 2 * _CELL_MM, bold=bold) or [""]
                for cell, right, width in zip(row, rights, widths, strict=True)
            ]
            for column, lines in enumerate(cells):
                right = rights[column]
                at_mm = edges[column + 1] - _CELL_MM if right else edges[column] + _CELL_MM
                for place, text in enumerate(lines):
                    self.words(
                        at_mm,
                        y_mm + place * leading_mm(size_pt),
                        text,
                        size_pt,
                        bold=bold,
                        align="right" if right else "left",
                    )
            y_mm += max(map(len, cells)) * leading_mm(size_pt) + 0.6
            self.line(x_mm, y_mm - 0.5, edges[-1], y_mm - 0.5, points=1.0 if bold else 0.3)
            y_mm += 0.5
        return y_mm

    def _overs(self, overs, edges, y_mm, size_pt) -> float:
        """Heads that several columns share, each above its own with a line under it."""
        at = 0
        for over, count in overs:
            left_mm, right_mm = edges[at] + _CELL_MM, edges[at + count] - _CELL_MM
            at += count
            if over:
                middle_mm = (left_mm + right_mm) / 2.0
                self.words(middle_mm, y_mm, over, size_pt, bold=True, align="center")
                below_mm = y_mm + leading_mm(size_pt)
                self.line(left_mm, below_mm, right_mm, below_mm, points=0.3)
        return y_mm + leading_mm(size_pt) + 0.6

    def _columns(self, heads, rows, rights, size_pt, wide_mm) -> list[float]:
        """Widths of the columns; the widest one of words gives way. [mm]"""
        cells = [(row, False) for row in rows] + [(heads, True)]
        widths = [
            2 * _CELL_MM
            + _SPARE_MM
            + max(self.width_mm(printable(row[column]), size_pt, bold=bold) for row, bold in cells)
            for column in range(len(heads))
        ]
        over = sum(widths) - wide_mm
        if over > 0.0:
            words = [place for place, right in enumerate(rights) if not right]
            widest = max(words, key=lambda place: widths[place])
            widths[widest] = max(widths[widest] - over, _LEAST_MM)
        return widths


def leading_mm(size_pt: float) -> float:
    """From line to line. [mm]

    Examples
    --------
    >>> round(leading_mm(10.0), 2)
    4.76
    """
    return _LEADING * size_pt * _MM_PER_PT


def _weight(bold: bool) -> str:
    return "bold" if bold else "normal"
