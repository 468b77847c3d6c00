"""What is said of a leg or a stop, in route.csv and as boat.toml's settings for every leg."""

from __future__ import annotations

import re
from typing import Any

from powersim.inputs.text import ReadingError, did_you_mean, quoted
from powersim.inputs.units import measure, to_float
from powersim.records import STATES, TACKS, TRACKS, Waypoint, bounds_of

_STOP_STATES = {words: state.name for state in STATES.values() for words in state.stops}
_STOP = re.compile(rf"(.*?)\s*({'|'.join(_STOP_STATES)})?", re.IGNORECASE)
_MOTORING = re.compile(
    r"(?P<amount>.+?)\s+(?P<when>at (?:the )?start|at (?:the )?end|of (?:the )?calms?)",
    re.IGNORECASE,
)
_OKTAS = re.compile(r"([0-8](?:\.\d+)?)\s*/\s*8")

Fields = dict[str, Any]


def read_speed(text: str, bare: str | None = None) -> Fields:
    """Speed made good, such as `4.5 kn`."""
    speed_kn = to_float(text, "kn", bare=bare)
    if not speed_kn > 0:
        raise ReadingError(f"{quoted(text)} never arrives")
    return _within(text, speed_kn, "speed_kn", "kn")


def read_stop(text: str, bare: str | None = None) -> Fields:
    """A stop and how the boat lies, such as `4 days berthed` or `36 h hove-to`."""
    found = _STOP.fullmatch(text.strip())
    if found is None:  # a line break within a cell
        raise ReadingError(f"cannot read {quoted(text)}")
    length, state = found.groups()
    stop_h = to_float(length, "h", bare=bare)
    if stop_h not in bounds_of(Waypoint, "stop_h"):
        raise ReadingError(f"{quoted(text)} is not between 0 days and 366 days")
    if state is None:
        return {"stop_h": stop_h}
    return {"stop_h": stop_h, "stop_state": _STOP_STATES[state.casefold()]}


def read_track(text: str, bare: str | None = None) -> Fields:
    """`great circle` or `rhumb`."""
    return {"track": _word(text.casefold().replace(" line", ""), TRACKS, typed=text)}


def read_tack(text: str, bare: str | None = None) -> Fields:
    """`port`, `starboard` or `both`."""
    return {"tack": _word(text, TACKS, typed=text)}


def read_motoring(text: str, bare: str | None = None) -> Fields:
    """Time under power, such as `2 h at start; 3 h at end; 60 % of calms`, or `none`."""
    fields: Fields = {}
    parts = [part.strip() for part in text.split(";") if part.strip()]
    for part in parts:
        if part.casefold() in ("none", "0", "0 h"):
            continue
        field, value = _motoring_part(part, typed=text)
        if field in fields:
            raise ReadingError(f"{quoted(text)} says one thing twice")
        fields[field] = value
    return fields


def _motoring_part(part: str, *, typed: str) -> tuple[str, float]:
    found = _MOTORING.fullmatch(part)
    if not found:
        raise ReadingError(f"cannot read {quoted(typed)}")
    amount, when = found["amount"], found["when"].casefold().split()[-1]
    if when.startswith("calm"):
        share = to_float(amount, "frac")
        if share not in bounds_of(Waypoint, "motoring_calm_frac"):
            raise ReadingError(f"{quoted(amount)} of calms is not between 0 % and 100 %")
        return "motoring_calm_frac", share
    hours = to_float(amount, "h")
    if hours not in bounds_of(Waypoint, f"motoring_{when}_h"):
        raise ReadingError(f"{quoted(amount)} under power is not between 0 days and 366 days")
    return f"motoring_{when}_h", hours


def read_heel(text: str, bare: str | None = None) -> Fields:
    """Heel to leeward, such as `12 deg`."""
    return _within(text, to_float(text, "deg", bare=bare), "heel_deg", "deg")


def read_wind(text: str, bare: str | None = None) -> Fields:
    """True wind, such as `15 kn`."""
    return _within(text, to_float(text, "m/s", bare=bare), "wind_m_s", "m/s")


def read_cabin(text: str, bare: str | None = None) -> Fields:
    """Temperature below, such as `18 degC`."""
    return _within(text, to_float(text, "degC", bare=bare), "cabin_C", "degC")


def read_cloud(text: str, bare: str | None = None) -> Fields:
    """Cloud cover in eighths, such as `6 oktas`, `6/8` or `6`."""
    eighths = _OKTAS.fullmatch(text.strip())
    oktas = float(eighths[1]) if eighths else measure(text, ("okta",), bare=bare or "okta")[0]
    return _within(text, oktas, "cloud_oktas", "oktas")


def _within(text: str, number: float, field: str, unit: str) -> Fields:
    """A field of Waypoint, within its bounds."""
    bounds = bounds_of(Waypoint, field)
    if number not in bounds:
        ends = f"{bounds.least:g} {unit} and {bounds.most:g} {unit}"
        raise ReadingError(f"{quoted(text)} is not between {ends}")
    return {field: number}


def _word(text: str, known: tuple[str, ...], *, typed: str) -> str:
    word = " ".join(text.casefold().replace("_", " ").split())
    if word not in known:
        raise ReadingError(f"{quoted(typed)} is not known here{did_you_mean(word, known)}")
    return word
