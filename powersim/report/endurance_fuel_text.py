"""What `endurance` prints of the diesel: how long it lasts, and on a passage half as long again."""

from __future__ import annotations

import math

from powersim.report import rounding
from powersim.report.ensemble_text import in_weathers as told
from powersim.report.text import join, paragraph, spanned, table
from powersim.simulation.bands import chance_of, quantiles

#: Line of the table, field of FuelCourse or its pace, and whether more of it is worse.
_AMOUNTS = (
    ("can be burnt", "usable_L", False),
    ("motoring to landfall", "motoring_L", True),
    ("heaters", "heater_L", True),
    ("left for charging, reserve kept", "for_charging_L", False),
)
_PACES = (
    ("- at the mean of the way", "mean"),
    ("- as in the hungriest week", "hungriest"),
    ("- with sun and the rest lost", "no_sun"),
)
_RULE = (
    ("charging, by the boat's rule", "charging_L", True),
    ("left at landfall", "left_L", False),
)
DARK = "goes dark"
HEADS = ("as planned", "half as long again")
#: Shares of the weathers that are shown: half of them, and one in ten that has it worse.
_HALF, _TENTH = 0.5, 0.1


def fuel_text(found, fuel: str) -> str:
    """How many days of charging the fuel lasts, as planned and at length.

    Parameters
    ----------
    found : EnduranceTable
        Of planning.endurance, of a boat with an engine.
    fuel : str
        What the engine burns.

    Returns
    -------
    str
        At most 80 columns wide.
    """
    in_weathers, rows, heads = found.seed is not None, fuel_rows(found), HEADS
    if in_weathers:
        lines = table(rows, aligns="lrrrr", header=("", *("half", "1 in 10") * 2))
        lines = spanned(lines, [("", 1), (heads[0], 2), (heads[1], 2)])
    else:
        lines = table(rows, aligns="lrr", header=("", *heads))
    return join(
        lines,
        paragraph(" ".join(fuel_sentences(found, fuel))),
        paragraph(_meaning(in_weathers=in_weathers)),
    )


def fuel_rows(found) -> list[tuple[str, ...]]:
    """The table of the fuel, without its heads.

    Parameters
    ----------
    found : EnduranceTable
        Of planning.endurance, of a boat with an engine.

    Returns
    -------
    list of tuple of str
        What, then as planned and at length; in weathers each for half of them and for 1 in 10.
    """
    courses, in_weathers = found.fuel, found.seed is not None
    cells = _cells_in_weathers if in_weathers else _cells
    rows = [("days to landfall", *_wide(courses, in_weathers))]
    rows += [_amount_row(courses, *amount, cells=cells) for amount in _AMOUNTS]
    rows.append(("which charges for", *[""] * (len(rows[0]) - 1)))
    rows += [
        (name, *(cell for one in courses for cell in cells(one.days_of(pace), _days_text, False)))
        for name, pace in _PACES
    ]
    return rows + [_amount_row(courses, *amount, cells=cells) for amount in _RULE]


def fuel_sentences(found, fuel: str) -> list[str]:
    """Whether the fuel is enough, as planned and at length.

    Parameters
    ----------
    found : EnduranceTable
        Of planning.endurance, of a boat with an engine.
    fuel : str
        What the engine burns.

    Returns
    -------
    list of str
    """
    told = [_sentence(one, fuel, in_weathers=found.seed is not None) for one in found.fuel]
    if any(DARK in cell for row in fuel_rows(found) for cell in row):
        told.append(
            f"Goes dark: by the boat's rule the engine does not keep the bank up, however much "
            f"{fuel} there is; 'powersim plan' looks for a rule that does."
        )
    return told


def _wide(courses, in_weathers) -> list[str]:
    days = [rounding.days(one.days_to_landfall) for one in courses]
    return [cell for one in days for cell in ((one, one) if in_weathers else (one,))]


def _amount_row(courses, name, field, more_is_worse, *, cells):
    values = (getattr(one, field) for one in courses)
    return (name, *(cell for one in values for cell in cells(one, rounding.litres, more_is_worse)))


def _cells(value, text, more_is_worse) -> tuple[str]:
    return (text(value),)


def _cells_in_weathers(values, text, more_is_worse) -> tuple[str, str]:
    shares = (_HALF, 1.0 - _TENTH if more_is_worse else _TENTH)
    return tuple(text(value) for value in quantiles(values, shares))


def _days_text(days) -> str:
    if math.isinf(days):
        return "no need to" if days > 0.0 else DARK
    return rounding.days(days)


def _sentence(course, fuel, *, in_weathers) -> str:
    """Whether the fuel is enough on one course."""
    way = "As planned" if course.factor == 1.0 else "With every leg half as long again"
    short, eaten = course.left_L < 0.0, course.left_L < course.reserve_L
    reserve = f"the reserve of {rounding.litres(course.reserve_L)}"
    if in_weathers:
        often, seldom = (chance_of(happened).frac for happened in (eaten, short))
        if not often:
            return f"{way}, {reserve} is untouched in all of the weathers."
        dry = f", and the {fuel} runs out {told(seldom)}" if seldom else ""
        return f"{way}, {reserve} is eaten into {told(often)} weathers{dry}."
    if short:
        return f"{way}, the {fuel} is {rounding.litres(-course.left_L)} short."
    if eaten:
        return f"{way}, {rounding.litres(course.reserve_L - course.left_L)} of {reserve} are eaten."
    return f"{way}, {reserve} is untouched."


def _meaning(*, in_weathers) -> str:
    tenth = " 1 in 10: it is as bad or worse in 1 weather of 10." if in_weathers else ""
    return (
        "Half as long again: every leg takes half as long again from here, stops do not; calms "
        "are motored as route.csv says, so more of them. Litres are what is wanted, were there "
        "enough." + tenth
    )
