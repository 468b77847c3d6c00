"""Which column of a logger's file is what, by its heading; what is unclear is asked, not guessed.

Loggers call the same thing by many names. A heading is cut into words and a unit; a role is taken
where one column alone can have it, and every choice is told.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from powersim.errors import Problem
from powersim.inputs.headings import letter
from powersim.inputs.text import did_you_mean, quoted
from powersim.inputs.units import find

#: What a column may be: its name in the option that says which, and in words.
ROLES = {
    "time": "the time",
    "clock": "the time of the day",
    "voltage": "volts at the bank",
    "current": "amperes at the bank",
    "solar": "what the panels give",
    "soc": "state of charge",
}
#: Words of a heading; from memory, and as meters and their programs write them.
_TIMES = {"time", "date", "datetime", "timestamp", "utc", "clock", "when"}
_VOLTS = {"v", "mv", "volt", "volts", "voltage", "u", "spannung", "tension", "voltaje", "tensione"}
_AMPS = {"a", "ma", "amp", "amps", "ampere", "amperes", "current", "i", "strom", "courant"}
_AMPS |= {"corriente", "corrente"}
_WATTS = {"w", "kw", "watt", "watts", "power", "leistung", "puissance", "potencia", "potenza"}
_CHARGE = {"soc"}
_SUN = {"pv", "solar", "panel", "panels", "mppt", "sun", "array"}
_BANK = {"battery", "batt", "bat", "bank", "house", "main", "service", "domestic"}
_OTHERS = {"alternator", "alt", "engine", "starter", "start", "aux", "load", "loads", "wind"}
_OTHERS |= {"hydro", "shore", "min", "max", "minimum", "maximum", "cell", "midpoint", "yield"}
_OTHERS |= {"temperature", "temp", "today", "yesterday", "total", "consumed", "remaining", "go"}
_BRACKETED = re.compile(r"[(\[]([^)\]]*)[)\]]")
_WORD = re.compile(r"[^\W\d_]+|%")
#: The kind of unit that a role's column may name.
_UNITS = {"voltage": ("V",), "current": ("A",), "solar": ("A", "W"), "soc": ("frac",)}


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggerColumn:
    """One column that is used.

    Attributes
    ----------
    at : int
        Its place, the first being 0.
    title : str
        As in the heading.
    unit : str
        Of its bare numbers; "" for a time.
    """

    at: int
    title: str
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggerHeading:
    """The columns of a file.

    Attributes
    ----------
    columns : mapping of str to LoggerColumn
        By role, one of ROLES.
    taken : tuple of str
        What was taken for what.
    problems : tuple of Problem
        What is unclear or missing.
    in_utc : bool
        Whether the heading of the time says that it is UTC.
    """

    columns: Mapping[str, LoggerColumn]
    taken: tuple[str, ...]
    problems: tuple[Problem, ...]
    in_utc: bool


def looks_like_heading(cells: Sequence[str]) -> bool:
    """Whether a line has a column for the time and one for volts or amperes, by its words.

    Parameters
    ----------
    cells : sequence of str
        Of the line.
    """
    roles = {role for cell in cells if (role := _role(cell)) is not None}
    return "time" in roles and bool(roles & {"voltage", "current"})


def logger_heading(
    file: str, cells: Sequence[str], *, line: int, named: Mapping[str, str]
) -> LoggerHeading:
    """Which column is what.

    Parameters
    ----------
    file : str
        Its name in messages.
    cells : sequence of str
        Of the heading.
    line : int
        Where it stands.
    named : mapping of str to str
        Role to heading, where the sailor says which.
    """
    problems: list[Problem] = []

    def problem(text: str, expected: str, at: int | None = None) -> None:
        problems.append(
            Problem(
                file=file,
                line=line,
                field=None if at is None else at + 1,
                text=text,
                expected=expected,
                row=", ".join(cells)[:200],
            )
        )

    places: dict[str, list[int]] = {role: [] for role in ROLES}
    for at, cell in enumerate(cells):
        role = _role(cell)
        if role is not None:
            places[role].append(at)
    for role, title in named.items():
        same = [at for at, cell in enumerate(cells) if _same(cell, title)]
        if role not in ROLES:
            problem(
                f"unknown role {quoted(role)}" + did_you_mean(role, ROLES),
                "one of " + ", ".join(ROLES),
            )
            continue
        if len(same) != 1:
            text = f"has no one column {quoted(title)}" + did_you_mean(title, cells)
            problem(text, _option(role))
        places = {key: [at for at in found if at not in same] for key, found in places.items()}
        places[role] = same[:1]
    columns: dict[str, LoggerColumn] = {}
    taken = []
    for role, found in places.items():
        if role == "time" and not places["clock"]:
            found, clock = _date_and_clock(cells, found)
            if clock is not None:
                columns["clock"] = LoggerColumn(at=clock, title=cells[clock], unit="")
                taken.append(_taken("clock", cells[clock], clock))
        bank = [at for at in found if set(_words(cells[at])) & _BANK]
        if len(found) > 1 and role in ("voltage", "current") and len(bank) == 1:
            found = bank
        if len(found) > 1:
            which = " and ".join(f"{quoted(cells[at])} ({letter(at + 1)})" for at in found[:4])
            problem(f"cannot tell which column is {ROLES[role]}: {which}", _option(role))
            continue
        for at in found:
            unit = _unit(cells[at], role)
            if unit is None:
                allowed = " or ".join(_UNITS[role])
                problem(f"{quoted(cells[at])} is in a unit that is not read", allowed, at)
                continue
            columns[role] = LoggerColumn(at=at, title=cells[at], unit=unit)
            is_date = role == "time" and "clock" in columns
            taken.append(_taken("date" if is_date else role, cells[at], at))
    if not problems and "time" not in columns:
        problem("has no column for the time", _option("time"))
    if not problems and not {"voltage", "current"} & set(columns):
        problem("has no column for volts or amperes at the bank", _option("current"))
    used = {column.at for column in columns.values()}
    rest = [cell for at, cell in enumerate(cells) if cell.strip() and at not in used]
    if rest and columns:
        taken.append("not used: " + ", ".join(rest))
    stamp = [columns[role].title for role in ("time", "clock") if role in columns]
    return LoggerHeading(
        columns=columns,
        taken=tuple(taken),
        problems=tuple(problems),
        in_utc=any({"utc", "gmt", "zulu"} & set(_words(title)) for title in stamp),
    )


def _words(title: str) -> list[str]:
    """The words of a heading, also of one in camelCase."""
    parted = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", title)
    return [word.casefold() for word in _WORD.findall(parted)]


def _role(title: str) -> str | None:
    """What a heading seems to name; None where it names nothing that is used."""
    plain = _BRACKETED.sub(" ", title)
    words = set(_words(plain)) or set(_words(title))
    unit = set(_words(" ".join(_BRACKETED.findall(title))))
    if words & _TIMES and not words & (_VOLTS | _AMPS | _OTHERS):
        return "time"
    if words & _CHARGE or "state of charge" in plain.casefold():
        return "soc"
    if words & _OTHERS:
        return None
    if words & _SUN:
        amps = words & _AMPS or (unit & _AMPS and not words & (_VOLTS | _WATTS))
        watts = words & _WATTS or (unit & _WATTS and not words & (_VOLTS | _AMPS))
        return "solar" if amps or watts else None
    for role, known in (("voltage", _VOLTS), ("current", _AMPS)):
        if words & known or (unit & known and words <= _BANK | {"dc", "shunt"}):
            return role
    return None


def _date_and_clock(cells: Sequence[str], found: list[int]) -> tuple[list[int], int | None]:
    """A date and a time of the day in two columns, if that is what two columns are."""
    dates = [at for at in found if "date" in _words(cells[at]) and "time" not in _words(cells[at])]
    times = [at for at in found if at not in dates and "time" in _words(cells[at])]
    if len(found) == 2 and len(dates) == 1 and len(times) == 1:
        return dates, times[0]
    return found, None


def _unit(title: str, role: str) -> str | None:
    """The unit of a column's bare numbers; None if it is of another kind, "" for a time."""
    if role not in _UNITS:
        return ""
    bracketed = _BRACKETED.findall(title)
    spellings = [*reversed(bracketed), *reversed(re.split(r"[\s_/-]+", _BRACKETED.sub("", title)))]
    wanted = _UNITS[role]
    for spelling in spellings:
        unit = find(spelling) if spelling.strip() else None
        if unit is None:
            continue
        for each in wanted:
            known = find(each)
            if known is not None and known.dimension == unit.dimension:
                return unit.symbol
        if spelling in bracketed:
            return None
    if role == "soc":
        return "%"
    return "W" if role == "solar" and set(_words(title)) & _WATTS else wanted[0]


def _same(cell: str, title: str) -> bool:
    return " ".join(cell.split()).casefold() == " ".join(title.split()).casefold()


def _taken(role: str, title: str, at: int) -> str:
    return f"{title.strip()} (column {letter(at + 1)}) is {ROLES.get(role, 'the date')}"


def _option(role: str) -> str:
    return f'say which with --logger-columns, for example "{role}=the heading of that column"'
