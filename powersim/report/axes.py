"""What the pictures share: colours that the colour-blind tell apart, and dates along the bottom."""

from __future__ import annotations

import warnings
from contextlib import contextmanager
from datetime import datetime
from typing import TYPE_CHECKING

from powersim.report import when_where
from powersim.report.text import shortened

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matplotlib.axes import Axes

# Okabe and Ito, Color Universal Design, jfly.uni-koeln.de/color, 2008.
BLACK = "#000000"
ORANGE = "#E69F00"
SKY = "#56B4E9"
GREEN = "#009E73"
YELLOW = "#F0E442"
BLUE = "#0072B2"
VERMILION = "#D55E00"
PURPLE = "#CC79A7"
GREY = "#999999"

FIGURE_INCHES = (10.0, 5.0)
_MOST_DATES = 9
_LONGEST_TITLE = 90  # characters
_SHORT_DAYS = 3.0  # below it, hours are written too [days]


@contextmanager
def any_script() -> Iterator[None]:
    """While words are measured or drawn: a letter that the font lacks is a box, and that is all."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        yield


def new_axes() -> Axes:
    """Axes in a figure of their own, outside of any global state."""
    from matplotlib.figure import Figure

    return Figure(figsize=FIGURE_INCHES, layout="constrained").subplots()


def entitle(ax: Axes, text: str) -> None:
    """A title at the left, as it is typed, on one line."""
    line = shortened(text, _LONGEST_TITLE)
    # A "$" in a name is no formula.
    ax.set_title(line, loc="left", parse_math=False)


def dates_along(ax: Axes, first: datetime, last: datetime, *, name: str = "date (UTC)") -> None:
    """Few dates along the bottom, each at midnight."""
    from matplotlib.dates import DayLocator, HourLocator

    days = (last - first).total_seconds() / 86400.0
    if days < _SHORT_DAYS:
        ax.xaxis.set_major_locator(HourLocator(byhour=(0, 6, 12, 18)))
        ax.xaxis.set_major_formatter(_hour)
    else:
        every = max(1, -(-round(days) // _MOST_DATES))
        ax.xaxis.set_major_locator(DayLocator(interval=every))
        ax.xaxis.set_major_formatter(_date)
    ax.set_xlabel(name)


def _date(place: float, _=None) -> str:
    """5 Sep, whatever language the machine speaks."""
    from matplotlib.dates import num2date

    return when_where.short_date(num2date(place))


def _hour(place: float, _=None) -> str:
    from matplotlib.dates import num2date

    return when_where.ship_time(num2date(place))[len("Sat ") :]
