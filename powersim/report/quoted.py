"""Numbers of the summary as a page quotes them: rounded for the eye, whole for a program."""

from __future__ import annotations

import json

from powersim.report import rounding

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
