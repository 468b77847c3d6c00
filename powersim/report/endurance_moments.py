"""Days left from departure and from the worst moment: what a tired head reads first."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

from powersim.planning.cases import ALL_LOADS, ESSENTIAL_ONLY
from powersim.planning.failures import NO_CHARGING
from powersim.report.kinds import COUNT, LASTS, MOMENT, SHORT_DATE, Kind, Text, joined, say
from powersim.report.view import Column, Paragraph, Section, Table
from powersim.simulation.bands import quantiles

if TYPE_CHECKING:
    from powersim.planning.endurance_table import DaysFrom, Endurance, EnduranceTable
    from powersim.simulation.result import SimulationResult

#: 1 in 10 of the simulated passages has less than the first, half have less than the second. [-]
_CAUTIOUS, _HALF = 0.1, 0.5


def both_moments(found: EnduranceTable, result: SimulationResult) -> Iterator[Section]:
    """How long the bank lasts without any charging, and with each thing lost, from both moments.

    Parameters
    ----------
    found : EnduranceTable
        Of planning.endurance.
    result : Result
        Of the simulation that it starts from.
    """
    if found.beside is None:
        return
    moments = (found.counted, found.beside)
    if found.worst is not None:
        moments = moments[::-1]
    lasts = replace(LASTS, never="the end") if found.held_days else LASTS
    yield Paragraph(moments_told(moments, result, passages=found.passages, lasts=lasts))
    heads = ("1 in 10\nbelow", "median") if found.passages > 1 else ("",)
    overs = [f"from {_name(one, result)}" for one in moments]
    losses = dict.fromkeys(line.loss for line in found.beside.lines)
    yield Table(
        caption="Until everything goes dark, all loads on",
        columns=(
            Column("until everything goes dark", words=True),
            *(Column(head or over, over=over if head else "") for over in overs for head in heads),
        ),
        rows=tuple(
            (
                loss,
                *(cell for one in moments for cell in _cells(one.line(loss, ALL_LOADS), lasts)),
            )
            for loss in losses
        ),
    )
    # A footnote: what counts has been told in many passages.
    if found.passages > 1 and found.from_h == 0.0 and not found.held_days:
        _, flat_days = result.without_charging
        told = say(
            "Average weather alone would say {}, from departure and without any charging.",
            lasts(flat_days),
        )
        yield Paragraph(told)


def moments_told(
    moments: Sequence[DaysFrom], result: SimulationResult, *, passages: int, lasts: Kind = LASTS
) -> Text:
    """How long the bank lasts without any charging, from each moment; the cautious figure first."""
    all_on, few_on = (
        [_days(one.line(NO_CHARGING, loads)) for one in moments]
        for loads in (ALL_LOADS, ESSENTIAL_ONLY)
    )
    names = [_in_full(one, result) for one in moments]
    bare = replace(lasts, zero=None)
    sentences: list[Text] = []
    if all(math.isinf(days[0]) for days in all_on):
        counted = say("counted from {} as from {}", *names)
        sentences.append(
            say("If all charging is lost, the bank lasts to {}, {}.", lasts.never or "", counted)
        )
    else:
        parts = [_dark(days[0], name, lasts) for days, name in zip(all_on, names, strict=True)]
        sentences.append(say("If all charging is lost, everything is dark {}, and {}.", *parts))
    if passages > 1:
        middle = [bare(days[1]) for days in all_on]
        sentences.append(
            say(
                "1 in 10 of {} simulated passages has less; the median is {} and {}.",
                *(COUNT(passages), *middle),
            )
        )
    else:
        sentences.append("That is average weather alone: in a grey week there is less.")
    to_the_end = replace(bare, never=f"to {lasts.never}")
    essential = [to_the_end(days[0]) for days in few_on]
    sentences.append(say("With the essential loads only the bank lasts {} and {}.", *essential))
    return joined(sentences)


def _dark(days, name, lasts) -> Text:
    """When everything is dark, counted from one moment."""
    if math.isinf(days):
        return say("not before {}, counted from {}", lasts.never, name)
    if days == 0.0:
        return say("already at {}", name)
    return say("after {}, counted from {}", lasts(days), name)


def _days(line: Endurance) -> list[float]:
    """Days to flat: what 1 in 10 falls short of, and the median; in average weather as they are."""
    days = line.days_to_flat
    if isinstance(days, float):
        return [days]
    return [float(one) for one in quantiles(days, (_CAUTIOUS, _HALF))]


def _cells(line, lasts):
    kind = replace(lasts, zero="at once") if line.at_once else lasts
    return [kind(days) for days in _days(line)]


def _name(one: DaysFrom, result) -> str:
    """A moment in a few words, for the head of a column."""
    if one.worst is not None:
        return "the worst moment"
    return "departure" if one.from_h == 0.0 else str(SHORT_DATE(_at(one, result)))


def _in_full(one: DaysFrom, result) -> Text:
    """A moment in a sentence."""
    if one.worst is not None:
        return say("the worst moment of the passage, {}", MOMENT(_at(one, result)))
    return "departure" if one.from_h == 0.0 else say("{}", MOMENT(_at(one, result)))


def _at(one: DaysFrom, result):
    moment_utc = result.passage.depart_utc + timedelta(hours=one.from_h)
    return moment_utc, ship_offset_h(one, result)


def ship_offset_h(found: DaysFrom | EnduranceTable, result: SimulationResult) -> float:
    """Ship's time ahead of UTC at the moment that is counted from. [h]"""
    track = result.prepared.track
    return float(track.ship_offset_h[round(found.from_h / track.step_h)])
