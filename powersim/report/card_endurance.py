"""What the card says of failures: how long the bank lasts, and what to switch off first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from powersim.planning.cases import ALL_LOADS, ESSENTIAL_ONLY
from powersim.planning.failures import WORKING
from powersim.report import rounding
from powersim.report.comms_view import costs_in_short
from powersim.report.endurance_gains import PROTECTED_GROUP
from powersim.report.kinds import (
    AH,
    COUNT,
    LANDFALL,
    LASTS,
    LATITUDE,
    SHIP_TIME,
    Kind,
    Words,
    joined,
    say,
)
from powersim.report.view import Column, Table, Text
from powersim.simulation.bands import quantiles

if TYPE_CHECKING:
    from powersim.planning.dropping import Dropping, LoadGain
    from powersim.planning.endurance_table import DaysFrom, Endurance, EnduranceTable
    from powersim.records import Shedding
    from powersim.simulation.result import SimulationResult

#: What the two tables are headed by.
SETS = {ALL_LOADS: "all loads on", ESSENTIAL_ONLY: "essential only"}
_DEPARTURE, _WORST = "from departure", "from the worst moment"
#: In this order they are switched off.
_GROUPS = ("comfort", "useful", "essential")
#: What gains less and takes less a day is named in a sentence, without a line. [days], [Ah]
_LEAST_DAYS, _LEAST_Ah = 1.0 / 24.0, 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CardEndurance:
    """The second page of the card.

    Attributes
    ----------
    opening : Text
        What the numbers are of, and when the worst moment is.
    lasts : tuple of (Table, Text)
        Days until the floor and until all is dark, by what fails and when, and what the bank stands
        to landfall, or nothing; with all loads on, and with the essential ones alone.
    off : Table
        What is switched off, first to last, what it takes and what that gains.
    little : Text
        What gains next to nothing; empty for nothing.
    never : Text
        What stays on.
    messages : Text
        What a message takes; empty where none are sent.
    """

    opening: Text
    lasts: tuple[tuple[Table, Text], ...]
    off: Table
    little: Text
    never: Text
    messages: Text = ""


def card_endurance(
    result: SimulationResult, found: EnduranceTable, *, worst: DaysFrom | None = None
) -> CardEndurance:
    """The second page of the card of a simulated passage.

    Parameters
    ----------
    result : Result
        Of the simulation.
    found : EnduranceTable
        From departure, with what each load costs.
    worst : DaysFrom, optional
        The same lines from the worst moment.
    """
    gains = [] if found.dropping is None else list(_in_order(found.dropping))
    shedding = result.passage.boat.shedding
    return CardEndurance(
        opening=_opening(result, found, worst),
        lasts=tuple(_lasts(found, worst, loads=loads) for loads in SETS),
        off=_off([gain for gain in gains if _counts(gain)], shedding),
        little=_little([gain.load for gain in gains if not _counts(gain)]),
        never=_never(result),
        messages=costs_in_short(found.sessions),
    )


def _opening(result, found, worst: DaysFrom | None) -> Words:
    sentences: list[Text] = []
    if found.passages > 1:
        sentences.append(
            say(
                "In {} simulated passages: the middle one, and what 1 in 10 is below.",
                COUNT(found.passages),
            )
        )
    else:
        sentences.append("In average weather alone.")
    if worst is not None:
        track = result.prepared.track
        step = round(worst.from_h / track.step_h)
        at = datetime.fromtimestamp(track.edge_utc_s[step], UTC), float(track.ship_offset_h[step])
        sentences.append(
            say(
                "Worst moment: {} ship's time, {}.",
                *(SHIP_TIME(at), LATITUDE(float(track.lat_deg[step]))),
            )
        )
    return joined(sentences)


def _lasts(found, worst, *, loads: str) -> tuple[Table, str]:
    """What does not last to landfall, in a table; what does, in a sentence."""
    heads = ["to\nfloor", "to\nflat", *(["1 in 10\nbelow"] if found.passages > 1 else [])]
    moments = {_DEPARTURE: found} | ({_WORST: worst} if worst is not None else {})
    losses = dict.fromkeys(line.loss for line in found.lines if line.loss != WORKING)
    told: dict[str, list[Text]] = {}
    for loss in losses:
        lines = [_line(moment, loss, loads) for moment in moments.values()]
        told[loss] = [cell for line in lines for cell in _cells(line)]
    stood = [loss for loss, cells in told.items() if {*map(str, cells)} == {LANDFALL}]
    table = Table(
        caption=SETS[loads],
        columns=(
            Column(SETS[loads], words=True),
            *(Column(head, over=over) for over in moments for head in heads),
        ),
        rows=tuple((loss, *cells) for loss, cells in told.items() if loss not in stood),
    )
    return table, f"To landfall, {SETS[loads]}: {', '.join(stood)}." if stood else ""


def _line(moment: EnduranceTable | DaysFrom, loss: str, loads: str) -> Endurance:
    return next(one for one in moment.lines if (one.loss, one.loads) == (loss, loads))


def _cells(line: Endurance) -> Iterator[Text]:
    """Days to the floor and to flat, of many passages the median, and a tenth of the latter."""
    kind = replace(LASTS, zero="at once") if line.at_once else LASTS
    for place, days in enumerate((line.days_to_floor, line.days_to_flat)):
        if isinstance(days, float):
            yield kind(days)
            continue
        tenth, median = map(float, quantiles(days, (0.1, 0.5)))
        yield kind(median)
        if place:
            yield kind(tenth)


def _in_order(dropping: Dropping) -> Iterator[LoadGain]:
    """Loads as they are switched off: the least needed first, of these the most days gained."""
    for group in _GROUPS:
        yield from sorted(
            (gain for gain in dropping.gains if gain.group == group),
            key=lambda gain: (-_days(gain), -gain.charge_Ah_per_day),
        )


def _counts(gain: LoadGain) -> bool:
    return _days(gain) >= _LEAST_DAYS or gain.charge_Ah_per_day >= _LEAST_Ah


def _days(gain: LoadGain) -> float:
    """What leaving it off gains to flat with all charging lost; the median. [days]"""
    days = gain.days_to_flat
    return days if isinstance(days, float) else float(quantiles(days, (0.5,))[0])


def _off(gains: Sequence[LoadGain], shedding: Shedding) -> Table:
    gained = Kind(rounding.days, zero=rounding.UNKNOWN, least=_LEAST_DAYS / 2.0, never=LANDFALL)
    levels = {"comfort": shedding.comfort_below_soc, "useful": shedding.useful_below_soc}
    when = {
        group: f"at {rounding.soc(level)}" if level is not None else ""
        for group, level in levels.items()
    }
    return Table(
        caption="Switch off in this order",
        columns=(
            Column(""),
            Column("load", words=True),
            Column("priority", words=True),
            Column("a day"),
            Column("gains"),
        ),
        rows=tuple(
            (
                str(number),
                gain.load,
                ", ".join(filter(None, (gain.group, when.get(gain.group, "")))),
                AH(gain.charge_Ah_per_day),
                gained(_days(gain)),
            )
            for number, gain in enumerate(gains, start=1)
        ),
    )


def _little(names: Sequence[str]) -> str:
    return f"Gains little: {', '.join(names)}." if names else ""


def _never(result) -> str:
    """Lights, AIS or radar, VHF, bilge pump as they are named aboard, and the eyes on deck."""
    loads = result.loads
    aboard = list(loads[loads["group"] == PROTECTED_GROUP]["load"])
    return f"Never: {', '.join(['the lookout', *aboard])}."
