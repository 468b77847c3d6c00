"""Sessions as the load list has them: how often, how long each, how many fail, and what is on."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import fields
from typing import Any

from powersim.errors import Problem
from powersim.inputs.table import CsvRow, problem_at
from powersim.inputs.text import ReadingError, did_you_mean, quoted
from powersim.inputs.units import UnitError, split, to_float
from powersim.records import Session, bounds_of

OFTEN = "how many a day, for example 3 messages/day or 2 downloads/day of 30 kB"
EACH = "time of a try, for example 4 min, 0.3 kB/s or 2 min + 0.3 kB/s"
FAILED = "share of the tries that fail, for example 20 %"
WITH = "loads or supplies that are on meanwhile, for example navigation laptop; converter"
#: The columns that make sessions. The first is there in each of them.
COLUMNS = ("often", "each", "failed", "with")
_LONGEST_WORD = 30
_MINUTES = 60.0
#: Beyond these it was hardly meant; our judgement. [h], [1/day]
_LONG_TRY_H = 2.0
_MANY_A_DAY = bounds_of(Session, "per_day").most / 10.0
_PER_DAY = {"day": 1.0, "week": 7.0}
_OFTEN = re.compile(
    r"(?P<count>[0-9.]+)\s*(?P<words>[^/]*?)\s*(?:/\s*|\s+(?:an?|per)\s+)(?P<time>day|week)"
    r"(?:\s+of\s+(?P<size>.+))?",
    re.IGNORECASE,
)
#: Bits and bytes differ by eight and by a capital alone, which counts here. [kB]
_SIZES = {"B": 1e-3, "kB": 1.0, "KB": 1.0, "MB": 1e3, "bit": 1.25e-4, "kbit": 0.125, "Mbit": 125.0}
_AMBIGUOUS = {"kb", "Kb", "mb", "Mb", "b", "kbps", "bps", "kb/s", "kBps"}


def often_of(text: str) -> dict[str, Any]:
    """How many a day, what they are called, and how much each of them sends.

    Parameters
    ----------
    text : str
        Such as "3 messages/day", "2 downloads a day of 30 kB", "1 weather chart/week" or "2/day".

    Returns
    -------
    dict
        Keyword arguments of Session.

    Raises
    ------
    ReadingError
        With a `reason`, if it is none of these.

    Examples
    --------
    >>> often_of("2 downloads/day of 30 kB")
    {'per_day': 2.0, 'word': 'download', 'words': 'downloads', 'size_kB': 30.0}
    >>> often_of("1 weather chart/week")["words"]
    'weather charts'
    """
    plain = " ".join(text.split())
    found = _OFTEN.fullmatch(plain)
    if found is None:
        raise ReadingError(f"cannot read {quoted(text)}")
    count, _ = split(found["count"])
    per_day = count / _PER_DAY[found["time"].casefold()]
    if not per_day > 0.0:
        raise ReadingError(f"{quoted(text)} is none at all; a count of 0 leaves the load off")
    if per_day not in bounds_of(Session, "per_day"):
        most = bounds_of(Session, "per_day").most
        raise ReadingError(f"{quoted(text)} is more than {most:g} a day")
    given = {"per_day": per_day} | _words(found["words"], one=count == 1.0)
    return given | ({"size_kB": _size_kB(found["size"])} if found["size"] else {})


def each_of(text: str) -> dict[str, Any]:
    """How long a try takes, how fast it sends, or both.

    Parameters
    ----------
    text : str
        Such as "4 min", "0.3 kB/s", or "2 min + 0.3 kB/s": the time to get a link and the rate.

    Returns
    -------
    dict
        Keyword arguments of Session.

    Raises
    ------
    ReadingError
        With a `reason`, if it is none of these.

    Examples
    --------
    >>> each_of("2.4 kbit/s + 3 min")
    {'rate_kB_per_s': 0.3, 'each_h': 0.05}
    """
    given: dict[str, Any] = {}
    for part in text.split("+"):
        name, value = _time_or_rate(part.strip(), text)
        if name in given:
            raise ReadingError(f"{quoted(text)} has two {'rates' if '/' in part else 'times'}")
        given[name] = value
    return given


def failed_of(text: str, bare: str | None) -> dict[str, Any]:
    """The share of tries that fail, as keyword arguments of Session.

    Parameters
    ----------
    text : str
        Such as "20 %".
    bare : str or None
        The unit of a number without one, where the heading names it.

    Raises
    ------
    ReadingError
        With a `reason`, if it is not one of 0 to 95 %.
    """
    share = to_float(text, "frac", bare=bare)
    if share < 0.0:
        raise ReadingError(f"{quoted(text)} is negative")
    if share not in bounds_of(Session, "failed_frac"):
        most = bounds_of(Session, "failed_frac").most
        raise ReadingError(f"{quoted(text)} is more than {100 * most:g} %: that is no link")
    return {"failed_frac": share}


def with_of(text: str) -> dict[str, Any]:
    """The names of what is on meanwhile, as keyword arguments of Session.

    Parameters
    ----------
    text : str
        Names of loads and of supplies, joined by ;
    """
    names = [" ".join(name.split()) for name in text.split(";")]
    return {"beside": tuple(dict.fromkeys(name for name in names if name))}


def session_of(row: CsvRow, given: dict[str, Any]) -> tuple[dict[str, Any], list[Problem]]:
    """The keyword arguments of Load, those of Session among them made one, and what is wrong.

    Parameters
    ----------
    row : CsvRow
        A line of the load list.
    given : dict
        What could be read of its cells, each alone.
    """
    own = {field.name for field in fields(Session)}
    parts = {name: value for name, value in given.items() if name in own}
    rest = {name: value for name, value in given.items() if name not in own}
    written = [name for name in COLUMNS if row.cells.get(name)]
    if parts.get("failed_frac") == 0.0:
        written.remove("failed")  # as good as an empty cell
    if not written:
        return rest, []
    faults = list(_contradictions(row, parts, written))
    if faults or "per_day" not in parts or not parts.keys() & {"each_h", "rate_kB_per_s"}:
        return rest, faults
    session = Session(**parts)
    return rest | {"on_frac": None, "on_h_per_day": None, "session": session}, []


def odd_sessions(row: CsvRow, session: Session | None) -> list[Problem]:
    """What can be meant of sessions, and is more likely a slip.

    Parameters
    ----------
    row : CsvRow
        A line of the load list.
    session : Session or None
        What was read of it.
    """
    if session is None:
        return []
    odd = []
    if session.try_h > _LONG_TRY_H:
        said = f"{_said(row, 'each')} makes a try last {_MINUTES * session.try_h:,.0f} min"
        odd.append(problem_at(row, "each", said, f"look again: {EACH}"))
    if session.per_day > _MANY_A_DAY:
        said = f"{_said(row, 'often')} is more than {_MANY_A_DAY:g} a day"
        odd.append(problem_at(row, "often", said, f"look again: {OFTEN}"))
    return odd


def named_beside(
    row: CsvRow, given: dict[str, Any], *, loads: Iterable[str], others: Iterable[str] | None
) -> list[Problem]:
    """Names in the column with that are nothing aboard; the others are written as declared.

    Parameters
    ----------
    row : CsvRow
        A line of the load list.
    given : dict
        What could be read of its cells.
    loads : iterable of str
        What all loads of the file are called.
    others : iterable of str or None
        What supplies and devices there are; None where they cannot be known, and anything may be
        one.
    """
    own, known = given.get("name", ""), [" ".join(name.split()) for name in loads]
    known += others or ()
    folded = {one.casefold(): one for one in known}
    faults = []
    for name in given.get("beside", ()):
        if name.casefold() == own.casefold():
            faults.append(problem_at(row, "with", f"{quoted(name)} is this load itself", WITH))
        elif others is not None and name.casefold() not in folded:
            hint = did_you_mean(name, [one for one in known if one != own])
            said = f"no load, supply or device is called {quoted(name)}{hint}"
            faults.append(problem_at(row, "with", said, WITH))
    if "beside" in given:  # as they are declared, whatever the capitals
        given["beside"] = tuple(folded.get(name.casefold(), name) for name in given["beside"])
    return faults


def _contradictions(row: CsvRow, parts: dict[str, Any], written: list[str]) -> Iterable[Problem]:
    if "often" not in written:
        for name in written:
            said = f"{quoted(row.cells[name])} says nothing without often"
            yield problem_at(row, name, said, f"often too: {OFTEN}")
        return
    if row.cells.get("on"):
        said = f"{quoted(row.cells['on'])} stands beside often, which says it too"
        yield problem_at(row, "on", said, "one of the two; leave the other cell empty")
    if row.cells.get("temp", "none").casefold() not in ("", "none"):
        said = f"{quoted(row.cells['temp'])} stands beside often: neither heat nor cold sends it"
        yield problem_at(row, "temp", said, "one of the two; leave the other cell empty")
    if "each" not in written:
        said = f"{quoted(row.cells['often'])} does not say how long each takes"
        yield problem_at(row, "often", said, f"each too: {EACH}")
    elif "per_day" in parts and "rate_kB_per_s" in parts and "size_kB" not in parts:
        said = f"{quoted(row.cells['each'])} is a rate, and often does not say of how much"
        yield problem_at(row, "each", said, "a size in often, such as 2 downloads/day of 30 kB")
    elif "size_kB" in parts and "each_h" in parts and "rate_kB_per_s" not in parts:
        parts.pop("size_kB")  # told for the sailor's own memory: the time is all that counts


def _words(typed: str, *, one: bool) -> dict[str, str]:
    """What one of them is called, and several, of whichever was typed; nothing if nothing was."""
    word = " ".join(typed.split())
    if not word:
        return {}
    if len(word) > _LONGEST_WORD or not word.isprintable():
        raise ReadingError(f"{quoted(typed)} is no name for them: {_LONGEST_WORD} letters at most")
    if one:
        return {"word": word, "words": f"{word}s"}
    return {"word": word.removesuffix("s"), "words": word}


def _time_or_rate(part: str, text: str) -> tuple[str, float]:
    try:
        number, unit = split(part)
    except UnitError:
        raise ReadingError(f"cannot read {quoted(text)}") from None
    size, slash, per = (unit or "").partition("/")
    if size in _SIZES or f"{size}{slash}{per}" in _AMBIGUOUS or size in _AMBIGUOUS:
        if per != "s":
            raise ReadingError(f"{quoted(text)} is no rate; write kB/s, or kbit/s for bits")
        rate = number * _kB(size, text)
        if not 0.0 < rate <= bounds_of(Session, "rate_kB_per_s").most:
            raise ReadingError(f"{quoted(text)} is not a rate that a link has")
        return "rate_kB_per_s", rate
    time_h = to_float(part, "h")
    if not time_h > 0.0:
        raise ReadingError(f"{quoted(text)} is no time at all")
    if time_h not in bounds_of(Session, "each_h"):
        raise ReadingError(f"{quoted(text)} is more than a day")
    return "each_h", time_h


def _size_kB(text: str) -> float:
    try:
        number, unit = split(text)
    except UnitError:
        raise ReadingError(f"cannot read the size {quoted(text)}") from None
    size = number * _kB(unit or "", text)
    if not 0.0 < size <= bounds_of(Session, "size_kB").most:
        raise ReadingError(f"{quoted(text)} is not a size that is sent from a boat")
    return size


def _kB(unit: str, text: str) -> float:
    if unit in _SIZES:
        return _SIZES[unit]
    eight = "; a byte is eight bits, so write kB or kbit" if unit in _AMBIGUOUS else ""
    raise ReadingError(f"{quoted(text)} is not in B, kB, MB, bit, kbit or Mbit{eight}")


def _said(row: CsvRow, column: str) -> str:
    return quoted(row.cells[column])
