"""What `endurance` prints of the loads: which costs the most days, and what dropping each gains."""

from __future__ import annotations

import math

from powersim.planning.failures import NO_CHARGING
from powersim.report import rounding
from powersim.report.text import join, paragraph, spanned, table
from powersim.simulation.bands import quantiles

PROTECTED = "protected"
#: What gains less than this in every column is named in a sentence, without a line. [days]
_LEAST_DAYS = 1.0 / 24.0


def dropping_text(dropping, *, end, in_weathers) -> str:
    """The order in which loads are worth dropping.

    Parameters
    ----------
    dropping : Dropping
        Of planning.dropping.
    end : str
        What comes first where a bank lasts to the end, such as "landfall".
    in_weathers : bool
        Whether the gains are those of many weathers, of which the median is shown.

    Returns
    -------
    str
        At most 80 columns wide.
    """
    worth = [gain for gain in dropping.gains if max(_gains_days(gain)) >= _LEAST_DAYS]
    droppable = [gain for gain in worth if gain.group != PROTECTED]
    kept = [gain for gain in worth if gain.group == PROTECTED]
    small = [gain.load for gain in dropping.gains if gain not in worth and gain.group != PROTECTED]
    if not worth:
        return paragraph(
            "None costs as much as an hour: with all of them on the bank lasts to "
            f"{end}, or is dark at once."
        )
    return join(
        paragraph(_opening(worth[0], end=end, in_weathers=in_weathers)),
        _table(droppable, beside=dropping.beside, end=end),
        paragraph(_kept(kept, end=end)) if kept else "",
        paragraph(f"Less than an hour each: {', '.join(small)}.") if small else "",
    )


def _opening(first, *, end, in_weathers) -> str:
    gain = gain_words(_gains_days(first)[1], end=end)
    lasts = f"as far as {end}" if gain == end else f"{gain} longer to flat"
    middle = ", in the middle one of the weathers" if in_weathers else ""
    safety = " It is there for safety, and not to be dropped." if first.group == PROTECTED else ""
    return (
        f"The load that costs the most: {first.load}. Without it, and with all charging lost, the "
        f"bank lasts {lasts}{middle}.{safety} What leaving each one off gains, from the first "
        "hour on:"
    )


def _table(gains, *, beside, end) -> str:
    if not gains:
        return ""
    rows = [
        (
            gain.load,
            gain.group,
            rounding.ah(gain.charge_Ah_per_day),
            *(gain_words(days, end=end) for days in _gains_days(gain)),
        )
        for gain in gains
    ]
    heads = ("load", "called", "a day", *("to floor", "to flat") * 2)
    spans = [("", 1), ("", 1), ("", 1), (NO_CHARGING, 2), (beside, 2)]
    return spanned(table(rows, aligns="llrrrrr", header=heads), spans)


def _kept(gains, *, end) -> str:
    costs = ", ".join(f"{one.load} ({_cost(_gains_days(one)[1], end=end)})" for one in gains)
    return (
        f"Never to be dropped, whatever they cost to flat with all charging lost: {costs}. "
        "Lights show you to others, AIS or radar shows others to you, VHF calls them, and the "
        "bilge pump keeps you afloat."
    )


def _cost(time_days, *, end) -> str:
    cost = gain_words(time_days, end=end)
    return "less than an hour" if cost == rounding.UNKNOWN else cost


def _gains_days(gain) -> list[float]:
    """The four gains of a load, of weathers the medians. [days]"""
    all_days = (
        gain.days_to_floor,
        gain.days_to_flat,
        gain.beside_days_to_floor,
        gain.beside_days_to_flat,
    )
    return [_middle(days) for days in all_days]


def _middle(days) -> float:
    return days if isinstance(days, float) else float(quantiles(days, (0.5,))[0])


def gain_words(days, *, end="landfall") -> str:
    """A gain in hours or days, or as far as the end.

    Parameters
    ----------
    days : float or ndarray, shape (members,)
        Of weathers the median is told. [days]
    end : str
        What stands for an infinite gain.

    Returns
    -------
    str

    Examples
    --------
    >>> gain_words(0.41), gain_words(2.345), gain_words(0.01), gain_words(float("inf"))
    ('10 h', '2.3 days', '–', 'landfall')
    """
    time_days = _middle(days)
    if math.isinf(time_days):
        return end
    if round(24.0 * time_days) == 0:
        return rounding.UNKNOWN
    return rounding.days(time_days)
