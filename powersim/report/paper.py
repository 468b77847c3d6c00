"""Printed pages: words and lines set from the top down, in millimetres, all in black.

Black on white, so that it can be read by red light, and by a printer short of everything else. What
does not fit goes on the next page. `paper_tables.py` sets tables.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from powersim.report.axes import BLACK, any_script
from powersim.report.text import glued, printable

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

    @property
    def together_mm(self) -> float:
        """What is no higher is not parted. [mm]"""
        return _TOGETHER_FRAC * (self.bottom_mm - self._margin_mm)

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
            lines.append(self._cut(word, size_pt, wide_mm, bold=bold))
        return [line.replace("\u00a0", " ") for line in lines]

    def _cut(self, word: str, size_pt: float, wide_mm: float, *, bold: bool) -> str:
        """A word, or as much of it as is no wider than that; one letter at least."""

        def is_too_wide(letters: int) -> bool:
            return self.width_mm(f"{word[:letters]}…", size_pt, bold=bold) > wide_mm

        if len(word) <= 2 or self.width_mm(word, size_pt, bold=bold) <= wide_mm:
            return word
        # Words are slow to measure, and more letters are wider: halve, rather than try one by one.
        more = range(2, len(word) - 1)
        return word[: 1 + bisect_left(more, True, key=is_too_wide)] + "…"

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
        if together_mm <= self.together_mm:
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
