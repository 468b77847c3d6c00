"""What `endurance` prints first: days to the floor and to flat for each loss and set of loads."""

from __future__ import annotations

import math
from datetime import timedelta

from powersim.records import PROTECTED
from powersim.report import rounding
from powersim.report.cold_text import cold_notes
from powersim.report.endurance_dropping_text import dropping_text
from powersim.report.endurance_fuel_text import fuel_text
from powersim.report.longer_text import longer_notes
from powersim.report.text import bullets, join, paragraph, spanned, table, title
from powersim.simulation.bands import quantiles

KEPT = (
    f"Essential only: {PROTECTED}, and what loads.csv calls essential; the rest is off from the "
    "first hour. Everything works until the moment counted from. A forecast is no promise."
)
AT_ONCE = "at once"
_WORST = {
    "flat": "where everything would go dark soonest",
    "floor": "where the bank would be at its floor soonest",
    "charge": "where the bank stands lowest, for landfall comes first everywhere",
}


def endurance_text(found, result) -> str:
    """The endurance tables for a reader.

    Parameters
    ----------
    found : EnduranceTable
        Of planning.endurance.
    result : Result
        Of the simulation that it starts from.

    Returns
    -------
    str
        At most 80 columns wide.
    """
    floor = rounding.soc(result.passage.boat.battery.floor_soc)
    lines = _tables if found.seed is None else _tables_in_weathers
    return join(
        paragraph(_opening(found, result)),
        bullets(cold_notes(result.summary["cold"])),
        *lines(found, floor=floor),
        bullets(note[:1].upper() + note[1:] + "." for note in found.notes),
        bullets(longer_notes(found, result.passage.boat)),
        paragraph(KEPT),
        *_dropping(found),
        *_fuel(found, result.passage.boat.fuel_word),
    )


def _fuel(found, fuel) -> tuple[str, ...]:
    return (title(f"How long the {fuel} lasts"), fuel_text(found, fuel)) if found.fuel else ()


def _dropping(found) -> tuple[str, ...]:
    if found.dropping is None:
        return ()
    end = f"{rounding.days(found.held_days)} more" if found.held_days else "landfall"
    text = dropping_text(found.dropping, end=end, in_weathers=found.seed is not None)
    return title("Which load costs the most days"), text


def _opening(found, result) -> str:
    start_utc = result.passage.depart_utc + timedelta(hours=found.from_h)
    start = rounding.moment(start_utc, ship_offset_h=ship_offset_h(found, result))
    sentences = [
        f"{result.passage.name}, counted from {start} with the bank at {_bank(found)}; landfall "
        f"after {rounding.days(found.days_to_landfall)}."
    ]
    if found.worst is not None:
        tenth = "" if found.seed is None else ", in the worst tenth of the weathers,"
        sentences.append(
            f"Of all moments of the passage this is the one "
            f"{_WORST[found.worst.judged_by]}{tenth} if nothing charged any more."
        )
    if found.held_days:
        has_engine = result.passage.boat.engine is not None
        engine = ", and the engine charges but does not motor" if has_engine else ""
        sentences.append(
            f"After landfall she is held at {result.passage.waypoints[-1].name} for "
            f"{rounding.days(found.held_days)}: sun, nights and loads there go on{engine}."
        )
    return " ".join(sentences)


def _bank(found) -> str:
    """The charge that is counted from."""
    if found.seed is None:
        return rounding.soc(found.soc)
    low, middle, high = quantiles(found.soc)
    band = rounding.within(middle, low, high, rounding.soc, inside="8 of 10 weathers: ")
    return f"{band} in {len(found.soc)} weathers"


def _by_load_set(found) -> dict[str, list]:
    sets = {}
    for line in found.lines:
        sets.setdefault(line.loads, []).append(line)
    return sets


def _tables(found, *, floor) -> list[str]:
    """One table for each set of loads."""
    return [
        table(
            [
                (
                    line.loss,
                    line_left(line, line.days_to_floor, found),
                    line_left(line, line.days_to_flat, found),
                )
                for line in lines
            ],
            aligns="lrr",
            header=(loads, f"to floor, {floor}", "to flat"),
        )
        for loads, lines in _by_load_set(found).items()
    ]


def _tables_in_weathers(found, *, floor) -> list[str]:
    """The same with three columns each: how long it lasts in the worst tenth, half, nine tenths."""
    heads = ("1 in 10", "half", "9 in 10")
    end = time_left(None, found.days_to_landfall, held_days=found.held_days)
    beyond = f">{_beyond(found.days_to_landfall + found.held_days)}"

    def cells(line, days):
        if line.at_once:
            return (AT_ONCE,) * len(heads)
        return [_days_or(time_days, beyond) for time_days in quantiles(days)]

    tables = [
        spanned(
            table(
                [
                    (line.loss, *cells(line, line.days_to_floor), *cells(line, line.days_to_flat))
                    for line in lines
                ],
                aligns="lrrrrrr",
                header=(loads, *heads, *heads),
            ),
            [("", 1), (f"days to floor, {floor}", 3), ("days to flat", 3)],
        )
        for loads, lines in _by_load_set(found).items()
    ]
    legend = (
        f"1 in 10: within so many days in 1 weather of 10; in half of them; in 9 of 10. "
        f"{beyond} is {end}."
    )
    return [*tables, paragraph(legend)]


def _beyond(end_days) -> str:
    """What is longer than anybody has looked, in a column of days."""
    if end_days >= rounding.HOURS_BELOW_DAYS:
        return f"{whole_days(end_days)}"
    return rounding.days(_full_days(end_days))


def _days_or(time_days, beyond) -> str:
    if math.isinf(time_days):
        return beyond
    if time_days <= 0:
        return "already"
    if time_days >= 10:  # the column keeps its decimal
        return rounding.number(time_days, decimals=1)
    return rounding.bare_days(time_days)


def whole_days(time_days) -> int:
    """Days that are full, for what is known to be longer than them.

    Examples
    --------
    >>> whole_days(31.9)
    31
    """
    return math.floor(time_days)


def line_left(line, time_days, found) -> str:
    """How long the bank lasts in one line of the table, in the mean sky.

    Parameters
    ----------
    line : Endurance
    time_days : float
        To its floor or to flat. [days]
    found : EnduranceTable
        That it is a line of.

    Returns
    -------
    str
    """
    if line.at_once:
        return AT_ONCE
    return time_left(time_days, found.days_to_landfall, held_days=found.held_days)


def time_left(time_days, landfall_days, *, held_days=0.0) -> str:
    """Days until something happens, that it has, or that landfall comes first.

    Parameters
    ----------
    time_days : float or None
        None or infinite for never on this passage. [days]
    landfall_days : float
        Until landfall. [days]
    held_days : float
        For how long the boat was held at her last position after it. [days]

    Returns
    -------
    str

    Examples
    --------
    >>> time_left(2.61, 30.0), time_left(0.0, 30.0)
    ('2.6 days', 'already')
    >>> time_left(None, 30.2), time_left(None, 0.82)
    ('more than 30 days (landfall)', 'more than 19 h (landfall)')
    >>> time_left(None, 30.2, held_days=60.0)
    'more than 90 days'
    """
    if time_days is not None and not math.isinf(time_days):
        return rounding.days(time_days) if time_days > 0 else "already"
    end_days = landfall_days + held_days
    # Down, never up: nobody has looked beyond.
    return f"more than {rounding.days(_full_days(end_days))}{'' if held_days else ' (landfall)'}"


def _full_days(time_days) -> float:
    """A time down to the last whole unit in which it is told."""
    if time_days >= 10:
        return whole_days(time_days)
    units = 10.0 if time_days >= rounding.HOURS_BELOW_DAYS else 24.0
    units = 1440.0 if 24.0 * time_days < 1.0 else units
    return math.floor(units * time_days) / units


def ship_offset_h(found, result) -> float:
    """Ship's time ahead of UTC at the moment that a table is counted from.

    Parameters
    ----------
    found : EnduranceTable
    result : Result

    Returns
    -------
    float
        [h]
    """
    track = result.prepared.track
    return float(track.ship_offset_h[round(found.from_h / track.step_h)])
