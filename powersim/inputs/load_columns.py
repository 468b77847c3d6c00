"""The columns of the load list: what each may hold, and how its cells are read."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from powersim.inputs.decimals import QUANTITY
from powersim.inputs.headings import CsvColumn
from powersim.inputs.sessions import each_of, failed_of, often_of, with_of
from powersim.inputs.text import LONGEST_NAME, ReadingError, did_you_mean, printable, quoted
from powersim.inputs.units import measure, to_float
from powersim.inputs.windows import window_of
from powersim.records import BOAT_STATES, PRIORITIES, ROLES, STATES, Load, bounds_of

_LONGEST_NOTE = 500  # characters; what is longer is cut
_ANY_STATE = "any"
_NOT = "not "
#: "hove to" and "at anchor" will do as well.
_SPOKEN_STATES = {words: state.name for state in STATES.values() for words in state.stops}

#: Headings often met for a required column, and what to rename them to.
LOAD_ALIASES = {
    "name": "load",
    "item": "load",
    "device": "load",
    "watts": "draw_W if it holds watts",
    "watt": "draw_W if it holds watts",
    "w": "draw_W if it holds watts",
    "power": "draw_W if it holds watts",
    "amps": "draw_A if it holds amperes",
    "amp": "draw_A if it holds amperes",
    "a": "draw_A if it holds amperes",
    "current": "draw_A if it holds amperes",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadColumn:
    """A column of the load list, how its cells are read, and what stands for an absent one.

    Attributes
    ----------
    column : CsvColumn
        Its name and what it holds.
    read : callable
        From a cell's text and the heading's unit to keyword arguments of Load.
    default : str or None
        What an empty cell means, as it could be written; None where there is no default.
    reason : str or None
        Why; None where it goes without saying.
    blank_is_normal : bool
        An empty cell in a column that is there needs no mention.
    """

    column: CsvColumn
    read: Callable[[str, str | None], dict[str, Any]]
    default: str | None = None
    reason: str | None = None
    blank_is_normal: bool = False


def _name(text: str, bare: str | None) -> dict[str, Any]:
    name = " ".join(text.split())
    if not name:
        raise ReadingError("is empty")
    if len(name) > LONGEST_NAME:
        raise ReadingError(f"{quoted(name)} is longer than {LONGEST_NAME} letters")
    if not name.isprintable():
        raise ReadingError(f"{quoted(name)} has characters that cannot be printed")
    return {"name": name}


def _draw(field: str) -> Callable[[str, str | None], dict[str, Any]]:
    def read(text: str, bare: str | None) -> dict[str, Any]:
        number, unit = measure(text, ("W", "A"), bare=bare)
        return _within(text, number, f"{field}_{unit}", unit)

    return read


def _within(text: str, number: float, field: str, unit: str) -> dict[str, Any]:
    """A field of Load, within its bounds."""
    most = bounds_of(Load, field).most
    if number < 0:
        raise ReadingError(f"{quoted(text)} is negative")
    if number > most:
        most_said = "100 %" if unit == "frac" else f"{most:g} {unit}".strip()
        raise ReadingError(f"{quoted(text)} is more than {most_said}")
    return {field: number}


def _count(text: str, bare: str | None) -> dict[str, Any]:
    if text.startswith("-"):
        raise ReadingError(f"{quoted(text)} is negative")
    if not re.fullmatch("[0-9]+", text):
        raise ReadingError(f"{quoted(text)} is not a whole number")
    if len(text) > 9:  # as many digits as nobody means take long to read
        raise ReadingError(f"{quoted(text)} is more than {bounds_of(Load, 'count').most:g}")
    return _within(text, int(text), "count", "")


def _when(text: str, bare: str | None) -> dict[str, Any]:
    words = [" ".join(word.split()).casefold() for word in text.split(";") if word.strip()]
    named = {_state(word) for word in words if not word.startswith(_NOT)}
    barred = {_state(word.removeprefix(_NOT)) for word in words if word.startswith(_NOT)}
    if not words or _ANY_STATE in barred:
        raise ReadingError(f"cannot read {quoted(text)}")
    everywhere = _ANY_STATE in named or not named  # "not berthed" alone is anywhere else
    return {"states": frozenset(BOAT_STATES if everywhere else named), "barred": frozenset(barred)}


def _state(word: str) -> str:
    spoken = _SPOKEN_STATES.get(word.replace("_", " "), word)
    return _one_of("state", spoken, (_ANY_STATE, *BOAT_STATES))


def _one_of(what: str, text: str, known: tuple[str, ...]) -> str:
    word = " ".join(text.casefold().replace("_", " ").split())
    if word not in known:
        raise ReadingError(f"unknown {what} {quoted(text)}" + did_you_mean(text, known))
    return word


def _choice(what: str, field: str, known: tuple[str, ...], none: str | None = None):
    def read(text: str, bare: str | None) -> dict[str, Any]:
        word = _one_of(what, text, known if none is None else (*known, none))
        return {field: None if word == none else word}

    return read


def _window(text: str, bare: str | None) -> dict[str, Any]:
    return {"window": window_of(text)}


def _on(text: str, bare: str | None) -> dict[str, Any]:
    number, unit = measure(text, ("frac", "h/day", "h"), bare=bare)
    if number < 0:
        raise ReadingError(f"{quoted(text)} is negative")
    if unit == "h":
        raise ReadingError(f"{quoted(text)} is a time, not a time a day")
    if unit == "frac":
        return _within(text, number, "on_frac", "frac") | {"on_h_per_day": None}
    if number > 24:
        raise ReadingError(f"{quoted(text)} is more than a day")
    return {"on_frac": None, "on_h_per_day": number}


def _of_session(
    read: Callable[[str], dict[str, Any]],
) -> Callable[[str, str | None], dict[str, Any]]:
    return lambda text, bare: read(text)


def _fuel(text: str, bare: str | None) -> dict[str, Any]:
    number = to_float(text, "L/h", bare=bare)
    return _within(text, number, "fuel_L_per_h", "L/h")


def _supply(text: str, bare: str | None) -> dict[str, Any]:
    return {"supply": " ".join(text.split())}


def _spread(text: str, bare: str | None) -> dict[str, Any]:
    return _within(text, to_float(text, "frac", bare=bare), "spread_frac", "frac")


def _note(text: str, bare: str | None) -> dict[str, Any]:
    return {"note": printable(" ".join(text.split()), longest=_LONGEST_NOTE)}


def _listed(words: tuple[str, ...]) -> str:
    return ", ".join(words[:-1]) + " or " + words[-1]


#: All columns of the load list, in the order of the documentation.
LOAD_COLUMNS = (
    LoadColumn(
        column=CsvColumn(name="load", meaning="its name", example="vhf", required=True), read=_name
    ),
    LoadColumn(
        column=CsvColumn(
            name="draw",
            meaning="power or current while on",
            example="36 W or 3 A",
            required=True,
            units=("W", "A"),
        ),
        read=_draw("draw"),
    ),
    LoadColumn(
        column=CsvColumn(
            name="standby",
            meaning="power or current in its window while not on",
            example="0.5 W or 40 mA",
            units=("W", "A"),
        ),
        read=_draw("standby"),
        default="0 W",
        reason="nothing on standby; measure it, it adds up",
        blank_is_normal=True,
    ),
    LoadColumn(
        column=CsvColumn(name="count", meaning="how many, a whole number", example="2"),
        read=_count,
        default="1",
        reason="one of each",
    ),
    LoadColumn(
        column=CsvColumn(
            name="when",
            meaning=f"any, or one or more of {_listed(BOAT_STATES)} joined by ;",
            example="sailing;motoring",
        ),
        read=_when,
        default="any",
        reason="used in every state of the boat",
    ),
    LoadColumn(
        column=CsvColumn(
            name="window",
            meaning="always, night, day or clock times in ship's time or UTC",
            example="06:00-06:30; 18:00-18:30",
        ),
        read=_window,
        default="always",
        reason="used at any hour",
    ),
    LoadColumn(
        column=CsvColumn(
            name="on",
            meaning="a share of the time",
            example="5 %, 2 h/day or 12 min/day",
            units=("frac", "h/day"),
        ),
        read=_on,
        default="100 %",
        reason="on for the whole of its window, the cautious guess",
    ),
    LoadColumn(
        column=CsvColumn(
            name="often",
            meaning="in place of on: how many a day, and of what size",
            example="3 messages/day or 2 downloads/day of 30 kB",
            holds=QUANTITY,
        ),
        read=_of_session(often_of),
        default="",
        blank_is_normal=True,
    ),
    LoadColumn(
        column=CsvColumn(
            name="each",
            meaning="with often: time of a try, how fast it sends, or time to get a link and both",
            example="4 min, 0.3 kB/s or 2 min + 0.3 kB/s",
            holds=QUANTITY,
        ),
        read=_of_session(each_of),
        default="",
        blank_is_normal=True,
    ),
    LoadColumn(
        column=CsvColumn(
            name="failed",
            meaning="with often: share of the tries that fail",
            example="20 %",
            units=("frac",),
        ),
        read=failed_of,
        default="0 %",
        blank_is_normal=True,
    ),
    LoadColumn(
        column=CsvColumn(
            name="with",
            meaning="with often: loads and supplies on meanwhile, or its own battery, joined by ;",
            example="navigation laptop; converter",
        ),
        read=_of_session(with_of),
        default="",
        blank_is_normal=True,
    ),
    LoadColumn(
        column=CsvColumn(
            name="temp", meaning="fridge, heater or none: what makes it run", example="fridge"
        ),
        read=_choice("rule", "temperature_rule", ("fridge", "heater"), none="none"),
        default="none",
        reason="runs the same in heat and cold",
        blank_is_normal=True,
    ),
    LoadColumn(
        column=CsvColumn(
            name="fuel", meaning="fuel burnt while on", example="0.15 L/h", units=("L/h",)
        ),
        read=_fuel,
        default="0 L/h",
        reason="burns no fuel",
        blank_is_normal=True,
    ),
    LoadColumn(
        column=CsvColumn(
            name="role", meaning=f"{_listed(ROLES)}, or none", example="sailing lights"
        ),
        read=_choice("role", "role", ROLES, none="none"),
        default="none",
        reason="so no load is known as navigation light, lookout, VHF, bilge pump or pilot",
        blank_is_normal=True,
    ),
    LoadColumn(
        column=CsvColumn(name="priority", meaning=_listed(PRIORITIES), example="essential"),
        read=_choice("priority", "priority", PRIORITIES),
        default="useful",
        reason="neither the first nor the last to be switched off",
    ),
    LoadColumn(
        column=CsvColumn(
            name="supply", meaning="dc, or the name of a supply in boat.toml", example="dc"
        ),
        read=_supply,
        default="dc",
        reason="straight from the bank",
    ),
    LoadColumn(
        column=CsvColumn(
            name="spread",
            meaning="how uncertain the draw is, one standard deviation",
            example="20 %",
            units=("frac",),
        ),
        read=_spread,
        default="0 %",
        reason="draw taken as exact",
    ),
    LoadColumn(
        column=CsvColumn(name="note", meaning="free text", example="measured"),
        read=_note,
        default="",
        blank_is_normal=True,
    ),
)
