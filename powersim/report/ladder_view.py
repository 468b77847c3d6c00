"""What to give up, in which order and at which charge: the answer of `ladder`, and of the card."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from powersim.planning.failures import WORKING
from powersim.planning.heard_by import heard_by
from powersim.planning.ports import next_port
from powersim.records import PROTECTED
from powersim.report import rounding
from powersim.report.changed_told import changed_sections
from powersim.report.kinds import (
    AH,
    COUNT,
    DAYS,
    LANDFALL,
    SHARE,
    Kind,
    Text,
    Words,
    count_of,
    joined,
    say,
)
from powersim.report.ladder_answer import answer
from powersim.report.ladder_charges import (
    NEVER,
    all_at_once_told,
    by_volts,
    charges_table,
    how_to_read,
)
from powersim.report.ladder_words import beside_the_bank, left_to_be_heard_by, what_it_costs
from powersim.report.view import Bullets, Column, Paragraph, Section, Table, Title
from powersim.simulation.bands import quantiles

if TYPE_CHECKING:
    from powersim.planning.ladder import Ladder
    from powersim.planning.ladder_kept import Kept
    from powersim.planning.ladder_steps import LadderStep

#: Evenings, in whole ones.
_EVENINGS = Kind(rounding.number, zero="none")


def ladder_underway(found: Ladder) -> list[Section]:
    """The answer from the last entry of the log on, in short.

    Parameters
    ----------
    found : Ladder
        Of planning.ladder, from the beginning of what is left.
    """
    lost = found.loss != WORKING
    title = "Were the engine lost now" if lost else "What to give up from here"
    when = "Were the engine lost now," if lost else "From here,"
    sections: list[Section] = [Title(title), Paragraph(answer(found, when=when))]
    if not found.holds:
        sections.append(Paragraph(_while_you_can(found)))
    if found.steps.worth and not found.needless:
        sections += [steps_table(found, costs=False), *_charges(found)]
    return sections


def _charges(found: Ladder) -> list[Section]:
    """At which charge each step is taken."""
    if found.all_at_once:
        return [Paragraph(all_at_once_told())]
    if found.never_asked:
        return []
    return [Paragraph(how_to_read(found)), charges_table(found)]


def ladder_sections(found: Ladder) -> list[Section]:
    """The whole answer, its first words the answer to the question.

    Parameters
    ----------
    found : Ladder
        Of planning.ladder.
    """
    sections: list[Section] = [*changed_sections(found.passage), Paragraph(answer(found))]
    sections.append(Paragraph(_without_it(found)))
    if not found.holds:
        sections.append(Paragraph(_while_you_can(found)))
    if (port := _port_on_the_way(found)) is not None:
        sections.append(Paragraph(port))
    if found.steps.worth:
        asked = not found.needless
        title = "What to give up, in this order" if asked else "What would come first"
        sections += [Title(title), steps_table(found, evenings=asked)]
        sections.append(Paragraph(_gains_meant(found)))
        if charges := _charges(found):
            sections += [Title("At which charge"), *charges]
    sections.append(Bullets(tuple(_notes(found))))
    return sections


def _without_it(found: Ladder) -> Words:
    """How it goes with nothing given up, by the ladder, and with all given up from the first."""
    floor = SHARE(found.passage.boat.battery.floor_soc)
    nothing, all_of_it = found.on_rung[0], found.on_rung[-1]
    parts: list[Text] = [say("with nothing given up {}", _fares(found, nothing))]
    if found.steps.worth and not found.needless:
        parts.append(say("by the ladder {}", _fares(found, found.by_ladder)))
        parts.append(
            say("with all of it given up from the first hour {}", _fares(found, all_of_it))
        )
    return say(
        "Of {} simulated passages, below the floor of {} and dark before landfall: {}.",
        *(COUNT(found.members), floor, joined(parts, "; ")),
    )


def _fares(found: Ladder, one: Kept) -> Words:
    count = count_of(found.members)
    return say("{} and {}", count(float(one.below_floor.mean())), count(float(one.dark.mean())))


def _while_you_can(found: Ladder) -> Words:
    """What to do where no ladder is enough."""
    left = heard_by(found.passage)
    by = " or ".join(f"the {name}" for name in left.anywhere)
    tell = f"Tell somebody ashore where you are and how you stand while {by} works. " if by else ""
    give_up = f"{'Then give' if by else 'Give'} up all of it at once. "
    return say(
        "{}{}Make for the nearest port that you can reach under sail. {}",
        tell,
        give_up if found.steps.worth and found.all_at_once else "",
        beside_the_bank(found.passage),
    )


def _port_on_the_way(found: Ladder) -> Words | None:
    track = found.prepared.track
    port = next_port(track, first=round(found.from_h / track.step_h))
    waypoints = found.passage.waypoints
    if port.waypoint >= len(waypoints) - 1 or not port.days:
        return None
    return say(
        "On the way: {}, {} after that moment. Put in there, and mend it: the sum goes on to the "
        "end of route.csv.",
        *(waypoints[port.waypoint].name, DAYS(port.days)),
    )


def steps_table(found: Ladder, *, costs: bool = True, evenings: bool = True) -> Table:
    """The steps in order, with what each gains and costs.

    Parameters
    ----------
    found : Ladder
        Of planning.ladder.
    costs, evenings : bool
        Whether to say what each costs in words, and for how many evenings it is given up.
    """
    gained = Kind(rounding.days, zero=NEVER, least=0.5 / 24.0, never=LANDFALL)
    rows = []
    for number, step in enumerate(found.steps.worth, start=1):
        without = quantiles(found.evenings(step), (0.5, 0.9)) if evenings else ()
        cells: list[Text] = [str(number), step_name(step)]
        if costs:
            cells.append(what_it_costs(step))
        rows.append(
            (
                *cells,
                AH(step.charge_Ah_per_day),
                gained(gained_days(found, number)),
                *(_EVENINGS(float(one)) for one in without),
            )
        )
    return Table(
        caption="What to give up, in this order",
        columns=(
            Column(""),
            Column("give up", words=True),
            *([Column("what that costs", words=True)] if costs else []),
            Column("a day"),
            Column("gains"),
            *(
                Column(head, over="evenings without")
                for head in ("median", "1 in 10\nabove")
                if evenings
            ),
        ),
        rows=tuple(rows),
    )


def step_name(step: LadderStep) -> str:
    """What is given up, in a few words.

    Parameters
    ----------
    step : LadderStep
        Of planning.ladder_steps.
    """
    if step.halved:
        assert step.load.session is not None, "sessions are halved"
        often = step.load.session.per_day
        return f"{step.load.name}, {often / 2:g} a day in place of {often:g}"
    if step.kept_for:
        return f"{step.load.name}, but for the {' and the '.join(step.kept_for)}"
    return step.load.name


def gained_days(found: Ladder, number: int) -> float:
    """How much longer the bank alone lasts with one more step, in the median. [days]

    Parameters
    ----------
    found : Ladder
        Of planning.ladder.
    number : int
        The step, counted from 1.
    """
    before, after = (
        float(quantiles(found.alone_days[rung], (0.5,))[0]) for rung in (number - 1, number)
    )
    return 0.0 if math.isinf(before) else after - before


def _gains_meant(found: Ladder) -> Words:
    nothing, all_of_it = (float(quantiles(found.alone_days[rung], (0.5,))[0]) for rung in (0, -1))
    lasts = Kind(rounding.days, never="to landfall")
    return say(
        "Gains: by how much longer the bank alone lasts until all is dark, if nothing charged it "
        "any more: {} with nothing given up, {} with all of it.{}",
        *(lasts(nothing), lasts(all_of_it)),
        "" if found.needless else " Evenings without: by the charges below, to landfall.",
    )


def _notes(found: Ladder) -> Iterator[Text]:
    left = heard_by(found.bare)
    yield say("With all of it given up, seen and heard by: {}.", left_to_be_heard_by(left))
    if found.steps.little:
        yield say(
            "Not worth giving up, they take next to nothing: {}.",
            ", ".join(step.load.name for step in found.steps.little),
        )
    yield f"Never given up: {PROTECTED}."
    if found.steps.worth:
        yield (
            "Comfort and useful loads are given up for the floor, essential ones only so that not "
            "everything goes dark. Where your own order is another, change the priority in "
            "loads.csv."
        )
    if not (found.needless or found.never_asked or found.all_at_once):
        yield (
            "The charges rise and fall from row to row: what counts is the sun, the nights and the "
            "stops of the days ahead, and not only how far it still is."
        )
    if found.passage.boat.battery.traits.mute_soc and by_volts(found):
        yield "Volts tell little of this kind of bank: a counter would tell far more."
    for note in found.notes:
        yield f"{note[:1].upper()}{note[1:]}."
    yield "A forecast is no promise: an evening earlier costs little, an evening late may cost all."
