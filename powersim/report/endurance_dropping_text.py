"""What `endurance` prints of the loads: which costs the most days, and what dropping each gains."""

from __future__ import annotations

import math

from powersim.report import rounding
from powersim.report.text import join, paragraph, spanned, table
from powersim.simulation.bands import quantiles

#: What gains less than this in every column is named in a sentence, without a line. [days]
_LEAST_DAYS = 1.0 / 24.0


def dropping_text(dropping, *, in_weathers) -> str:
    """The order in which loads are worth dropping.

    Parameters
    ----------
    dropping : Dropping
        Of planning.dropping.
    in_weathers : bool
        Whether the gains are those of many weathers, of which the median is shown.

    Returns
    -------
    str
        At most 80 columns wide.
    """
    worth = [gain for gain in dropping.gains if _most_days(gain) >= _LEAST_DAYS]
    droppable = [gain for gain in worth if gain.group != "protected"]
    kept = [gain for gain in worth if gain.group == "protected"]
    small = [
        gain.load for gain in dropping.gains if gain not in worth and gain.group != "protected"
    ]
    return join(
        paragraph(_opening(worth, in_weathers=in_weathers)),
        _table(droppable, beside=dropping.beside),
        paragraph(_kept(kept)) if kept else "",
        paragraph(f"Less than an hour each: {', '.join(small)}.") if small and worth else "",
    )


def _opening(worth, *, in_weathers) -> str:
    if not worth:
        return (
            "No load costs as much as an hour: with all of them on, landfall comes first or "
            "nothing is left to gain."
        )
    first = worth[0]
    middle = " in the middle one of the weathers" if in_weathers else ""
    safety = "; it is there for safety and not to be dropped" if first.group == "protected" else ""
    return (
        f"The load that costs the most is {first.load}: without it the bank lasts "
        f"{gain_words(first.days_to_flat)} longer to flat with all charging lost{middle}{safety}. "
        "What leaving off each one gains, from the first hour on:"
        if math.isfinite(_middle(first.days_to_flat))
        else f"The load that costs the most is {first.load}: without it the bank lasts to "
        f"landfall with all charging lost{middle}{safety}. What leaving off each one gains, from "
        "the first hour on:"
    )


def _table(gains, *, beside) -> str:
    if not gains:
        return ""
    lines = table(
        [
            (
                gain.load,
                gain.group,
                rounding.ah(gain.charge_Ah_per_day),
                *map(
                    gain_words,
                    (
                        gain.days_to_floor,
                        gain.days_to_flat,
                        gain.beside_days_to_floor,
                        gain.beside_days_to_flat,
                    ),
                ),
            )
            for gain in gains
        ],
        aligns="llrrrrr",
        header=("load", "called", "a day", *("to floor", "to flat") * 2),
    )
    return spanned(lines, [("", 1), ("", 1), ("", 1), ("all charging lost", 2), (beside, 2)])


def _kept(gains) -> str:
    costs = ", ".join(f"{gain.load} ({gain_words(gain.days_to_flat)})" for gain in gains)
    return (
        f"Never to be dropped, whatever they cost to flat with all charging lost: {costs}. "
        "Navigation lights, VHF and bilge pump are what others see you by, hear you by, and what "
        "keeps you afloat."
    )


def _most_days(gain) -> float:
    return max(
        map(
            _middle,
            (
                gain.days_to_floor,
                gain.days_to_flat,
                gain.beside_days_to_floor,
                gain.beside_days_to_flat,
            ),
        )
    )


def _middle(days) -> float:
    return days if isinstance(days, float) else float(quantiles(days, (0.5,))[0])


def gain_words(days) -> str:
    """A gain in hours below a day, in days above, or as far as landfall.

    Parameters
    ----------
    days : float or ndarray, shape (members,)
        The middle of many is told. [days]

    Returns
    -------
    str

    Examples
    --------
    >>> gain_words(0.41), gain_words(2.345), gain_words(float("inf")), gain_words(0.0)
    ('10 h', '2.3 days', 'landfall', '–')
    """
    middle_days = _middle(days)
    if math.isinf(middle_days):
        return "landfall"
    if round(24.0 * middle_days) == 0:
        return rounding.UNKNOWN
    if middle_days < 1.0:
        return f"{24.0 * middle_days:.0f} h"
    return rounding.days(middle_days)
