"""What a sea trial tells of the loads: the answer of `underway`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from typing import TYPE_CHECKING

from powersim.logbook.estimate import Z_80
from powersim.report import rounding
from powersim.report.kinds import AMPS, Kind, joined, say
from powersim.report.text import paragraph
from powersim.report.view import Bullets, Column, Paragraph, Section, Table, Text, Title

if TYPE_CHECKING:
    from powersim.logbook.trial import MeasuredDraw, SeaTrial

_COLUMNS = (
    Column("load", words=True),
    Column("state", words=True),
    Column("files\nsay"),
    Column("trial\nsays"),
    Column("give or\ntake"),
    Column("so", words=True),
    Column("files", over="Ah a day"),
    Column("trial", over="Ah a day"),
)
_AS_FILED = "as filed"
_STATES = {"on": "at work", "idle": "idle"}
#: From this misfit on the doubts are told to have been made larger.
_SCATTERED = 1.5


def trial_view(
    found: SeaTrial, day_Ah: Mapping[str, tuple[float, float]], *, brief: bool = False
) -> list[Section]:
    """The answer in sections.

    Parameters
    ----------
    found : SeaTrial
        What the readings say.
    day_Ah : mapping of str to (float, float)
        From `logbook.trial_day`. [Ah]
    brief : bool
        Whether loads that draw what the files say are only counted: beside a log.
    """
    draws = [one for one in found.draws if not brief or _so(one) != _AS_FILED]
    return [
        Title("What the loads drew in the sea trial"),
        Paragraph(_opening(found)),
        *([_table(draws, day_Ah)] if draws else []),
        *_left_out(len(found.draws) - len(draws)),
        *([Paragraph(_sum(day_Ah))] if len(day_Ah) > 1 else []),
        Bullets(tuple(_remarks(found, brief=brief))),
    ]


def without_log(*, trial: bool, engine: bool) -> str:
    """What is said last where there is no log yet.

    Parameters
    ----------
    trial : bool
        Whether there is a trial.
    engine : bool
        Whether the boat has an engine.
    """
    told = "There is no log.csv yet. "
    if trial:
        told += "The trial tells what a load draws, and not for how long it is on. "
    hours = ", and with the engine's hours," if engine else ","
    return paragraph(
        f"{told}Two days of log, with the volts before dawn or the monitor{hours} tell some of the "
        "day's draw; what the panels give takes a week."
    )


def _opening(found: SeaTrial) -> Text:
    count = rounding.plural(len(found.trial.readings), "reading")
    if found.outward_below_0:
        sign = "The meter shows what flows out of the bank as below 0, and is read so."
    else:
        sign = "The meter shows what flows out of the bank as above 0, and is read so."
    return (
        f"{count}, each held against all others. {sign} A draw lies within what it is given or "
        "taken 8 times in 10."
    )


def _left_out(count: int) -> list[Section]:
    if not count:
        return []
    return [Paragraph(f"{rounding.plural(count, 'draw')} of the trial {_is(count)} {_AS_FILED}.")]


def _is(count: int) -> str:
    return "is" if count == 1 else "are"


def _table(draws: Sequence[MeasuredDraw], day_Ah) -> Table:
    rows, seen = [], set()
    for one in draws:
        name = " + ".join(one.names)
        figures: tuple[Text, ...] = ("", "")
        if len(one.names) == 1 and name in day_Ah and name not in seen:
            seen.add(name)
            figures = tuple(_TENTHS(charge_Ah) for charge_Ah in day_Ah[name])
        form = _FORMS[one.unit]
        filed: Text = "-" if one.filed is None else form(one.filed)
        told: tuple[Text, Text] = ("-", "-")
        if not one.open_because:
            told = form(one.found), form(one.doubt)
        rows.append((name, _STATES[one.state], filed, *told, _so(one), *figures))
    return Table(columns=_COLUMNS, rows=tuple(rows))


def _so(one: MeasuredDraw) -> Text:
    """What follows from it, in few words."""
    if one.open_because:
        return "not told"
    if one.filed is None:
        return "not listed"
    if not one.differs:
        return _AS_FILED
    return "more" if one.found > one.filed else "less"


def _sum(day_Ah) -> Text:
    filed, found = (sum(both[place] for both in day_Ah.values()) for place in (0, 1))
    return say(
        "What was switched comes to {} a day of this passage by the files, {} by the trial.",
        _AH(filed),
        _AH(found),
    )


def _remarks(found: SeaTrial, *, brief: bool):
    for one in found.draws:
        if one.open_because:
            yield f"{' + '.join(one.names)}, {_STATES[one.state]}: {one.open_because}."
    if found.always_A == found.always_A:  # not nan
        doubt_A = Z_80 * found.always_sd_A
        yield say(
            "Always on, whatever was switched: {}, give or take {}.",
            AMPS(found.always_A),
            AMPS(doubt_A),
        )
        if found.always_A < -doubt_A:
            yield (
                "That is a charge: cover the panels, stop the engine, unplug the shore lead, and "
                "read again. Until then no figure here can be trusted."
            )
    for name in found.unlisted:
        yield f"'{name}' was switched, and is not in loads.csv{_meant(name, found)}"
    if found.odd:
        yield (
            "Some readings do not follow from what was switched (said in full on the error "
            "stream). What they leave open is not told."
        )
    if not found.volts_read:
        yield "No volts were read, so watts are by the usual ones of such a bank: read them too."
    if found.misfit >= _SCATTERED:
        yield (
            f"The readings scatter {rounding.number(found.misfit, decimals=1)} times as far as a "
            "meter's should; the doubts here have been made as much larger."
        )
    if found.not_switched and not brief:
        yield joined(["Not on the sheet:", ", ".join(found.not_switched) + "."])


def _meant(name: str, found: SeaTrial) -> str:
    """What was meant, or that it is missing from the list."""
    known = [load.name for load in found.passage.loads]
    match = get_close_matches(name.casefold(), [one.casefold() for one in known], n=1)
    if not match:
        return ": add it there, it draws on the bank."
    return f"; did you mean '{next(one for one in known if one.casefold() == match[0])}'?"


def _watts(power_W: float) -> str:
    return rounding.number(power_W, decimals=1 if abs(power_W) < 10 else 0) + " W"


def _amperes(current_A: float) -> str:
    return rounding.number(current_A, decimals=2 if abs(current_A) < 10 else 1) + " A"


_FORMS = {"W": Kind(_watts), "A": Kind(_amperes)}
_AH = Kind(rounding.ah)
_TENTHS = Kind(lambda charge_Ah: rounding.number(charge_Ah, decimals=1))
