"""How long the bank and the fuel last: the answer of `endurance`, of the page and of the card."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

from powersim.planning.endurance import endurance_as_simulated
from powersim.records import PROTECTED
from powersim.report.changed_told import changed_sections
from powersim.report.cold_text import cold_told
from powersim.report.comms_view import sessions_told
from powersim.report.days_left_text import days_left_told, moment_told
from powersim.report.devices_view import devices_told
from powersim.report.endurance_fuel import fuel_sections
from powersim.report.endurance_gains import gains_sections
from powersim.report.endurance_losses import losses_sections, spares_sections, worst_of
from powersim.report.endurance_moments import both_moments, ship_offset_h
from powersim.report.kinds import (
    BAND_HEADS,
    DAYS,
    LANDFALL,
    LASTS,
    MOMENT,
    SHARE,
    Band,
    Kind,
    Words,
    joined,
    say,
)
from powersim.report.longer_text import longer_notes
from powersim.report.view import Bullets, Column, Paragraph, Section, Table, Text, Title
from powersim.simulation.bands import quantiles

if TYPE_CHECKING:
    from powersim.planning.endurance_table import EnduranceTable
    from powersim.records.arrays import Floats
    from powersim.simulation.result import SimulationResult

_WORST = {
    "flat": "where everything would go dark soonest",
    "floor": "where the bank would be at its floor soonest",
    "charge": "where the bank stands lowest, for landfall comes first everywhere",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class EnduranceView:
    """The answer in sections.

    Attributes
    ----------
    changed : tuple of Section
        What differs from the files; empty where nothing does.
    opening : tuple of Section
        From when on it is counted, and what the cold does.
    moments : tuple of Section
        How long the bank lasts without charging, from departure and from the worst moment, and with
        each thing lost; empty where costs were not asked for.
    lasts : tuple of Table
        How long the bank lasts with this or that lost: one for all sets of loads, or one for each
        where many passages are simulated.
    meaning : tuple of Section
        What is meant by a loss, by a set of loads and by the words for no end.
    gains : tuple of Section
        Which load costs the most days, under its title; empty where that was not asked for.
    sessions : tuple of Section
        What a message costs and how many the bank still buys, under its title; empty where nothing
        is sent.
    devices : tuple of Section
        What devices hold beside the bank, under its title; empty without any.
    losses : tuple of Section
        What is left where a load fails, and what a spare gains, each under its title.
    fuel : tuple of Section
        How long the fuel lasts, under its title; empty without an engine.
    order : tuple of str
        Every load, the most days gained first.
    bank : Words or None
        In one line how long the bank lasts by itself, from departure and from the worst moment;
        None where only one of them was asked for.
    """

    changed: tuple[Section, ...]
    opening: tuple[Section, ...]
    moments: tuple[Section, ...]
    lasts: tuple[Table, ...]
    meaning: tuple[Section, ...]
    gains: tuple[Section, ...]
    sessions: tuple[Section, ...]
    devices: tuple[Section, ...]
    losses: tuple[Section, ...]
    fuel: tuple[Section, ...]
    order: tuple[str, ...]
    bank: Words | None = None

    @property
    def sections(self) -> tuple[Section, ...]:
        """All of it, in order."""
        first = (*self.changed, *self.opening, *self.moments)
        costs = (*self.gains, *self.sessions, *self.devices, *self.losses, *self.fuel)
        return (*first, *self.lasts, *self.meaning, *costs)


def endurance_from_departure(result: SimulationResult) -> EnduranceView:
    """How long bank and fuel last from departure if something fails.

    Parameters
    ----------
    result : Result
        Of the simulation; it is told in the passages that it was simulated in.
    """
    return endurance_view(endurance_as_simulated(result), result)


def endurance_view(found: EnduranceTable, result: SimulationResult) -> EnduranceView:
    """What endurance found, to be said.

    Parameters
    ----------
    found : EnduranceTable
        Of planning.endurance.
    result : Result
        Of the simulation that it starts from.
    """
    boat, dropping = result.passage.boat, found.dropping
    end = "the end" if found.held_days else LANDFALL
    lasts = replace(LASTS, never=end)
    fuel_title = Title(f"How long the {boat.fuel_word} lasts")
    notes = [f"{note[:1].upper()}{note[1:]}." for note in found.notes]
    cold = [one.sentence for one in cold_told(result.summary["cold"])]
    return EnduranceView(
        changed=changed_sections(result.passage),
        opening=(Paragraph(_opening(found, result)), *([Bullets(tuple(cold))] if cold else [])),
        moments=tuple(both_moments(found, result)),
        lasts=tuple((_tables if found.seed is None else _tables_in_passages)(found, lasts)),
        meaning=(
            Bullets((*notes, *longer_notes(found, boat))),
            Paragraph(_meaning(found, end)),
        ),
        gains=()
        if dropping is None
        else (
            Title("Which load costs the most days"),
            *gains_sections(dropping, end=end),
        ),
        sessions=tuple(sessions_told(found.sessions, when=_when(found))),
        devices=tuple(devices_told(result.summary, nominal_V=boat.battery.nominal_V)),
        losses=tuple(_losses(found, result, end=end)),
        fuel=(
            fuel_title,
            *fuel_sections(found, boat.fuel_word, calm_below_kn=result.passage.calm_below_kn),
        )
        if found.fuel
        else (),
        order=() if dropping is None else tuple(gain.load for gain in dropping.gains),
        bank=_bank(found, result),
    )


def _losses(found, result, *, end: str) -> Iterator[Section]:
    """Loads lost, and what spares gain, where that was asked for."""
    if found.dropping is None:
        return
    yield from losses_sections(result.passage, found.dropping, end=end)
    worst = worst_of(found)
    if worst is not None:
        told = moment_told(result, worst)
        yield from spares_sections(found, result.passage, moment_told=told)


def _when(found) -> str:
    """Which bank is meant, in a few words."""
    if found.worst is not None:
        return "at the worst moment"
    return "at departure" if found.from_h == 0.0 else "at that moment"


def _bank(found, result):
    if found.beside is None:
        return None
    moments = (found.counted, found.beside)
    departure, worst = moments if found.worst is None else reversed(moments)
    return days_left_told(result, departure, worst)


def _opening(found, result):
    passage = result.passage
    start_utc = passage.depart_utc + timedelta(hours=found.from_h)
    weather = "in average weather"
    if found.seed is not None:
        weather = f"in {found.passages} simulated passages"
    sentences: list[Text] = [
        say(
            "{}, counted from {}, {}: the bank is at {}, its floor at {}; landfall comes after {}.",
            *(passage.name, MOMENT((start_utc, ship_offset_h(found, result))), weather),
            SHARE(band_of(found.soc)),
            *(SHARE(passage.boat.battery.floor_soc), DAYS(found.days_to_landfall)),
        )
    ]
    if found.worst is not None:
        tenth = "" if found.seed is None else ", judged by the worst tenth of the passages"
        sentences.append(
            f"Of all moments of the passage this is the one {_WORST[found.worst.judged_by]} if "
            f"nothing charged any more{tenth}."
        )
    if found.held_days:
        engine = (
            "" if passage.boat.engine is None else ", and the engine charges but does not motor"
        )
        sentences.append(
            say(
                "After landfall she is held at {} for {}: sun, nights and loads there go on{}.",
                *(passage.waypoints[-1].name, DAYS(found.held_days), engine),
            )
        )
    return joined(sentences)


def band_of(value: Floats) -> float | Band:
    """A number as it is, and of many passages the median with what 8 in 10 lie between."""
    if isinstance(value, float):
        return value
    low, middle, high = map(float, quantiles(value))
    return Band(middle, low, high)


def _meaning(found, end):
    until: Text = "until she arrives"
    if found.held_days:
        looked_days = math.floor(found.days_to_landfall + found.held_days)
        until = say("all of the {} that are looked at", DAYS(float(looked_days)))
    return say(
        "{}: the bank lasts {}. Essential only: {}, and what loads.csv calls essential; the rest "
        "is off from the first hour. Everything works until the moment counted from. A forecast "
        "is no promise.",
        *(end[:1].upper() + end[1:], until, PROTECTED),
    )


def _kind(line, lasts) -> Kind:
    return replace(lasts, zero="at once") if line.at_once else lasts


def _load_sets(found) -> list[str]:
    return list(dict.fromkeys(line.loads for line in found.lines))


def _tables(found, lasts):
    """One table with two columns for each set of loads."""
    columns = [Column("what happens", words=True)]
    for loads in _load_sets(found):
        columns += [Column("to floor", over=loads), Column("to flat", over=loads)]
    rows: dict[str, dict[str, tuple[Text, Text]]] = {}
    for line in found.lines:
        kind = _kind(line, lasts)
        rows.setdefault(line.loss, {})[line.loads] = (
            kind(line.days_to_floor),
            kind(line.days_to_flat),
        )
    yield Table(
        caption="How long the bank lasts",
        columns=tuple(columns),
        rows=tuple(
            (loss, *(cell for loads in _load_sets(found) for cell in cells.get(loads, ("", ""))))
            for loss, cells in rows.items()
        ),
    )


def _tables_in_passages(found, lasts):
    """A table for each set of loads, with a median and a tenth on either side of it."""
    for loads in _load_sets(found):
        yield Table(
            caption=f"How long the bank lasts, {loads}",
            columns=(
                Column(loads, words=True),
                *(Column(head, over="to floor") for head in BAND_HEADS),
                *(Column(head, over="to flat") for head in BAND_HEADS),
            ),
            rows=tuple(
                (
                    line.loss,
                    *(
                        _kind(line, lasts)(float(days))
                        for both in (line.days_to_floor, line.days_to_flat)
                        for days in quantiles(both)
                    ),
                )
                for line in found.lines
                if line.loads == loads
            ),
        )
