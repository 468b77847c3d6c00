"""One colour for one thing, on every picture and on the page, by day and in a dark cabin.

A picture is drawn in the light colours; on the page each of them becomes the name of a colour that
the style sheet knows twice (`themed`, `style_sheet`). No colour stands alone: each thing has a dash
and a hatch of its own besides, and is named where it is drawn.

By night the reader's eye is to stay used to the dark: there the paper is nearly black, and nothing
on it is white.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

#: The least contrast of a mark and of words, on paper and on night: WCAG 2.1, success criteria
#: 1.4.11 and 1.4.3 (level AA). [-]
LEAST_OF_A_MARK, LEAST_OF_WORDS = 3.0, 4.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Shade:
    """One colour by day and in the dark.

    Attributes
    ----------
    name : str
        In the style sheet, after two dashes.
    light, dark : str
        As "#" and six digits of hexadecimal.
    """

    name: str
    light: str
    dark: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """What one colour means.

    Attributes
    ----------
    name : str
        In the style sheet, after two dashes.
    means : str
        In words.
    mark : str
        Colour of bars, bands and lines in a picture: a light colour, as matplotlib takes it.
    word : str
        Colour of words about it, by day darker than a mark.
    dark : str
        What both become in the dark.
    dashes : tuple of float
        Strokes and gaps of its lines; empty for a whole one. [points]
    hatch : str
        Of its bars and bands, as matplotlib takes it.
    """

    name: str
    means: str
    mark: str
    word: str
    dark: str
    dashes: tuple[float, ...] = ()
    hatch: str = ""

    @property
    def shades(self) -> tuple[Shade, Shade]:
        """Its two colours."""
        return (
            Shade(name=self.name, light=self.mark, dark=self.dark),
            Shade(name=f"{self.name}-word", light=self.word, dark=self.dark),
        )

    @property
    def line(self) -> dict:
        """What `plot` and `axhline` take for a line of it."""
        return {"color": self.mark, **({"dashes": self.dashes} if self.dashes else {})}


SUN = Thing(name="sun", means="sun", mark="#B27B00", word="#7F5700", dark="#F2C14E")
WIND = Thing(
    name="wind", means="wind generator",
    mark="#1A8F55", word="#0B6B3C", dark="#5FD39A", dashes=(1.5, 1.5), hatch="..",
)  # fmt: skip
WATER = Thing(
    name="water", means="water generator",
    mark="#0A8599", word="#066475", dark="#4CC9DC", dashes=(9.0, 1.5), hatch="||||",
)  # fmt: skip
SHORE = Thing(
    name="shore", means="shore power",
    mark="#A8628F", word="#8A4373", dark="#E3A3CD", dashes=(3.0, 3.0), hatch="++++",
)  # fmt: skip
#: Several of these three together.
OTHERS = Thing(
    name="others", means="other chargers",
    mark="#55773A", word="#425E2C", dark="#A9CC8B", dashes=(1.5, 3.0), hatch="**",
)  # fmt: skip
ENGINE = Thing(
    name="engine", means="engine and its alternator",
    mark="#C65A11", word="#96420A", dark="#FF9A57", dashes=(7.0, 1.5, 1.5, 1.5),
    hatch="\\\\\\\\",
)  # fmt: skip
LOADS = Thing(
    name="loads", means="loads",
    mark="#7C5FC4", word="#61459F", dark="#B8A2F2", dashes=(5.0, 1.5), hatch="////",
)  # fmt: skip
#: The bank: its charge, and what it gains and loses.
CHARGE = Thing(name="charge", means="bank", mark="#0063B1", word="#00508F", dark="#6CB6FF")
FLOOR = Thing(
    name="floor", means="floor of the bank",
    mark="#CC2233", word="#A81526", dark="#FF7A80", dashes=(6.0, 2.0), hatch="xxxx",
)  # fmt: skip
FAILS = Thing(
    name="fails", means="chance of failing",
    mark="#9B0F5B", word="#830A4B", dark="#FF7FBF", dashes=(3.0, 1.5), hatch="----",
)  # fmt: skip
RESERVE = Thing(
    name="reserve", means="reserve of fuel",
    mark="#B02FB8", word="#8C1F94", dark="#EE8CF5", dashes=(8.0, 2.0, 2.0, 2.0), hatch="oo",
)  # fmt: skip
DIESEL = Thing(
    name="diesel", means="fuel", mark="#6B5344", word="#5A4537", dark="#CBB09B", hatch="OO"
)
#: The bank's charge in steps, the fullest first, where a step is no more than a colour and a width:
#: along a track.
CHARGE_STEPS = (
    Shade(name="charge-high", light="#00386B", dark="#B5D9FF"),
    Shade(name="charge-middle", light="#1270BF", dark="#6FB4FB"),
    Shade(name="charge-low", light="#5C96CC", dark="#4B87C2"),
)
THINGS = (SUN, WIND, WATER, SHORE, OTHERS, ENGINE, LOADS, CHARGE, FLOOR, FAILS, RESERVE, DIESEL)
#: By the `source` of a charger's record, and "engine".
OF_SOURCE = {"wind": WIND, "water": WATER, "shore": SHORE, "engine": ENGINE}

#: What is no thing: words and axes, the page, small print, lines of a grid, the background of a
#: night, land and its coast. Night and grid are quiet; words and marks keep their contrast on both.
INK = Shade(name="ink", light="#111111", dark="#DADFE6")
PAPER = Shade(name="paper", light="#FFFFFF", dark="#151A21")
SOFT = Shade(name="soft", light="#4A4F57", dark="#A9B1BC")
GRID = Shade(name="grid", light="#CDD3DB", dark="#333C48")
NIGHT = Shade(name="night", light="#E6EBF2", dark="#0B0E13")
LAND = Shade(name="land", light="#E8E4D8", dark="#2E2C26")
COAST = Shade(name="coast", light="#5F5B50", dark="#8E897B")
GROUNDS = (INK, PAPER, SOFT, GRID, NIGHT, LAND, COAST)
#: What matplotlib draws in by itself, and what it is here.
_BY_ITSELF = {"#000000": INK, "#ffffff": PAPER}

SHADES = (*GROUNDS, *CHARGE_STEPS, *(shade for thing in THINGS for shade in thing.shades))
_BY_LIGHT = {shade.light.lower(): shade for shade in SHADES} | _BY_ITSELF
_ATTRIBUTE = re.compile(r'\b(fill|stroke)="(#[0-9a-fA-F]{6})"')
_HEX = re.compile(r"#[0-9a-fA-F]{6}\b")


def themed(svg: str) -> str:
    """A picture for the page: colours of the palette by their names, so that it can turn dark.

    Examples
    --------
    >>> themed('<path style="fill: #b27b00; stroke: #000000"/>')
    '<path style="fill: var(--sun); stroke: var(--ink)"/>'
    """
    return _HEX.sub(_named, _ATTRIBUTE.sub(r'style="\1: \2"', svg))


def _named(found: re.Match[str]) -> str:
    shade = _BY_LIGHT.get(found[0].lower())
    return found[0] if shade is None else f"var(--{shade.name})"


def style_sheet() -> str:
    """The colours by name: light ones, and dark ones where the reader's system asks for them.

    Paper is always light.
    """
    light, dark = (
        " ".join(f"--{shade.name}: {getattr(shade, side)};" for shade in SHADES)
        for side in ("light", "dark")
    )
    return (
        f":root {{ color-scheme: light dark; {light} }}\n"
        f"@media screen and (prefers-color-scheme: dark) {{ :root {{ {dark} }} }}\n"
    )
