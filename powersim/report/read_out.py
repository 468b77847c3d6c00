"""A picture that is read moment by moment, by pointer, finger or keyboard, without any script.

Over the picture lie radio buttons that cannot be seen, one for each moment. A browser moves among
them with the arrow keys by itself, and a screen reader says the words of the one that is reached.
So the page's policy may go on forbidding every script, and the picture answers where none are run:
in a mail's preview on a phone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from powersim.report.text import glued

if TYPE_CHECKING:
    from markupsafe import Markup
    from matplotlib.axes import Axes


#: Letters that fit on a line of words: on the narrowest of broad screens, and on a phone.
_BROAD, _NARROW = 72, 33


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """A part of a picture's width that tells something.

    Attributes
    ----------
    start, end : float
        From and to, in the data of the axis along the bottom.
    words : str
        What it tells.
    """

    start: float
    end: float
    words: str


def read_out(
    pictures: Markup,
    drawn: Mapping[str, Axes],
    strips: Sequence[Strip],
    *,
    name: str,
    legend: str,
    first: int,
) -> Markup:
    """A picture with radio buttons over it, and the words of each below.

    Parameters
    ----------
    pictures : Markup
        The picture in one width or several, of which the style sheet shows one.
    drawn : dict
        The axes that the strips lie over, saved already, by a prefix for the style sheet: the same
        picture may be there in several widths, with the same data along the bottom.
    strips : sequence of Strip
        In order.
    name : str
        Of the group.
    legend : str
        What the group is, for a screen reader.
    first : int
        Which of the strips is chosen to begin with.

    Returns
    -------
    Markup
        All of it, with room for the longest words.
    """
    from markupsafe import Markup, escape

    longest = max(len(strip.words) for strip in strips)
    lines = {"lines": _BROAD, "narrow-lines": _NARROW}
    room = ";".join(f"--{key}:{-(-longest // letters)}" for key, letters in lines.items())
    inside = ";".join(
        f"--{prefix}{edge}:{share:.3%}"
        for prefix, ax in drawn.items()
        for edge, share in _frame(ax).items()
    )
    low, high = next(iter(drawn.values())).get_xlim()
    buttons = []
    for place, strip in enumerate(strips):
        at, part = (strip.start - low) / (high - low), (strip.end - strip.start) / (high - low)
        buttons.append(
            f'<label><input type="radio" name="{name}-at" style="--at:{at:.4f};--part:{part:.4f}"'
            f"{' checked' if place == first else ''}>"
            f"<span>{escape(glued(strip.words))}</span></label>"
        )
    return Markup(
        f'<div class="plot" style="{inside};{room}">\n{pictures}\n'
        f'<fieldset class="told"><legend>{escape(legend)}</legend>\n'
        + "\n".join(buttons)
        + "\n</fieldset>\n</div>"
    )


def _frame(ax: Axes) -> dict[str, float]:
    """Where axes lie within their picture, from its upper left; shares of its width and height."""
    box = ax.get_position()
    return {"left": box.x0, "across": box.width, "top": 1.0 - box.y1, "high": box.height}
