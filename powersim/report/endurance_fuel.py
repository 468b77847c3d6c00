"""How long the fuel lasts for charging, as planned and on a passage half as long again."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from powersim.records.units_aboard import aboard
from powersim.report import rounding
from powersim.report.kinds import (
    DAYS,
    KNOTS,
    LITRES,
    Kind,
    count_of,
    joined,
    of_passages,
    quantities_in,
    say,
    verb,
)
from powersim.report.view import Column, Paragraph, Section, Table, Text
from powersim.simulation.bands import chance_of, quantiles

if TYPE_CHECKING:
    from powersim.planning.endurance_table import EnduranceTable

#: Line of the table, field of FuelCourse, and whether more of it is worse.
_BEFORE = (
    ("can be burnt", "usable_L", False),
    ("motoring to landfall", "motoring_L", True),
    ("heaters", "heater_L", True),
    ("left for charging, reserve kept", "for_charging_L", False),
)
#: Line of the table, and pace.
_PACES = (
    ("- at the passage's average", "mean"),
    ("- as in the costliest week", "hungriest"),
    ("- with sun and the rest lost", "no_sun"),
)
_BY_THE_RULE = (
    ("charging, by the boat's rule", "charging_L", True),
    ("left at landfall", "left_L", False),
)
_DARK = "goes dark"
_CHARGING = Kind(rounding.days, never="not needed", always=_DARK)
_COURSES = ("as planned", "half as long again")
_HEADS = ("median", "1 in 10\nworse")
#: Shares of the simulated passages that are shown: half of them, and one in ten that has it worse.
_HALF, _TENTH = 0.5, 0.1


def fuel_sections(
    found: EnduranceTable, fuel: str, *, calm_below_kn: float | None
) -> Iterator[Section]:
    """How many days of charging the fuel of a boat with an engine lasts.

    `calm_below_kn` is None where no calm is motored.
    """
    passages = found.passages
    heads = _HEADS if passages > 1 else ("",)
    table = Table(
        caption=f"{aboard().volume.heading}, and days of charging",
        columns=(
            Column("what", words=True),
            *(
                Column(head or course, over=course if head else "")
                for course in _COURSES
                for head in heads
            ),
        ),
        rows=tuple(_rows(found.fuel, passages)),
    )
    yield table
    told: list[Text] = [_enough(course, fuel, passages) for course in found.fuel]
    if any(str(one) == _DARK for row in table.rows for cell in row for one in quantities_in(cell)):
        told.append(
            "Goes dark: by the boat's rule the engine does not keep the bank up, however much "
            f"{fuel} there is; 'powersim plan' looks for a rule that does."
        )
    yield Paragraph(joined(told))
    calms: Text = ""
    if calm_below_kn is not None:
        calms = say(
            "; calms, below {}, are motored as route.csv says, so more of them",
            KNOTS(calm_below_kn, "passage.calm_below_kn"),
        )
    yield Paragraph(
        say(
            "Half as long again: every leg takes half as long again from here, stops do not{}. "
            "{} are what she needs, as if there were always enough.",
            *(calms, aboard().volume.heading),
        )
    )


def _rows(courses, passages):
    def row(name, kind, values, *, more_is_worse=False):
        if passages == 1:
            return name, *map(kind, values)
        shares = (_HALF, 1.0 - _TENTH if more_is_worse else _TENTH)
        return name, *(kind(float(one)) for each in values for one in quantiles(each, shares))

    def amount(name, field, more_is_worse):
        values = [getattr(course, field) for course in courses]
        return row(name, LITRES, values, more_is_worse=more_is_worse)

    columns = len(courses) * (1 if passages == 1 else 2)
    landfall = [DAYS(course.days_to_landfall) for course in courses]
    yield "days to landfall", *(one for one in landfall for _ in range(columns // len(courses)))
    yield from (amount(*each) for each in _BEFORE)
    yield "which charges for", *[""] * columns
    yield from (
        row(name, _CHARGING, [one.days_of(pace) for one in courses]) for name, pace in _PACES
    )
    yield from (amount(*each) for each in _BY_THE_RULE)


def _enough(course, fuel, passages):
    """Whether the fuel is enough on one course."""
    way = "As planned" if course.factor == 1.0 else "With every leg half as long again"
    reserve = say("the reserve of {}", LITRES(course.reserve_L))
    short, eaten = course.left_L < 0.0, course.left_L < course.reserve_L
    if passages > 1:
        often, seldom = (chance_of(happened).frac for happened in (eaten, short))
        told = of_passages(passages, often, "eats into", "eat into")
        dry = count_of(passages)(seldom)
        ends = say(", and {} {} out of {}", dry, verb(dry, "runs", "run"), fuel) if seldom else ""
        return say("{}, {} {}{}.", way, told, reserve, ends)
    if short:
        return say("{}, the {} is {} short.", way, fuel, LITRES(-course.left_L))
    if eaten:
        return say("{}, {} of {} are used.", way, LITRES(course.reserve_L - course.left_L), reserve)
    return say("{}, {} is untouched.", way, reserve)
