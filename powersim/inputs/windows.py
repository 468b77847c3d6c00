"""The hours of the day in which a load may be on, as the sailor writes them."""

from __future__ import annotations

import itertools
import re

from powersim.inputs.text import ReadingError, did_you_mean, quoted
from powersim.records import Window

_WORDS = ("always", "night", "day")
_ZONE = re.compile(r"\s+(utc|ship(?:'s time)?)$", re.IGNORECASE)
_SPAN = re.compile(r"(\d{1,2}):(\d{2})\s*[-–—]\s*(\d{1,2}):(\d{2})", re.ASCII)


def window_of(text: str) -> Window:
    """The window that a cell names.

    Parameters
    ----------
    text : str
        "always", "night", "day", or spans such as "06:00-06:30; 18:00-18:30", in ship's time
        unless UTC stands after them. A span that ends before it begins spans midnight; no two
        may overlap.

    Raises
    ------
    ReadingError
        With a `reason`, if it is none of these.

    Examples
    --------
    >>> window_of("22:00-06:00 UTC").spans_h
    ((22.0, 6.0),)
    """
    plain = text.strip()
    if plain.casefold() in _WORDS:
        return Window(kind=plain.casefold())
    parts = [part.strip() for part in plain.split(";") if part.strip()]
    zones = {zone[1].casefold()[:3] for part in parts if (zone := _ZONE.search(part))}
    if len(zones) > 1:
        raise ReadingError(f"{quoted(text)} mixes UTC and ship's time")
    spans_h = tuple(_span_h(_ZONE.sub("", part), typed=text) for part in parts)
    if not spans_h:
        raise ReadingError(f"cannot read {quoted(text)}")
    if _overlap(spans_h):
        raise ReadingError(f"{quoted(text)} has spans that overlap")
    return Window(kind="clock", spans_h=spans_h, utc="utc" in zones)


def open_h(window: Window | None) -> float:
    """The longest that a window can be open in a day, whatever the latitude. [h]"""
    if window is None or window.kind != "clock":
        return 24.0
    return sum((end_h - start_h) % 24 or 24.0 for start_h, end_h in window.spans_h)


def _overlap(spans_h: tuple[tuple[float, float], ...]) -> bool:
    pieces = []
    for start_h, end_h in spans_h:
        if end_h > start_h:
            pieces.append((start_h, end_h))
        else:
            pieces += [(start_h, 24.0), (0.0, end_h)]
    pieces.sort()
    return any(after[0] < before[1] for before, after in itertools.pairwise(pieces))


def _span_h(span: str, *, typed: str) -> tuple[float, float]:
    clock = _SPAN.fullmatch(span)
    if clock is None:
        raise ReadingError(f"cannot read {quoted(typed)}" + did_you_mean(typed.strip(), _WORDS))
    start_hour, start_minute, end_hour, end_minute = (int(part) for part in clock.groups())
    start_h = _clock_h(start_hour, start_minute, typed) % 24  # 24:00 begins the next day
    end_h = _clock_h(end_hour, end_minute, typed)
    if start_h == end_h:
        raise ReadingError(f"{quoted(typed)} ends as it begins; write always for the whole day")
    return start_h, end_h


def _clock_h(hour: int, minute: int, typed: str) -> float:
    if minute > 59 or hour + minute / 60 > 24:
        raise ReadingError(f"{quoted(typed)}: there is no {hour:02d}:{minute:02d} on a clock")
    return hour + minute / 60
