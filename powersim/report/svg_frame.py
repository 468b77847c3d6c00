"""Frames of a plain SVG picture one above the other, and what is written in and beside them.

Nothing here has a style: a colour is an attribute, by day, with a class of the palette's name, for
which a page's style sheet may know another (`shade_rules`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape

from powersim.report.direct_labels import folded, spread
from powersim.report.palette import GRID, INK, SHADES, SOFT, Shade
from powersim.report.text import printable

#: From a frame to the names beside it, and how far its ticks reach. [px]
_LEAD_PX, _TICK_PX = 9.0, 4.0
#: From one line of words to the next, and from their middle to their foot, of their size. [-]
_LINE, _FOOT = 1.25, 0.35


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """How large a picture is drawn, and what there is room for.

    Attributes
    ----------
    name : str
        In the style sheet.
    width, left, labels, over, main, gap, strip, below, font : float
        Of the whole; left of the frames and right of them for names; over the upper frame; heights
        of it, of what lies above a strip, and of a strip; below for dates; of all words. [px]
    most_dates, most_latitudes, label : int
        Along the frames, and characters that fit beside them.
    """

    name: str
    width: float
    left: float
    labels: float
    over: float
    main: float
    gap: float
    strip: float
    below: float
    font: float
    most_dates: int
    most_latitudes: int
    label: int

    def high(self, *, strips: int) -> float:
        """The whole picture's height. [px]"""
        return self.over + self.main + strips * (self.gap + self.strip) + self.below

    def frame(self, place: int, *, hours: int, low: float, top: float) -> Frame:
        """The upper frame (0) or a strip below it, for values between two."""
        over = self.over if place == 0 else self.over + self.main + place * self.gap
        return Frame(
            look=self, left=self.left, width=self.width - self.left - self.labels,
            over=over + max(place - 1, 0) * self.strip,
            high=self.strip if place else self.main, hours=hours, low=low, top=top,
        )  # fmt: skip


#: For a broad screen or a sheet of paper, and for a narrow one.
LOOKS = (
    Look(
        name="broad", width=760, left=52, labels=152, over=40, main=215, gap=28, strip=46,
        below=38, font=13, most_dates=9, most_latitudes=8, label=22,
    ),
    Look(
        name="narrow", width=340, left=48, labels=96, over=40, main=210, gap=28, strip=46,
        below=38, font=12, most_dates=4, most_latitudes=4, label=12,
    ),
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Name:
    """Words beside a frame: where they belong, in its values, and their colour."""

    y: float
    words: str
    shade: Shade = INK
    bold: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Where hours and values lie on the picture.

    Attributes
    ----------
    look : Look
        Of the picture.
    left, over, width, high : float
        Where it lies. [px]
    hours : int
        From its left to its right.
    low, top : float
        Values at its bottom and at its top.
    """

    look: Look
    left: float
    over: float
    width: float
    high: float
    hours: int
    low: float
    top: float

    @property
    def right(self) -> float:
        """Its right edge. [px]"""
        return self.left + self.width

    @property
    def bottom(self) -> float:
        """Its lower edge. [px]"""
        return self.over + self.high

    def x(self, hour: float) -> float:
        """Where an hour lies. [px]"""
        return self.left + self.width * hour / self.hours

    def y(self, value: float) -> float:
        """Where a value lies. [px]"""
        return self.bottom - self.high * (value - self.low) / (self.top - self.low)

    def outline(self, d: str, kind: str, *, fine: int, look: str) -> str:
        """An outline in hours and fine steps of the value; as wide a line on the screen as said.

        Parameters
        ----------
        d : str
            Of the path.
        kind : str
            What it is, for a style sheet and for tests.
        fine : int
            Steps in one of the value.
        look : str
            Attributes of `inked`.
        """
        across, up = self.width / self.hours, self.high / (self.top - self.low) / fine
        matrix = f"{across:.5g} 0 0 {-up:.5g} {self.left} {self.bottom + self.low * up * fine:.2f}"
        steady = 'vector-effect="non-scaling-stroke"'
        return f'<path d="{d}" transform="matrix({matrix})" {steady} {of_kind(kind, look)}/>'

    def levels(self, values: Sequence[float], unit: str) -> Iterator[str]:
        """Quiet lines across at values, with their numbers at the left; the axes themselves."""
        rules = "".join(
            f"M{self.left} {self.y(value):.1f}H{self.right}" for value in values if value > self.low
        )
        yield f'<path d="{rules}" {inked(stroke=GRID)} stroke-width="0.8"/>'
        for value in values:
            yield text(
                f"{value:g}{unit}", self.left - _TICK_PX - 2, self.y(value), self.look,
                anchor="end", foot=True,
            )  # fmt: skip
        yield (
            f'<path d="M{self.left} {self.over}V{self.bottom}H{self.right}" '
            f'{inked(stroke=INK)} stroke-width="1"/>'
        )

    def head(self, words: str) -> str:
        """What a strip shows, above it at the left."""
        return text(words, self.left, self.over - 6, self.look)

    def names(self, names: Sequence[Name]) -> Iterator[str]:
        """Names at the right, none over another, each with a thin line to where it belongs."""
        line = _LINE * self.look.font
        names = sorted(names, key=lambda name: name.y)
        words = [folded(printable(name.words), self.look.label).split("\n") for name in names]
        rooms = [line * len(lines) for lines in words]
        wanted = [self.bottom - self.y(name.y) for name in names]
        places = spread(wanted, rooms, 0.0, self.high)
        for name, lines, at, place in zip(names, words, wanted, places, strict=True):
            y = self.bottom - place
            yield (
                f'<path d="M{self.right} {self.bottom - at:.1f}'
                f'L{self.right + _LEAD_PX - 2} {y:.1f}" {inked(stroke=SOFT)} stroke-width="0.7"/>'
            )
            first = y - line * (len(lines) - 1) / 2.0
            for number, told in enumerate(lines):
                yield text(
                    told, self.right + _LEAD_PX, first + number * line, self.look,
                    shade=name.shade, bold=name.bold, foot=True,
                )  # fmt: skip


def of_kind(kind: str, look: str) -> str:
    """Attributes of `inked` with one more class: what it is, for a style sheet and for tests."""
    return look.replace('class="', f'class="{kind} ', 1)


def inked(
    *,
    fill: Shade | str | None = None,
    stroke: Shade | None = None,
    wide: float | None = None,
    dashes: Sequence[float] = (),
    opacity: float | None = None,
) -> str:
    """Attributes of a shape's look, with the classes by which a style sheet recolours it.

    Parameters
    ----------
    fill, stroke : Shade, optional
        Of its area (or the address of a pattern), and of its line; none is drawn without.
    wide : float, optional
        Of the line. [px]
    dashes : sequence of float
        Strokes and gaps. [px]
    opacity : float, optional
        Of its area. [-]

    Examples
    --------
    >>> inked(stroke=INK, wide=2)
    'class="k-ink" fill="none" stroke="#111111" stroke-width="2"'
    """
    classes = [
        f"{letter}-{shade.name}"
        for letter, shade in (("f", fill), ("k", stroke))
        if isinstance(shade, Shade)
    ]
    filled = fill.light if isinstance(fill, Shade) else fill or "none"
    said = [f'class="{" ".join(classes)}"', f'fill="{filled}"']
    said += [] if opacity is None else [f'fill-opacity="{opacity:g}"']
    said += [] if stroke is None else [f'stroke="{stroke.light}"']
    said += [] if wide is None else [f'stroke-width="{wide:g}"']
    said += [f'stroke-dasharray="{" ".join(f"{each:g}" for each in dashes)}"'] if dashes else []
    return " ".join(said)


def text(
    words: str,
    x: float,
    y: float,
    look: Look,
    *,
    anchor: str = "start",
    shade: Shade = INK,
    bold: bool = False,
    foot: bool = False,
) -> str:
    """Words at a place; with `foot` their middle lies there and not their foot."""
    down = y + (_FOOT * look.font if foot else 0.0)
    said = [f'x="{x:.1f}" y="{down:.1f}"', inked(fill=shade)]
    said += [] if anchor == "start" else [f'text-anchor="{anchor}"']
    said += ['font-weight="bold"'] if bold else []
    return f"<text {' '.join(said)}>{escape(words)}</text>"


def shade_rules() -> str:
    """Rules of a style sheet that give every shade its name, so that a picture turns dark.

    They stand beside `palette.style_sheet`, which says what each name is by day and by night.
    """
    return "".join(
        f".f-{shade.name} {{ fill: var(--{shade.name}); }} "
        f".k-{shade.name} {{ stroke: var(--{shade.name}); }}\n"
        for shade in SHADES
    )
