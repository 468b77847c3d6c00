"""A figure as a piece of an HTML page: names of its own, words for those who cannot see it."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING

from powersim.report.figures import save
from powersim.report.palette import themed

if TYPE_CHECKING:
    from markupsafe import Markup
    from matplotlib.axes import Axes

_METADATA = re.compile(r"<metadata>.*?</metadata>", re.DOTALL)
_STYLE = re.compile(r"<defs>\s*<style.*?</style>\s*</defs>", re.DOTALL)
_NAMED = re.compile(r'\bid="([^"]*)"')
_MEANT = re.compile(r'(url\(#|href="#)([^")]*)')
_VIEW = re.compile(r'viewBox="([^"]*)"')
#: An outline, and in it what is finer than a screen shows.
_OUTLINE, _FINE = re.compile(r'\bd="[^"]*"'), re.compile(r"(\d+\.\d\d)\d+")
_BLANKS = re.compile(r"\s*\n\s*")
#: One bar, or one night: its outline and its look.
_BAR = r'<g id="patch_\d+">\n<path d="([^"]*)" (clip-path="[^"]*" style="[^"]*")/>\n</g>\n'
_BARS = re.compile(f"(?:{_BAR})+")


def inline_svg(ax: Axes, *, name: str, title: str, description: str, kind: str = "") -> Markup:
    """A figure as an `svg` element for a page, without a date or anything from outside.

    Its colours are the page's, by their names in the palette.

    `name` stands before every name within the figure, so that two figures can share a page; `kind`
    is a class for the style sheet.
    """
    from markupsafe import Markup, escape

    file = io.StringIO()
    save(ax.figure, file, kind="svg", salt=name)
    text = file.getvalue()
    body = text[text.index("<svg") :]
    view = _VIEW.search(body)
    assert view is not None, "matplotlib writes one"
    body = body[body.index(">") + 1 : body.rindex("</svg>")]
    body = _BLANKS.sub("\n", _STYLE.sub("", _METADATA.sub("", body)))
    body = _BARS.sub(_as_one, _OUTLINE.sub(lambda found: _FINE.sub(r"\1", found[0]), body))
    body = _NAMED.sub(rf'id="{name}-\1"', body)
    body = _MEANT.sub(rf"\g<1>{name}-\2", body)
    shown = f' class="{kind}"' if kind else ""
    return Markup(
        f'<svg{shown} viewBox="{view[1]}" role="img" aria-labelledby="{name}-title {name}-desc">'
        f'<title id="{name}-title">{escape(title)}</title>'
        f'<desc id="{name}-desc">{escape(description)}</desc>'
        f"{themed(body)}</svg>"
    )


def _as_one(bars: re.Match[str]) -> str:
    """Bars of one look that follow each other as one outline.

    A browser that prints writes a hatch down anew for every outline that is filled with it.
    """
    outlines: dict[str, list[str]] = {}
    for outline, look in re.findall(_BAR, bars[0]):
        if look in outlines and look != next(reversed(outlines)):
            return bars[0]  # it comes back above others, and must stay there
        outlines.setdefault(look, [])
        outlines[look].append(outline)
    return "".join(f'<path d="{" ".join(parts)}" {look}/>\n' for look, parts in outlines.items())
