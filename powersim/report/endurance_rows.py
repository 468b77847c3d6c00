"""What endurance found, as rows for report and card: the one place where the two meet."""

from __future__ import annotations

import math
from dataclasses import dataclass

from powersim.report import rounding
from powersim.report.endurance_dropping_text import gain_words
from powersim.report.endurance_fuel_text import fuel_rows, fuel_sentences
from powersim.report.endurance_text import line_left
from powersim.report.longer_text import longer_notes

#: Loads told with what leaving them off gains.
_MOST_GAINS = 8
#: What stands for a time that is longer than the passage.
LANDFALL = "landfall"


@dataclass(frozen=True, slots=True, kw_only=True)
class LossRow:
    """One failure.

    Attributes
    ----------
    loss : str
        What is lost.
    lasts : tuple of (str, str)
        How long the bank lasts to the floor and to flat, for each set of loads.
    """

    loss: str
    lasts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class EnduranceRows:
    """How long the bank and the fuel last, from departure and in the mean sky.

    Attributes
    ----------
    load_sets : tuple of str
        Which loads are kept, the most first.
    losses : tuple of LossRow
        Everything working first.
    notes : tuple of str
        What is meant by a loss, one sentence each.
    gains : tuple of tuple of str
        Load, how much it is needed, charge a day, and what leaving it off gains to the floor and
        to flat with all charging lost; the most gained first, without what is never left off.
    order : tuple of str
        Every load, the most gained first.
    fuel : tuple of tuple of str
        What, as planned, and with every leg half as long again; empty without an engine.
    fuel_told : tuple of str
        Whether it is enough, one sentence each.
    """

    load_sets: tuple[str, ...]
    losses: tuple[LossRow, ...]
    notes: tuple[str, ...]
    gains: tuple[tuple[str, ...], ...]
    order: tuple[str, ...]
    fuel: tuple[tuple[str, ...], ...]
    fuel_told: tuple[str, ...]


def endurance_rows(result) -> EnduranceRows:
    """How long bank and fuel last from departure if something fails, in the mean sky.

    Parameters
    ----------
    result : Result
        Of the simulation.

    Returns
    -------
    EnduranceRows
    """
    from powersim.planning.endurance import endurance

    found = endurance(result)
    gains, word = found.dropping.gains, result.passage.boat.fuel_word
    return EnduranceRows(
        load_sets=tuple(dict.fromkeys(line.loads for line in found.lines)),
        losses=tuple(_losses(found)),
        notes=(*found.notes, *longer_notes(found, result.passage.boat)),
        gains=tuple(
            _gain(one) for one in [one for one in gains if one.group != "protected"][:_MOST_GAINS]
        ),
        order=tuple(one.load for one in gains),
        fuel=tuple(fuel_rows(found)) if found.fuel else (),
        fuel_told=tuple(fuel_sentences(found, word)) if found.fuel else (),
    )


def _losses(found):
    by_loss = {}
    for line in found.lines:
        lasts = tuple(
            LANDFALL if math.isinf(days) else line_left(line, days, found)
            for days in (line.days_to_floor, line.days_to_flat)
        )
        by_loss.setdefault(line.loss, []).append(lasts)
    for loss, lasts in by_loss.items():
        yield LossRow(loss=loss, lasts=tuple(lasts))


def _gain(one) -> tuple[str, ...]:
    return (
        one.load,
        one.group,
        rounding.ah(one.charge_Ah_per_day),
        gain_words(one.days_to_floor),
        gain_words(one.days_to_flat),
    )
