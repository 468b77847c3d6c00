"""An entry of the log read from one line of a short message, as `line_told` writes it.

`12SEP 0630Z 52-10.5N 027-31.0W 12.45V REST3H ENG1234.5H DIP23.5CM SUN182AH CK87`: pieces in any
order with a blank between them, each with its unit, capitals or not. It is made to be read aloud.
What a piece may hold is what the column of log.csv may.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import NamedTuple

from powersim.errors import InputError, Problem
from powersim.inputs.decimals import QUANTITY, Decimals, with_points
from powersim.inputs.line_told import MONTHS, check_of
from powersim.inputs.log_columns import LogColumn, log_columns
from powersim.inputs.text import ReadingError, quoted
from powersim.records import Log, LogEntry
from powersim.records.gsm import MOST_LETTERS

EXAMPLE = "12SEP 0630Z 52-10.5N 027-31.0W 12.45V REST3H ENG1234.5H DIP23.5CM"
#: What lines are called in messages, where they come from no file.
LINES = "line"
#: The word of a piece and the column of log.csv that it fills; the first word of each is written.
WORDS = {
    "soc": ("SOC",),
    "resting_h": ("REST", "RESTED"),
    "engine_h": ("ENG", "ENGINE"),
    "gear_h": ("GEAR",),
    "dip": ("DIP",),
    "cans_left": ("CANS", "CAN"),
    "absorb_A": ("ABS", "ABSORB"),
    "fuel_added": ("ADD", "ADDED"),
    "solar_Ah": ("SUN", "SOLAR"),
    "monitor_Ah": ("MON", "MONITOR"),
    "cloud": ("CLOUD",),
    "current": ("AMPS",),
}
_OUT, _IN = ("OUT",), ("IN", "INTO")
_NUMBER = r"[-+\N{MINUS SIGN}]?\d+(?:[.,]\d+)*"
_UNIT = r"(?:%|M?AH?|V|H|HRS?|HOURS?|MIN|[CM]?M|IN|FT|M?L|(?:US|UK|IMP)?\s?GAL|OKTAS?)?"
_END = r"(?![^\s;,])"
_DEGREES = r"\d{1,3}(?:\.\d+)?(?:[\s°-]+\d{1,2}(?:[.,]\d+)?)?\s?'?\s?"
_COLUMN_OF = {word: name for name, words in WORDS.items() for word in words}
_ALL_WORDS = sorted((*_COLUMN_OF, *_OUT, *_IN), key=len, reverse=True)
_FLAGS = re.IGNORECASE | re.ASCII
#: What a piece may be, tried in this order where the one before ends.
_PIECES = {
    "note": re.compile(r"NOTE\b[:\s]*(?P<note>.*)", _FLAGS),
    "check": re.compile(r"(?:CK|CHECK)\s*(?P<sum>\d{1,3})" + _END, _FLAGS),
    "iso": re.compile(
        r"(?P<iso>\d{4}-\d\d-\d\d)[T\s]+(?P<hour>\d\d):?(?P<minute>\d\d)\s?(?P<zone>Z|UTC|SHIP)?"
        + _END,
        _FLAGS,
    ),
    "time": re.compile(
        rf"(?P<day>\d{{1,2}})[\s-]?(?P<month>{'|'.join(MONTHS)})[A-Z]*"
        r"(?:[\s-]?(?P<year>\d{4}|\d\d))?[\s,]+(?P<hour>\d{1,2})"
        r"(?::(?P<minute>\d\d)\s?(?P<zone>Z|UTC|SHIP)?|(?P<dense>\d\d)\s?(?P<named>Z|UTC|SHIP))"
        + _END,
        _FLAGS,
    ),
    "position": re.compile(rf"(?P<position>{_DEGREES}[NS][\s,/]*{_DEGREES}[EW]){_END}", _FLAGS),
    "needle": re.compile(rf"NEEDLE\s*(?P<mark>E|F|\d/\d|\d+(?:[.,]\d+)?\s?%){_END}", _FLAGS),
    "word": re.compile(
        rf"(?P<word>{'|'.join(_ALL_WORDS)})\s*(?P<value>{_NUMBER}(?:\s?[X*]\s?\d+|\s?/\s?8)?"
        rf"\s?{_UNIT}){_END}",
        _FLAGS,
    ),
    "bare": re.compile(rf"(?P<value>{_NUMBER}\s?(?P<unit>V|%|A)){_END}", _FLAGS),
}
_BARE = {"V": "voltage", "%": "soc", "A": "current"}
_BEFORE = timedelta(days=30)
#: Where nothing of a file can be used, the first of its mistakes are enough.
_MOST_TOLD = 3
_EXPECTED = f"pieces such as {EXAMPLE}"


class _Clock(NamedTuple):
    """A time as its line has it; the year is 0 where that is left out."""

    year: int
    month: int
    day: int
    hour: int
    minute: int
    zone: str


@dataclass(slots=True)
class _Work:
    """What has been found in a line so far."""

    fields: dict[str, object] = field(default_factory=dict)
    names: dict[str, str] = field(default_factory=dict)
    faults: list[tuple[str, str]] = field(default_factory=list)
    strangers: list[str] = field(default_factory=list)
    clock: _Clock | None = None
    check: int | None = None


def read_lines(
    texts: Iterable[str],
    *,
    file: str,
    can_L: float | None = None,
    within: tuple[datetime, datetime] | None = None,
) -> Log:
    """Entries of lines, one a line; empty ones and those that begin with # are passed over.

    Parameters
    ----------
    texts : iterable of str
        The lines.
    file : str
        Where they come from, for messages.
    can_L : float or None
        What one jerrycan holds. [L]
    within : tuple of datetime or None
        Departure, and the latest that an entry may be: which year a time without one is of.

    Raises
    ------
    InputError
        If nothing of them can be used.
    """
    entries: list[LogEntry] = []
    problems: list[Problem] = []
    columns = {each.column.name: each for each in log_columns(can_L)}
    for number, text in enumerate(texts, start=1):
        if not text.strip() or text.lstrip().startswith("#"):
            continue
        entry, faults = _entry(" ".join(text.split()), file, number, columns, within)
        problems += faults
        entries += [] if entry is None else [entry]
    if not entries:
        told = problems[:_MOST_TOLD]
        if not told or len(problems) > len(told):
            told.append(Problem(file=file, text="holds no line of the log", expected=_EXPECTED))
        raise InputError(told)
    return Log(entries=tuple(entries), set_aside=tuple(problems))


def _entry(
    text: str,
    file: str,
    number: int,
    columns: Mapping[str, LogColumn],
    within: tuple[datetime, datetime] | None,
) -> tuple[LogEntry | None, list[Problem]]:
    """The entry of a line, or None where it cannot be trusted; and what is wrong with it."""

    def problem(reason: str, expected: str = _EXPECTED) -> Problem:
        return Problem(file=file, line=number, text=reason, expected=expected, row=text)

    if len(text) > MOST_LETTERS:
        reason = f"has {len(text)} letters; a message of {MOST_LETTERS} has lost its end"
        return None, [problem(reason, f"at most {MOST_LETTERS} letters: two lines, each its time")]
    work = _Work()
    _cut(text, work, columns)
    begin, end = _check_at(text)
    made = check_of(text[:begin] + text[end:])
    if work.check is not None and work.check != made:
        reason = f"its digits add up to {made}, not to {work.check}: one of them is wrong"
        return None, [problem(reason, "the same line again, digit by digit")]
    problems = [problem(reason, expected) for reason, expected in work.faults]
    if work.strangers:
        problems.append(problem(f"cannot read {', '.join(map(quoted, work.strangers))}"))
    if work.clock is None:
        reason = "says no time that can be read"
        return None, [problem(reason, "day, month and time with Z or SHIP, such as 12SEP 0630Z")]
    try:
        when = _moment(work.clock, within)
    except ReadingError as error:
        return None, [*problems, problem(error.reason, "a year too, such as 12SEP26 0630Z")]
    given: dict = {
        "clock_s": when.timestamp(),
        "in_ship_time": work.clock.zone == "SHIP",
        **work.fields,
    }
    return LogEntry(file=file, line=number, row=text, **given), problems


def _check_at(text: str) -> tuple[int, int]:
    """Where the check of a line begins and ends."""
    found = list(re.finditer(r"(?<!\S)" + _PIECES["check"].pattern, text, _FLAGS))
    return found[-1].span() if found else (len(text), len(text))


def _cut(text: str, work: _Work, columns: Mapping[str, LogColumn]) -> None:
    """Cut a line into its pieces, and read each."""
    begin, _ = _check_at(text)
    at = 0
    while at < len(text):
        if text[at] in " ,;/":
            at += 1
            continue
        for kind, pattern in _PIECES.items():
            limit = begin if kind == "note" and at < begin else len(text)
            found = pattern.match(text, at, limit)
            if found is not None:
                _take(kind, found, work, columns)
                at = found.end()
                break
        else:
            stranger = re.match(r"\S+", text[at:])
            assert stranger is not None, "no blank begins a piece"
            work.strangers.append(stranger.group())
            at += stranger.end()


def _take(kind: str, found: re.Match[str], work: _Work, columns: Mapping[str, LogColumn]) -> None:
    given = found.groupdict()
    if kind == "check":
        work.check = int(given["sum"])
    elif kind in ("iso", "time"):
        clock = _clock(given)
        if work.clock is not None and work.clock != clock:
            work.faults.append((f"{quoted(found.group())} is a second time", "one time a line"))
        work.clock = work.clock or clock
    elif kind == "note":
        if given["note"].strip():
            _fill("note", given["note"].strip(), found.group(), work, columns)
    elif kind == "position":
        _fill("position", given["position"], found.group(), work, columns)
    elif kind == "needle":
        _fill("needle", given["mark"], found.group(), work, columns)
    elif kind == "word":
        _fill_word(given["word"].upper(), given["value"], found.group(), work, columns)
    elif _BARE[given["unit"].upper()] == "current" and given["value"][0].isdigit():
        reason = f"{quoted(found.group())} does not say which way: out of the bank, or into it"
        work.faults.append((reason, "OUT3.2A or IN3.2A"))
    else:
        _fill(_BARE[given["unit"].upper()], given["value"], found.group(), work, columns)


def _fill_word(
    word: str, value: str, piece: str, work: _Work, columns: Mapping[str, LogColumn]
) -> None:
    if word in (*_OUT, *_IN):
        if not value[0].isdigit() or not value.upper().rstrip().endswith("A"):
            reason = f"{quoted(piece)} is no current"
            work.faults.append((reason, "OUT3.2A or IN3.2A, without a sign"))
            return
        sign = "-" if word in _OUT else ""
        _fill("current", sign + value, piece, work, columns)
    else:
        _fill(_COLUMN_OF[word], value, piece, work, columns)


def _fill(name: str, value: str, piece: str, work: _Work, columns: Mapping[str, LogColumn]) -> None:
    """Read a piece as the column's cell; what stands there twice counts not at all."""
    column = columns[name]
    assert column.read is not None, "times are read otherwise"
    if name in work.names:
        if work.names[name] == value:
            return
        reason = f"says {quoted(work.names[name])} and {quoted(value)} of the same"
        work.faults.append((f"{reason}; neither counts", "each once"))
        for field_name in column.read(_plain(name, work.names[name]), None):
            work.fields.pop(field_name, None)
        return
    try:
        work.fields |= column.read(_plain(name, value), None)
        work.names[name] = value
    except ReadingError as error:
        reason = error.reason if quoted(piece) in error.reason else f"{piece}: {error.reason}"
        work.faults.append((reason, column.column.expected))


def _plain(name: str, value: str) -> str:
    """A piece as its column's cell has it."""
    if name in ("note", "needle"):
        return value.upper() if name == "needle" else value
    if name == "position":
        return re.sub(r"(?<=\d),(?=\d)", ".", value.upper())
    lower = with_points(value.lower(), QUANTITY, Decimals())
    return re.sub(r"(?<=\d)\s?(?=[a-z%])", " ", lower)


def _clock(given: Mapping[str, str | None]) -> _Clock:
    hour, minute = int(given["hour"] or 0), int(given["minute"] or given.get("dense") or 0)
    zone = (given["zone"] or given.get("named") or "").upper()
    if given.get("iso"):
        year, month, day = map(int, str(given["iso"]).split("-"))
    else:
        written = given["year"] or ""
        year = int(written or 0) + (2_000 if len(written) == 2 else 0)
        month = MONTHS.index(str(given["month"]).upper()) + 1
        day = int(given["day"] or 0)
    return _Clock(year, month, day, hour, minute, "SHIP" if zone == "SHIP" else "Z")


def _moment(clock: _Clock, within: tuple[datetime, datetime] | None) -> datetime:
    """The moment, in the one year of the passage that it can be of where it names none."""
    if clock.year:
        return _in_year(clock.year, clock)
    if within is None:
        raise ReadingError("names no year")
    first, last = within[0] - _BEFORE, within[1]
    found = []
    for year in range(first.year, last.year + 1):
        try:
            moment = _in_year(year, clock)
        except ReadingError:
            continue
        if first <= moment <= last:
            found.append(moment)
    if len(found) != 1:
        why = "may be of several years" if found else "is within no year of the passage"
        raise ReadingError(f"names no year, and {clock.day}{MONTHS[clock.month - 1]} {why}")
    return found[0]


def _in_year(year: int, clock: _Clock) -> datetime:
    try:
        return datetime(year, clock.month, clock.day, clock.hour, clock.minute, tzinfo=UTC)
    except ValueError:
        day = f"{clock.day}{MONTHS[clock.month - 1]}"
        time = f"{clock.hour:02d}{clock.minute:02d}"
        raise ReadingError(f"{day} {time} is not in the calendar, or not on the clock") from None
