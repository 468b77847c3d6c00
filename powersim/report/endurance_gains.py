"""Which load costs the most days, and what leaving each off gains."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from powersim.planning.failures import NO_CHARGING
from powersim.report import rounding
from powersim.report.kinds import AH, Kind, joined, say
from powersim.report.view import Column, Paragraph, Section, Table
from powersim.simulation.bands import quantiles

if TYPE_CHECKING:
    from powersim.planning.dropping import Dropping

#: The group of loads that are never left off.
PROTECTED_GROUP = "protected"
#: What gains less than this in every column is named in a sentence, without a line. [days]
_LEAST_DAYS = 1.0 / 24.0
#: Above this it rounds to an hour. [days]
_HALF_AN_HOUR_DAYS = 0.5 / 24.0


def gains_sections(dropping: Dropping, *, end: str) -> Iterator[Section]:
    """The order in which loads are worth leaving off; of many passages the median gain.

    `end` is what comes first where a bank lasts to the end, such as "landfall".
    """
    gain = Kind(rounding.days, zero=rounding.UNKNOWN, least=_HALF_AN_HOUR_DAYS, never=end)
    cost = Kind(rounding.days, zero="less than an hour", least=_HALF_AN_HOUR_DAYS, never=end)
    worth = [one for one in dropping.gains if max(_gains_days(one)) >= _LEAST_DAYS]
    if not worth:
        yield Paragraph(
            f"None costs as much as an hour: with all of them on the bank lasts to {end}, or is "
            "dark at once."
        )
        return
    yield Paragraph(_opening(worth[0], gain, end=end, passages=dropping.passages))
    droppable = [one for one in worth if one.group != PROTECTED_GROUP]
    if droppable:
        yield _table(droppable, gain, beside=dropping.beside)
    kept = [one for one in worth if one.group == PROTECTED_GROUP]
    if kept:
        yield Paragraph(_kept(kept, cost))
    little = [one for one in dropping.gains if one not in worth and one.group != PROTECTED_GROUP]
    if little:
        yield Paragraph(f"Less than an hour each: {', '.join(one.load for one in little)}.")


def _opening(first, gain, *, end, passages):
    days = gain(_gains_days(first)[1])
    lasts = say("to {}", end) if str(days) == end else say("{} longer to flat", days)
    middle = f", by the median of the first {passages} simulated passages" if passages > 1 else ""
    safety = ""
    if first.group == PROTECTED_GROUP:
        safety = " It is there for safety, and not to be left off."
    return say(
        "The load that costs the most: {}. Without it, and with all charging lost, the bank lasts "
        "{}{}.{} What leaving each one off gains, from the first hour on:",
        *(first.load, lasts, middle, safety),
    )


def _table(gains, gain, *, beside):
    """With all charging lost, and with only the milder loss beside it."""
    return Table(
        caption="What leaving a load off gains",
        columns=(
            Column("load", words=True),
            Column("priority", words=True),
            Column("a day"),
            *(Column(head, over=NO_CHARGING) for head in ("to floor", "to flat")),
            *(Column(head, over=beside) for head in ("to floor", "to flat")),
        ),
        rows=tuple(
            (one.load, one.group, AH(one.charge_Ah_per_day), *map(gain, _gains_days(one)))
            for one in gains
        ),
    )


def _kept(gains, cost):
    costs = joined((say("{} ({})", one.load, cost(_gains_days(one)[1])) for one in gains), ", ")
    return say(
        "Never to be left off, whatever they cost to flat with all charging lost: {}. Lights show "
        "you to others, AIS or radar shows others to you, VHF calls them, and the bilge pump keeps "
        "you afloat.",
        costs,
    )


def _gains_days(gain) -> list[float]:
    """The four gains of a load, of many passages the medians. [days]"""
    all_days = (
        gain.days_to_floor,
        gain.days_to_flat,
        gain.beside_days_to_floor,
        gain.beside_days_to_flat,
    )
    return [
        days if isinstance(days, float) else float(quantiles(days, (0.5,))[0]) for days in all_days
    ]
