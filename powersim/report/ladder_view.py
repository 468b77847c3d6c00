"""What to give up, in which order and at which charge: the answer of `ladder`, and of the card."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from powersim.planning.failures import WORKING
from powersim.planning.heard_by import heard_by
from powersim.planning.ladder_rungs import READ_AT_h
from powersim.planning.ladder_table import ROOM_SOC
from powersim.planning.ports import next_port
from powersim.records import PROTECTED, STATES
from powersim.report import rounding
from powersim.report.changed_told import changed_sections
from powersim.report.endurance_view import band_of
from powersim.report.kinds import (
    AH,
    COUNT,
    DAYS,
    LANDFALL,
    MOMENT,
    SHARE,
    SHORT_DATE,
    Kind,
    Text,
    Words,
    count_of,
    joined,
    say,
)
from powersim.report.ladder_words import beside_the_bank, left_to_be_heard_by, what_it_costs
from powersim.report.view import Bullets, Column, Paragraph, Section, Table, Title
from powersim.simulation.bands import quantiles
from powersim.simulation.reading import told_V

if TYPE_CHECKING:
    from powersim.planning.ladder import Ladder
    from powersim.planning.ladder_kept import Kept
    from powersim.planning.ladder_steps import LadderStep
    from powersim.records.arrays import Array

#: Under a head that has the unit.
_BARE_PERCENT = Kind(lambda soc: rounding.number(100.0 * soc))
_BARE_VOLTS = Kind(lambda volts_V: rounding.number(volts_V, decimals=2))
#: Evenings, in whole ones.
_EVENINGS = Kind(rounding.number, zero="none")
_IN_PORT = frozenset(state.name for state in STATES.values() if not state.under_way)
_ALL_AT_ONCE = (
    "Give up all of it at once, whatever the bank reads: no charge was found at which one of these "
    "may stay on."
)
_BELOW = "give up step, if you read less {} than"
_ALWAYS, _NEVER = "always", "–"


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


def all_at_once_told() -> str:
    """What is said where no charge is high enough for any of the loads."""
    return _ALL_AT_ONCE


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


def answer(found: Ladder, *, when: str = "") -> Words:
    """The answer in one or two sentences.

    Parameters
    ----------
    found : Ladder
        Of planning.ladder.
    when : str
        What it opens with; what is lost and when, if left out.
    """
    opening = say("{} with {} in the bank:", when or _when(found), SHARE(band_of(found.soc)))
    if found.needless:
        on = ~found.on_rung[0].below_floor
        return say(
            "{} nothing need be given up. With all loads on, {} to landfall, {} on, above the "
            "floor of {} in {}.",
            *(opening, stays_on(found), DAYS(found.to_landfall_days)),
            *(SHARE(found.passage.boat.battery.floor_soc), _of(found, on.mean())),
        )
    if not found.holds:
        even = "even with all of this given up" if found.steps.worth else "with nothing to give up"
        return say(
            "{} NOT {} to landfall, {} on, {}: {} of {} simulated passages go dark. {}",
            *(opening, stays_on(found), DAYS(found.to_landfall_days), even),
            *(count_of(found.members)(float(found.by_ladder.dark.mean())), COUNT(found.members)),
            _until(found),
        )
    return joined(
        (
            say(
                "{} {} to landfall, {} on, in {}{}{}.",
                *(opening, stays_on(found), DAYS(found.to_landfall_days)),
                *(_of(found, 1.0 - found.by_ladder.dark.mean()), _with_comms(found)),
                _but_below(found),
            ),
            _given(found),
        )
    )


def _until(found: Ladder) -> Words:
    """Until when it is enough in 9 of 10 passages, where it is not to landfall."""
    until_days = float(quantiles(found.by_ladder.flat_days, (0.1,))[0])
    if math.isinf(until_days):
        first_days = float(found.by_ladder.flat_days.min())
        return say("9 in 10 do not; the first is dark after {}.", DAYS(first_days))
    return say(
        "In 9 of 10 she is {} for {}, until {}.",
        *(stays_on(found), DAYS(until_days), SHORT_DATE(_at(found, until_days))),
    )


def _when(found: Ladder) -> Words:
    at = _at(found, 0.0)
    day = (at[0].date() - found.passage.depart_utc.date()).days + 1
    loss = "Everything working" if found.loss == WORKING else found.loss
    return say("{} on day {}, {},", loss[:1].upper() + loss[1:], COUNT(day), MOMENT(at))


def _at(found: Ladder, after_days: float) -> tuple[datetime, float]:
    """A moment after the loss, and the ship's time then."""
    track = found.prepared.track
    hours = min(found.from_h + 24.0 * after_days, track.arrival_h)
    step = min(round(hours / track.step_h), track.n_steps - 1)
    when = datetime.fromtimestamp(track.start_utc_s, UTC) + timedelta(hours=hours)
    return when, float(track.ship_offset_h[step])


def stays_on(found: Ladder) -> str:
    """What stays on as long as not all is dark, by what is aboard.

    Parameters
    ----------
    found : Ladder
        Of planning.ladder.
    """
    left = heard_by(found.passage)
    words = [word for word, has in (("seen", left.lights), ("heard", left.vhf)) if has]
    return " and ".join(words) or "kept from the dark"


def _of(found: Ladder, frac: float) -> Words:
    count = count_of(found.members)(float(frac))
    return say("{} of {} simulated passages", count, COUNT(found.members))


def _with_comms(found: Ladder) -> Text:
    """In how many passages the boat speaks with the shore on every evening."""
    steps = [step for step in found.steps.worth if step.load.role == "comms" and not step.halved]
    spoken = [
        load.name
        for load in found.passage.loads
        if load.count and load.role == "comms" and not load.states <= _IN_PORT
    ]
    if not spoken:
        return ""
    every = ~found.by_ladder.dark
    for step in steps:
        every &= found.evenings(step) == 0
    names = " and ".join(f"the {name}" for name in dict.fromkeys(spoken))
    return say(", with {} every day in {}", names, count_of(found.members)(float(every.mean())))


def _but_below(found: Ladder) -> Text:
    """In how many passages the bank falls below its floor, where these are too many."""
    if not found.below_floor_too_often:
        return ""
    below = count_of(found.members)(float(found.by_ladder.below_floor.mean()))
    floor = SHARE(found.passage.boat.battery.floor_soc)
    return say(", but with the bank below its floor of {} in {}", floor, below)


def _given(found: Ladder) -> Words:
    """What is given up on how many evenings, where 1 in 10 passages asks for it."""
    parts: list[Text] = []
    for step in found.steps.worth:
        middle, most = (float(one) for one in quantiles(found.evenings(step), (0.5, 0.9)))
        if round(most):
            parts.append(say("{} {} ({})", step.load.name, COUNT(middle), COUNT(most)))
    if not parts:
        return say("Given up: hardly ever anything.")
    return say(
        "Given up on so many of {} evenings, in the median (and in 1 of 10): {}.",
        *(COUNT(len(found.by_ladder.rung)), joined(parts, "; ")),
    )


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
    return say(
        "{}Make for the nearest port that you can reach under sail. {}",
        tell,
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
    gained = Kind(rounding.days, zero=_NEVER, least=0.5 / 24.0, never=LANDFALL)
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


def how_to_read(found: Ladder) -> Words:
    """How the table of charges is kept.

    Parameters
    ----------
    found : Ladder
        Of planning.ladder.
    """
    what = "volts" if _by_volts(found) else "charge"
    more: Text = "5 % more"
    if _by_volts(found):
        rise_V = told_V(found.prepared, 0.75) - told_V(found.prepared, 0.75 - ROOM_SOC)
        more = f"{rounding.volts(rise_V)} more"
    return say(
        "Every evening at {} ship's time, with nothing charging, read the {} and take the row of "
        "today. Give up every step whose figure is above what you read. Take one back, the last "
        "first, only when you read {} than its figure.",
        *(f"{READ_AT_h:02.0f}:00", what, more),
    )


def _by_volts(found: Ladder) -> bool:
    return found.passage.boat.battery.reading == "volts"


def charges_table(found: Ladder) -> Table:
    """A row for some days, and in it a figure for every step; steps of the same figures together.

    Parameters
    ----------
    found : Ladder
        Of planning.ladder.
    """
    table = found.table
    spans = list(_same_columns(table.least_soc))
    below = _BELOW.format("volts" if _by_volts(found) else "per cent")
    rows = []
    for row in reversed(range(len(table.least_soc))):
        most_days = min((row + 1) * table.row_days, found.to_landfall_days)
        ends = SHORT_DATE(_at(found, found.to_landfall_days - row * table.row_days))
        figures = (_figure(found, float(table.least_soc[row, first])) for first, _ in spans)
        rows.append((say("{}", ends), COUNT(math.ceil(most_days)), *figures))
    return Table(
        caption="At which charge",
        columns=(
            Column("until"),
            Column("days\nto go"),
            *(Column(_numbers(*span), over=below) for span in spans),
        ),
        rows=tuple(rows),
    )


def _same_columns(least_soc: Array) -> Iterator[tuple[int, int]]:
    """Steps next to each other whose figures are the same in every row: first and last of each."""
    first, steps = 0, least_soc.shape[1]
    for step in range(1, steps + 1):
        if step == steps or (least_soc[:, step] != least_soc[:, first]).any():
            yield first, step - 1
            first = step


def _numbers(first: int, last: int) -> str:
    return f"{first + 1}" if first == last else f"{first + 1} to {last + 1}"


def _figure(found: Ladder, soc: float) -> Text:
    if math.isinf(soc):
        return _ALWAYS if soc > 0 else _NEVER
    if _by_volts(found):
        volts = math.ceil(told_V(found.prepared, soc) * 100.0 - 1e-6) / 100.0
        return _BARE_VOLTS(volts)
    return _BARE_PERCENT(soc)


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
    if found.passage.boat.battery.traits.mute_soc and _by_volts(found):
        yield "Volts tell little of this kind of bank: a counter would tell far more."
    for note in found.notes:
        yield f"{note[:1].upper()}{note[1:]}."
    yield "A forecast is no promise: an evening earlier costs little, an evening late may cost all."
