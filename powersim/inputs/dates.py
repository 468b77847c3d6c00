"""A date and time as people and their spreadsheets write it: all that a single cell may mean.

`12/09/2026` is 12 September in one country and 9 December in another. What a cell alone cannot
tell stays open here; `date_columns` settles it from the whole column.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping
from datetime import UTC, date, datetime, time, timedelta, timezone
from types import MappingProxyType
from typing import NamedTuple

from powersim.inputs.boat_passage import FIRST_YEAR, LAST_YEAR, parse_depart
from powersim.inputs.text import ReadingError, quoted

#: The order of day, month and year; and what day 0 of a spreadsheet's bare numbers is.
DMY, MDY, YMD, FROM_1900, FROM_1904 = "dmy", "mdy", "ymd", "1900", "1904"
#: What can be read in one way alone.
PLAIN = "plain"
#: A spreadsheet's day 0, with which 1 March 1900 and all that follow come out right; and the one
#: of old Macintosh spreadsheets. (ECMA-376, 18.17.4.1, and common practice)
_DAY_0 = {FROM_1900: date(1899, 12, 30), FROM_1904: date(1904, 1, 1)}
_LONGEST = 60  # characters
_MONTHS_IN_WORDS = (  # English, German, French, Spanish, Italian, Portuguese, Dutch; from memory
    "january januar janner janvier enero gennaio janeiro januari",
    "february februar feber fevrier febrero febbraio fevereiro februari",
    "march marz maerz mrz mars marzo marco maart mrt",
    "april avril abril aprile",
    "may mai mayo maggio maio mei",
    "june juni juin junio giugno junho",
    "july juli juillet julio luglio julho",
    "august aout agosto augustus",
    "september septembre septiembre settembre setembro",
    "october oktober octobre octubre ottobre outubro",
    "november novembre noviembre novembro",
    "december dezember decembre diciembre dicembre dezembro",
)
_NUMBERS = re.compile(r"(\d{1,4})\s?([-/.])\s?(\d{1,2})\s?\2\s?(\d{1,4})(?![\d/-])\.?")
_COMPACT = re.compile(r"(\d{4})(\d\d)(\d\d)(?=$|[ t])")
_SERIAL = re.compile(r"(\d{5})(?:[.,](\d+))?(?=$| )")
_GAP = r"[\s./-]*(?:de\s)?"
_DAY_MONTH = re.compile(
    rf"(\d{{1,2}})(?:st|nd|rd|th|er)?{_GAP}([^\W\d_]{{3,}}){_GAP},?\s?(\d{{4}}|\d\d)(?!\d|\s?[:h]\s?\d|\.\d)"
)
_MONTH_DAY = re.compile(
    rf"([^\W\d_]{{3,}}){_GAP}(\d{{1,2}})(?:st|nd|rd|th)?,?{_GAP}(\d{{4}})(?!\d)"
)
_YEAR_MONTH = re.compile(rf"(\d{{4}}){_GAP}([^\W\d_]{{3,}}){_GAP}(\d{{1,2}})(?!\d)")
_CLOCK = re.compile(
    r"""
    (?P<hour>\d{1,2})
    (?: \s?[:.h]\s?(?P<minute>\d\d) (?:[:.](?P<second>\d\d)(?:[.,]\d{1,6})?)? | (?P<dense>\d\d) )?
    (?: \s?(?P<half>[ap])\.?\s?m\.? | (?<=\d)\s?(?P<word>h|uhr) )?
    \s?(?P<zone> z | utc | gmt | (?:utc|gmt)?[+-]\d\d:?\d\d )?
    """,
    re.VERBOSE,
)


class Clock(NamedTuple):
    """A time of the day, and how far its clock is ahead of UTC where that is written."""

    time: time
    offset: timedelta | None


def plain_text(text: str) -> str:
    """A cell with one kind of blank, of dash and of small letters.

    Parameters
    ----------
    text : str
        As typed.

    Examples
    --------
    >>> plain_text("12.\\u00a0August 2026  8:00")
    '12. august 2026 8:00'
    """
    dashes = str.maketrans(dict.fromkeys("\N{MINUS SIGN}\N{EN DASH}\N{HYPHEN}", "-"))
    return " ".join(text.translate(dashes).split()).casefold()


def readings_of(text: str) -> Mapping[str, datetime]:
    """Every moment that a cell may mean.

    Parameters
    ----------
    text : str
        A date with a time of the day.

    Returns
    -------
    mapping of str to datetime
        In UTC, which it is unless an offset stands behind it. Under PLAIN alone, or under those of
        DMY, MDY, YMD, FROM_1900 and FROM_1904 by which it can be read.

    Raises
    ------
    ReadingError
        With a `reason`, if it is no date, has no time of the day, or cannot be of the calendar.

    Examples
    --------
    >>> {order: str(moment)[:16] for order, moment in readings_of("12/09/2026 8:00 AM").items()}
    {'dmy': '2026-09-12 08:00', 'mdy': '2026-12-09 08:00'}
    """
    plain = plain_text(text)
    if len(plain) > _LONGEST:
        raise ReadingError(f"{quoted(text)} is too long for a date")
    if re.match(r"\d{4}-\d\d-\d\d(?!\d)", plain):
        found = _iso(text, plain)
        if found is not None:
            return MappingProxyType({PLAIN: found})
    days, rest = _days(text, plain)
    if PLAIN not in days and days.keys() & _DAY_0.keys() and isinstance(rest, float):
        seconds = timedelta(seconds=round(86_400 * rest))
        return {order: _utc(day, time()) + seconds for order, day in days.items()}
    assert isinstance(rest, str), "a share of the day goes with bare numbers alone"
    clock = clock_of(rest, quoted(text))
    return {order: _utc(day, *clock) for order, day in days.items()}


def _iso(text: str, plain: str) -> datetime | None:
    """Year first, as ISO 8601 has it; None where its time is written otherwise."""
    try:
        moment, time_given = parse_depart(plain)
    except ReadingError as error:
        if "in the calendar" not in error.reason and "between" not in error.reason:
            return None
        if re.fullmatch(r"\S+[t ]\d\d?:\d\d(?::\d\d)?\s?[ap]\.?m\.?", plain):
            return None  # an hour of twelve, which ISO has not
        raise ReadingError(error.reason.replace(repr(plain), quoted(text))) from None
    if not time_given:
        raise _no_time(quoted(text))
    return moment


def _no_time(shown: str) -> ReadingError:
    return ReadingError(f"{shown} has no time of the day")


def _utc(day: date, clock: time, offset: timedelta | None = None) -> datetime:
    zone = UTC if offset is None else timezone(offset)
    return datetime.combine(day, clock, tzinfo=zone).astimezone(UTC)


def _days(text: str, plain: str) -> tuple[dict[str, date], str | float]:
    """The days that a cell may mean, and what stands behind the date: text, or a share of a day."""
    found = re.match(_COMPACT, plain)
    if found:
        named = [(PLAIN, found[1], found[2], found[3])]
        return _of_calendar(text, named), plain[found.end() :]
    found = re.match(_SERIAL, plain)
    if found:
        day_0 = {order: day + timedelta(days=int(found[1])) for order, day in _DAY_0.items()}
        rest = plain[found.end() :]
        return day_0, rest if found[2] is None or rest else _share(text, found[2])
    found = re.match(_NUMBERS, plain)
    if found:
        return _of_calendar(text, _in_numbers(found)), plain[found.end() :]
    for pattern in (_DAY_MONTH, _MONTH_DAY, _YEAR_MONTH):
        found = re.match(pattern, plain)
        if found:
            return _of_calendar(text, _in_words(pattern, found)), plain[found.end() :]
    raise ReadingError(f"cannot read {quoted(text)} as a date")


def _share(text: str, digits: str) -> float:
    """The share of a day behind a bare number, where it is fine enough for a time."""
    share = float(f"0.{digits}")
    minutes = 1_440 * share
    if len(digits) < 4 and abs(minutes - round(minutes)) > 1e-6:
        raise ReadingError(f"{quoted(text)} has been rounded; its time of the day is lost")
    return share


def _in_numbers(found: re.Match[str]) -> Iterator[tuple[str, str, str, str]]:
    """Order, year, month and day of three numbers, in every order that they may stand in."""
    first, sign, second, third = found.groups()
    if len(first) == 4 and len(third) <= 2:
        yield PLAIN, first, second, third
    elif len(first) <= 2 and len(third) == 4:
        yield DMY, third, second, first
        if sign != ".":  # no country writes the month first with points (common practice)
            yield MDY, third, first, second
    elif len(first) <= 2 and len(third) == 2:
        yield DMY, third, second, first
        if sign != ".":
            yield MDY, third, first, second
        if len(first) == 2:
            yield YMD, first, second, third


def _in_words(
    pattern: re.Pattern[str], found: re.Match[str]
) -> Iterator[tuple[str, str, str, str]]:
    first, second, third = found.groups()
    if pattern is _YEAR_MONTH:
        yield PLAIN, first, str(_month(second)), third
    elif pattern is _MONTH_DAY:
        yield PLAIN, third, str(_month(first)), second
    elif len(third) == 4:
        yield PLAIN, third, str(_month(second)), first
    else:
        yield DMY, third, str(_month(second)), first
        if len(first) == 2:
            yield YMD, first, str(_month(second)), third


def _month(word: str) -> int:
    """The number of a month by its name or the beginning of it; 0 for none, or for several."""
    letters = unicodedata.normalize("NFKD", word)
    plain = "".join(sign for sign in letters if not unicodedata.combining(sign))
    found = {
        number
        for number, names in enumerate(_MONTHS_IN_WORDS, start=1)
        if any(name.startswith(plain) for name in names.split())
    }
    return found.pop() if len(found) == 1 else 0


def _of_calendar(text: str, named: Iterator[tuple[str, str, str, str]] | list) -> dict[str, date]:
    """Those days that are in the calendar; a year of two digits is one of this century."""
    days, any_named = {}, False
    for order, year, month, day in named:
        any_named = True
        whole = int(year) + (2_000 if len(year) == 2 else 0)
        try:
            made = date(whole, int(month), int(day))
        except ValueError:
            continue
        if FIRST_YEAR <= whole <= LAST_YEAR:
            days[order] = made
    if days:
        return days
    if any_named:
        raise ReadingError(
            f"{quoted(text)} is no day of the calendar from {FIRST_YEAR} to {LAST_YEAR}"
        )
    raise ReadingError(f"cannot read {quoted(text)} as a date")


def clock_of(text: str, shown: str) -> Clock:
    """The time of the day that stands behind a date, or alone in its own cell.

    Parameters
    ----------
    text : str
        As `plain_text` has it.
    shown : str
        The whole cell in quotation marks, for messages.

    Raises
    ------
    ReadingError
        With a `reason`, if there is none or it is none.

    Examples
    --------
    >>> clock_of("8:05 pm", "...").time.isoformat(), clock_of("8h05", "...").time.isoformat()
    ('20:05:00', '08:05:00')
    """
    rest = re.sub(r"^(?:[t,]|um|at|a|à)?\s*", "", text.strip(), count=1)
    if not rest:
        raise _no_time(shown)
    found = _CLOCK.fullmatch(rest)
    if found is None:
        raise ReadingError(f"cannot read the time of the day in {shown}")
    hour, minute = int(found["hour"]), found["minute"] or found["dense"]
    if minute is None and found["half"] is None and found["word"] is None:
        raise ReadingError(f"cannot read the time of the day in {shown}")
    if found["half"]:
        if not 1 <= hour <= 12:
            raise ReadingError(f"there is no such hour before or after noon: {shown}")
        hour = hour % 12 + (12 if found["half"] == "p" else 0)
    try:
        clock = time(hour, int(minute or 0), int(found["second"] or 0))
    except ValueError:
        raise ReadingError(f"there is no such time of the day: {shown}") from None
    return Clock(clock, _offset(found["zone"]))


def _offset(zone: str | None) -> timedelta | None:
    digits = re.search(r"([+-])(\d\d):?(\d\d)", zone or "")
    if digits is None:
        return None
    ahead = timedelta(hours=int(digits[2]), minutes=int(digits[3]))
    if ahead >= timedelta(hours=24):
        raise ReadingError(f"{quoted(digits[0])} is no offset from UTC")
    return -ahead if digits[1] == "-" else ahead
