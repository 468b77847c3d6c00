"""What a page writes of a quantity: rounded for the eye, whole for a program."""

from __future__ import annotations

import json
import re
from typing import Any

from powersim.report.kinds import Band, Kind, Quantity, Words
from powersim.report.text import glued, held, printable

#: A word longer than this may be broken in a cell: after what joins its parts, or anywhere in one
#: that has no such places. [characters]
_LONG_WORD = 16
_PIECE = re.compile(r"[^._/,-]{1,16}[._/,-]*|[._/,-]+")
_BLANKS = re.compile(r"(\s+)")


def quoted(summary: dict, key: str, kind: Kind) -> Quantity:
    """What the summary holds at a place, of many simulated passages as a band.

    The place is dotted, as "charge.lowest_soc" or "parts.0.days"; KeyError if there is none.
    """
    value = looked_up(summary, key)
    if isinstance(value, dict):
        value = Band(value["p50"], value["p10"], value["p90"])
    return kind(value, key)


def html_of(value: object) -> object:
    """What a page writes of a text, of words with quantities, or of a quantity.

    A quantity that `summary.json` holds becomes a `data` element: text for the eye, `value` with
    all digits, `data-key` with its place.

    Examples
    --------
    >>> from powersim.report.kinds import SHARE, say
    >>> print(html_of(say("<b> at {}", SHARE(0.5592, "charge.lowest_soc"))))
    &lt;b&gt; at <data value="0.5592" data-key="charge.lowest_soc">56\xa0%</data>
    """
    from markupsafe import Markup, escape

    if type(value) is str:
        return printable(value)
    if isinstance(value, Words):
        return escape(held(value.template)).format(*map(html_of, value.parts))
    if not isinstance(value, Quantity):
        return value
    if isinstance(value.value, Band):
        return html_of(value.spread())
    if not value.key:
        return glued(str(value))
    element = '<data value="{}" data-key="{}">{}</data>'
    return Markup(element).format(json.dumps(value.value), value.key, glued(str(value)))


def breakable(value: object) -> object:
    """What a cell of a table writes: as `html_of`, a long word with places where it may be broken.

    Examples
    --------
    >>> print(breakable("engine.charges_flat_bank"))
    engine.<wbr>charges_<wbr>flat_<wbr>bank
    >>> print(breakable("a tiller pilot & a light"))
    a tiller pilot & a light
    """
    from markupsafe import Markup, escape

    if not isinstance(value, str) or max(map(len, value.split()), default=0) <= _LONG_WORD:
        return value
    words = [
        Markup("<wbr>").join(map(escape, _PIECE.findall(word))) if len(word) > _LONG_WORD else word
        for word in _BLANKS.split(printable(value))
    ]
    return Markup("").join(words)


def looked_up(summary: dict, key: str) -> Any:
    """What the summary holds at a dotted place, in which a number counts in a list.

    KeyError if there is no such place.
    """
    found: Any = summary
    for part in key.split("."):
        found = found[int(part)] if isinstance(found, list) else found[part]
    return found
