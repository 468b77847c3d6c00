"""What a message costs, and how many of them the bank still buys: for every form of the answer."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from powersim.records import PROTECTED
from powersim.report.kinds import (
    AH,
    AH_EACH,
    BY_WATCH,
    COUNT,
    LASTS,
    LITRES,
    SHARE,
    WH,
    Band,
    Text,
    joined,
    say,
)
from powersim.report.plain import plain
from powersim.report.view import Column, Paragraph, Section, Table, Title
from powersim.simulation.bands import quantiles

if TYPE_CHECKING:
    from powersim.planning.sessions_left import BankBuys, SessionTable
    from powersim.records.arrays import Array

TITLE = "What a message costs"
#: 1 in 10 of the simulated passages has less. [-]
_CAUTIOUS = 0.1
#: One takes too little fuel to be read off.
_MANY = 100
#: Of what stays on, less than this is hardly worth saving; our judgement. [-]
_HARDLY = 0.05
_TOGETHER = "all of them"
_UNTIL = replace(LASTS, zero="none left", never="to landfall")


def sessions_told(found: SessionTable, *, when: str) -> list[Section]:
    """The table, with its title and what it is worth.

    Parameters
    ----------
    found : SessionTable
        Of planning.sessions_left.
    when : str
        Which bank is meant, such as "as it is".

    Returns
    -------
    list of Section
        Empty where the load list has no sessions.
    """
    if not found.costs:
        return []
    return [
        Title(TITLE),
        _table(found),
        Paragraph(_buys(found, when)),
        Paragraph(_meanwhile(found)),
        Paragraph(_meaning(found)),
    ]


def costs_in_short(found: SessionTable) -> Text:
    """What one of each kind takes, in one sentence for where there is little room.

    Parameters
    ----------
    found : SessionTable
        Of planning.sessions_left.

    Returns
    -------
    Text
        Empty where the load list has no sessions.
    """
    if not found.costs:
        return ""
    each = [say("one {} {}", cost.word, AH_EACH(cost.charge_Ah)) for cost in found.costs]
    return say("What a message takes: {}.", joined(each, ", "))


def sessions_dict(found: SessionTable) -> dict:
    """The same for a program.

    Parameters
    ----------
    found : SessionTable
        Of planning.sessions_left.

    Returns
    -------
    dict
        Null for days that end with landfall; a band (p10, p50, p90) where members differ.
    """
    return {
        "kinds": [
            plain(cost) | {"buys": plain(buys)}
            for cost, buys in zip(found.costs, found.buys, strict=True)
        ],
        "together": None if found.together is None else plain(found.together),
        "stays_on": list(found.stays_on),
    }


def _table(found: SessionTable) -> Table:
    fuel = any(cost.fuel_L is not None for cost in found.costs)
    columns = (
        Column("one", words=True),
        Column("energy"),
        Column("charge"),
        *([Column(f"{found.fuel_word}\nfor {_MANY}")] if fuel else []),
        Column("down to\nthe floor"),
        Column("until all\nis dark"),
    )
    rows: list[tuple[Text, ...]] = []
    for cost, buys in zip(found.costs, found.buys, strict=True):
        litres = ("–",) if cost.fuel_L is None else (LITRES(_MANY * cost.fuel_L),)
        name = cost.word if cost.word == cost.load else f"{cost.word} ({cost.load})"
        takes = (WH(cost.energy_Wh), AH_EACH(cost.charge_Ah), *(litres if fuel else ()))
        rows.append((name, *takes, *_bought(buys)))
    if found.together is not None:
        blank = ("",) * (3 if fuel else 2)
        rows.append((_TOGETHER, *blank, *_bought(found.together)))
    caption = "What one takes, and how many the bank buys"
    return Table(caption=caption, columns=columns, rows=tuple(rows))


def _bought(buys: BankBuys) -> tuple[Text, ...]:
    both = (buys.to_floor, buys.days_to_floor), (buys.to_flat, buys.days_to_flat)
    return tuple(
        say(
            "{} {}" if math.isinf(_cautious(days)) else "{} in {}",
            *(COUNT(_whole(many)), _UNTIL(_cautious(days))),
        )
        for many, days in both
    )


def _buys(found: SessionTable, when: str) -> Text:
    """ "The bank as it is buys 41 downloads (12 days) down to its floor"."""
    soc = found.soc if isinstance(found.soc, float) else _band(found.soc)
    return say(
        "The bank {}, at {}, buys {} down to its floor, and until all is dark {}.",
        *(when, SHARE(soc)),
        _each(found, [(one.to_floor, one.days_to_floor) for one in found.buys]),
        _each(found, [(one.to_flat, one.days_to_flat) for one in found.buys]),
    )


def _each(found: SessionTable, bought: Sequence[tuple[float | Array, float | Array]]) -> Text:
    parts = []
    for cost, (number, lasts) in zip(found.costs, bought, strict=True):
        many, days = _whole(number), _cautious(lasts)
        noun = cost.word if many == 1.0 else cost.words
        parts.append(say("{} {} ({})", COUNT(many), noun, _UNTIL(days)))
    return joined(parts, " or ")


def _beside_the_rest(found: SessionTable) -> Text:
    """What one takes, told by what goes on drawing from one to the next."""
    if not found.stays_on_Ah_per_day > 0.0:
        return ""
    per_h = found.stays_on_Ah_per_day / 24.0
    parts = [
        say("in {} as much as one {}", BY_WATCH(cost.charge_Ah / per_h), cost.word)
        for cost in found.costs
    ]
    return say("That takes {} a day: {}.", AH(found.stays_on_Ah_per_day), joined(parts, ", "))


def _hardly(found: SessionTable) -> Text:
    """What is not worth leaving off: somebody may wait for it ashore."""
    hardly = [
        cost.words
        for cost in found.costs
        if cost.often * cost.charge_Ah < _HARDLY * found.stays_on_Ah_per_day
    ]
    if not hardly:
        return ""
    return f"Leaving off {' or '.join(hardly)} saves hardly anything: keep them up."


def _meanwhile(found: SessionTable) -> Text:
    """What else is on while they are counted: the safe sum."""
    if not found.stays_on:
        return (
            "Nothing charges any more, and nothing else is on: no load has the role of what must "
            f"stay on ({PROTECTED})."
        )
    return joined(
        [
            "Nothing charges any more, and all is off but what must stay on: "
            f"{PROTECTED}, which draw meanwhile.",
            _beside_the_rest(found),
        ]
    )


def _meaning(found: SessionTable) -> Text:
    alone = (
        "Each kind is counted by itself, as" if found.together is not None else "They are sent as"
    )
    tenth: Text = ""
    if found.passages > 1:
        tenth = say("1 in 10 of {} simulated passages has less.", COUNT(found.passages))
    parts: list[Text] = [
        f"{alone} often as loads.csv has it, failed tries and what is on meanwhile with it.",
        tenth,
        _hardly(found),
        *_own_batteries(found),
        say("Charge is told at {} V.", COUNT(found.nominal_V)),
    ]
    if any(cost.fuel_L is not None for cost in found.costs):
        parts.append(
            f"The {found.fuel_word} is what the engine burns at rest for it with a low bank; with "
            "one that is nearly full it takes more."
        )
    return joined(parts)


def _own_batteries(found: SessionTable) -> list[Text]:
    """What can be sent with the bank dark."""
    return [
        say(
            "Beside these, a battery of its own holds {} {} when full.",
            COUNT(cost.own_battery),
            cost.word if cost.own_battery == 1 else cost.words,
        )
        for cost in found.costs
        if cost.own_battery
    ]


def _cautious(value: float | Array) -> float:
    """A number as it is, and of many passages what 1 in 10 falls short of."""
    return value if isinstance(value, float) else float(quantiles(value, (_CAUTIOUS,))[0])


def _whole(value: float | Array) -> float:
    return float(math.floor(_cautious(value)))


def _band(value: Array) -> Band:
    low, middle, high = map(float, quantiles(value))
    return Band(middle, low, high)
