"""Numbers of the summary as a page quotes them: rounded for the eye, whole for a program."""

from __future__ import annotations

import json

from powersim.report import rounding
from powersim.report.kinds import Band, Quantity, Words
from powersim.report.text import glued, held, printable

#: How a number is shown, by the unit that the template names.
FORMS = {
    "Ah": rounding.ah,
    "Wh": rounding.wh,
    "V": rounding.volts,
    "%": rounding.soc,
    "L": rounding.litres,
    "h": rounding.hours,
    "h min": rounding.hours_minutes,
    "days": rounding.days,
    "nm": rounding.miles,
    "plain": rounding.number,
    "min": lambda minutes: f"{rounding.number(minutes)} min",
}


def html_of(value):
    """What a page writes of a text, of words with quantities, or of a quantity.

    Parameters
    ----------
    value : object
        Whatever else there is stays as it is.

    Returns
    -------
    object
        A quantity that `summary.json` holds becomes a `data` element: text for the eye, `value`
        with all digits, `data-key` with its place.

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
    if not value.key:
        return glued(str(value))
    raw = value.value
    if isinstance(raw, Band):
        raw = {"p10": raw.low, "p50": raw.middle, "p90": raw.high}
    element = '<data value="{}" data-key="{}">{}</data>'
    return Markup(element).format(json.dumps(raw), value.key, glued(str(value)))


def quote(summary, key: str, form: str):
    """One number of the summary as HTML.

    Parameters
    ----------
    summary : dict
        As `summary.json` holds it.
    key : str
        Its place, dotted, such as "charge.lowest_soc" or "parts.0.days".
    form : str
        One of FORMS.

    Returns
    -------
    markupsafe.Markup
        A `data` element: text for the eye, `value` with all digits, `data-key` with its place.

    Raises
    ------
    KeyError
        If there is no such place.

    Examples
    --------
    >>> print(quote({"charge": {"lowest_soc": 0.5592}}, "charge.lowest_soc", "%"))
    <data value="0.5592" data-key="charge.lowest_soc">56 %</data>
    """
    from markupsafe import Markup

    value = looked_up(summary, key)
    element = '<data value="{}" data-key="{}">{}</data>'
    return Markup(element).format(json.dumps(value), key, FORMS[form](value))


def looked_up(summary, key: str):
    """What the summary holds at a place.

    Parameters
    ----------
    summary : dict
        As `summary.json` holds it.
    key : str
        Dotted; a number counts in a list.

    Returns
    -------
    object

    Raises
    ------
    KeyError
        If there is no such place.
    """
    found = summary
    for part in key.split("."):
        found = found[int(part)] if isinstance(found, list) else found[part]
    return found
