"""What the card says of what to give up: the steps in order, and at which charge, each evening."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from powersim.planning.failures import WORKING
from powersim.report.kinds import COUNT, DAYS, Text, count_of, say
from powersim.report.ladder_answer import stays_on
from powersim.report.ladder_charges import all_at_once_told, charges_table, how_to_read
from powersim.report.ladder_view import steps_table

if TYPE_CHECKING:
    from powersim.planning.ladder import Ladder
    from powersim.report.view import Table


@dataclass(frozen=True, slots=True, kw_only=True)
class CardLadder:
    """A small table for the evenings after something is lost.

    Attributes
    ----------
    heading : str
        What is lost.
    told : Text
        How it goes by the table, from departure on.
    steps : Table
        What is given up, in order.
    how : Text
        How the table is kept.
    charges : Table or None
        At which charge; None where all is given up at once.
    """

    heading: str
    told: Text
    steps: Table
    how: Text
    charges: Table | None


def card_ladder(found: Ladder | None) -> CardLadder | None:
    """The ladder as it stands on the card; None where a passage has no use for it.

    Parameters
    ----------
    found : Ladder or None
        From departure on; None where it was not asked for.
    """
    if found is None or found.needless or not found.steps.worth or found.never_asked:
        return None
    lost = "" if found.loss == WORKING else f"{found.loss[:1].upper()}{found.loss[1:]}: "
    return CardLadder(
        heading=f"{lost}what to give up, each evening",
        told=_told(found),
        steps=steps_table(found, costs=False, evenings=False),
        how=all_at_once_told() if found.all_at_once else how_to_read(found),
        charges=None if found.all_at_once else charges_table(found),
    )


def _told(found: Ladder) -> Text:
    count = count_of(found.members)
    since = "from departure on" if found.loss == WORKING else f"{found.loss} at departure"
    if found.holds:
        return say(
            "{}, {} of {} simulated passages are {} to landfall by this; with nothing given up {}.",
            f"{since[:1].upper()}{since[1:]}",
            *(count(1.0 - float(found.by_ladder.dark.mean())), COUNT(found.members)),
            *(stays_on(found), count(1.0 - float(found.on_rung[0].dark.mean()))),
        )
    first_days = float(found.by_ladder.flat_days.min())
    return say(
        "{} it is NOT enough: {} of {} simulated passages go dark all the same, the first "
        "after {}. Lost later it may be: 'powersim ladder' tells.",
        f"{since[:1].upper()}{since[1:]}",
        *(count(float(found.by_ladder.dark.mean())), COUNT(found.members), DAYS(first_days)),
    )
