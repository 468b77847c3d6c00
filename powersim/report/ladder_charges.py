"""At which charge, or volts, each step of a ladder is taken: a row for some days to go."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from powersim.planning.ladder_rungs import READ_AT_h
from powersim.planning.ladder_table import ROOM_SOC
from powersim.report import rounding
from powersim.report.kinds import AMPS, COUNT, SHORT_DATE, Kind, Text, Words, say
from powersim.report.ladder_answer import moment_after
from powersim.report.view import Column, Table
from powersim.simulation.reading import told_V
from powersim.simulation.usual_load import usual_load_A

if TYPE_CHECKING:
    from powersim.planning.ladder import Ladder
    from powersim.records.arrays import Array

#: In place of a figure: given up at any charge, and at none.
_ALWAYS, NEVER = "always", "–"
_ALL_AT_ONCE = (
    "Give up all of it at once, whatever the bank reads: no charge was found at which one of these "
    "may stay on."
)
#: Under a head that has the unit.
_BARE_PERCENT = Kind(lambda soc: rounding.number(100.0 * soc))
_BARE_VOLTS = Kind(lambda volts_V: rounding.number(volts_V, decimals=2))
_BELOW = "give up step, if you read less {} than"


def all_at_once_told() -> str:
    """What is said where no charge is high enough for any of the loads."""
    return _ALL_AT_ONCE


def how_to_read(found: Ladder) -> Words:
    """How the table of charges is kept.

    Parameters
    ----------
    found : Ladder
        Of planning.ladder.
    """
    what, load, more = "charge", say(""), "5 % more"
    if by_volts(found):
        usual = AMPS(usual_load_A(found.prepared))
        what, load = "volts", say(" and the usual {} on (with less on, volts read high)", usual)
        rise_V = told_V(found.prepared, 0.75) - told_V(found.prepared, 0.75 - ROOM_SOC)
        more = f"{rounding.volts(rise_V)} more"
    return say(
        "Every evening at {} ship's time, with nothing charging{}, read the {} and take the row of "
        "today. Give up every step whose figure is above what you read. Take one back, the last "
        "first, only when you read {} than its figure.",
        *(f"{READ_AT_h:02.0f}:00", load, what, more),
    )


def by_volts(found: Ladder) -> bool:
    """Whether the bank is read by its volts.

    Parameters
    ----------
    found : Ladder
        Of planning.ladder.
    """
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
    below = _BELOW.format("volts" if by_volts(found) else "per cent")
    rows = []
    for row in reversed(range(len(table.least_soc))):
        most_days = min((row + 1) * table.row_days, found.to_landfall_days)
        ends = SHORT_DATE(moment_after(found, found.to_landfall_days - row * table.row_days))
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
        return _ALWAYS if soc > 0 else NEVER
    if by_volts(found):
        volts = math.ceil(told_V(found.prepared, soc) * 100.0 - 1e-6) / 100.0
        return _BARE_VOLTS(volts)
    return _BARE_PERCENT(soc)
