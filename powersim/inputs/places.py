"""Places in boat.toml and loads.csv as they are typed: `battery.capacity`, `loads.vhf radio.draw`.

What a place may be given is a value, a whole table of them, or None for taking out what is there.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, time
from typing import Any

from powersim.errors import Problem
from powersim.inputs.table import SET
from powersim.inputs.text import ReadingError, quoted
from powersim.inputs.toml_keys import shown

#: What a file can say of one thing; a datetime is a date.
Value = str | int | float | bool | date
#: What may be asked of a place: one thing or a list, a whole table, or None to take it out.
Given = Value | Sequence[Any] | Mapping[str, Any] | None
LOADS = "loads"
NOTHING, NO_TABLE = "names nothing in the files", "unknown table"
PLACE_EXPECTED = (
    "a key of boat.toml or a column of a load, for example battery.capacity, panel.arch.power or "
    "loads.vhf radio.draw"
)
WITHOUT_EXPECTED = "what is there, for example loads.vhf radio, panel.arch or shedding"
SET_EXPECTED = 'a place, =, and what it is to be; for example --set "battery.capacity=300 Ah"'
#: Longer than anything that a file says of one thing. [characters]
_LONGEST = 1_000
#: A whole number of more digits is nothing that a file says.
_LARGEST = 10**15
#: Blanks between a number and its unit.
_BEFORE_UNIT = re.compile(r"(?<=[0-9.])\s+")
#: A part of a place: in quotes where its name holds a dot, or begins with a quotation mark.
_PART = re.compile(r"""\s*(?:"([^"]*)"|'([^']*)'|([^."'\s][^.]*?))\s*(?:\.|$)""")


def parts_of(place: str) -> tuple[str, ...]:
    """The parts of a place, from the outside in.

    Parameters
    ----------
    place : str
        As it was typed.

    Raises
    ------
    ReadingError
        If it is no place.

    Examples
    --------
    >>> parts_of('loads."no. 2 pilot".draw')
    ('loads', 'no. 2 pilot', 'draw')
    """
    found, at = [], 0
    while at < len(place):
        match = _PART.match(place, at)
        if match is None:
            break
        found.append(next(part for part in match.groups() if part is not None))
        at = match.end()
    if at < len(place) or not found or not all(found) or place.endswith("."):
        raise ReadingError(NOTHING)
    return tuple(found)


def parse_set(typed: str) -> tuple[str, Given]:
    """The place and the value of `place=value`, as a command takes it.

    Parameters
    ----------
    typed : str
        A value in braces is a table, one in square brackets a list, of TOML or with text that is
        not in quotation marks; true and false are what they say; all else is text as it stands.

    Returns
    -------
    tuple of (str, value)
        As `load_folder` takes them.

    Raises
    ------
    ReadingError
        If it is no such thing.

    Examples
    --------
    >>> parse_set("battery.capacity = 300 Ah")
    ('battery.capacity', '300 Ah')
    >>> parse_set("panel.stern={power=50 W, mount=rail}")
    ('panel.stern', {'power': '50 W', 'mount': 'rail'})
    """
    end = _place_end(typed)
    if end is None:
        raise ReadingError("has no = between its place and its value")
    place, value = typed[:end].strip(), typed[end + 1 :].strip()
    parts_of(place)
    if not value:
        raise ReadingError(f"has nothing behind its =; to take it out, --without {quoted(place)}")
    return place, _value_of(value)


def _place_end(typed: str) -> int | None:
    """Where the first = stands that is in no name in quotes."""
    at, begins = 0, True
    while at < len(typed):
        sign = typed[at]
        if begins and sign in "\"'":
            at = typed.find(sign, at + 1)
            if at < 0:
                return None
        elif sign == "=":
            return at
        begins = sign == "." or (begins and sign.isspace())
        at += 1
    return None


def _value_of(text: str) -> Given:
    if text in ("true", "false"):
        return text == "true"
    if not text.startswith(("{", "[", '"', "'")):
        return text
    try:
        found = tomllib.loads(f"value = {text}")
        if found.keys() == {"value"}:
            return found["value"]
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        pass
    within = text[1:-1]
    if len(text) < 2 or text[0] + text[-1] not in ("{}", "[]") or within.startswith(("[", "{")):
        raise ReadingError(f"cannot read {quoted(text)}: is what it begins with closed?")
    parts = _parted(within)
    if text.startswith("["):
        return [_value_of(part) for part in parts]
    pairs = [part.partition("=") for part in parts]
    if not all(key.strip() and equals and value.strip() for key, equals, value in pairs):
        raise ReadingError(f"cannot read {quoted(text)}: each part is a key, = and its value")
    return {key.strip(): _value_of(value.strip()) for key, _, value in pairs}


def _parted(text: str) -> list[str]:
    """What stands between commas; one in quotation marks or square brackets parts nothing."""
    found, part, closing, begins = [], "", "", True
    for sign in text:
        if closing:
            closing = "" if sign == closing else closing
        elif begins and sign in "\"'[":
            closing = "]" if sign == "[" else sign
        elif sign == ",":
            found.append(part.strip())
            part, begins = "", True
            continue
        begins = sign == "=" or (begins and sign.isspace())
        part += sign
    return [one for one in (*found, part.strip()) if one]


def plain_name(name: str) -> str:
    """A name as it is compared: in whatever case, with whatever blanks.

    Parameters
    ----------
    name : str
        As typed, or as the files have it.
    """
    return re.sub(r"\s*\.\s*", ".", " ".join(name.split()).casefold())


def named_by(
    parts: Sequence[str], labels: Sequence[Iterable[str]]
) -> list[tuple[int, tuple[str, ...]]]:
    """Which of several things the first parts name, and what is left of the parts for each.

    A name may hold dots, in quotation marks or not.

    Parameters
    ----------
    parts : sequence of str
        Of a place.
    labels : sequence of iterable of str
        What each thing may be called, as `plain_name` has it.
    """
    found = []
    for count in range(1, len(parts) + 1):
        said = plain_name(".".join(parts[:count]))
        found += [
            (number, tuple(parts[count:])) for number, own in enumerate(labels) if said in own
        ]
    return found


def as_a_file_says(value: object) -> Any:
    """A value as a file may hold it: text on one line, without blanks around it.

    Parameters
    ----------
    value : object
        One thing, a list or a table of them; None stays None.

    Raises
    ------
    ReadingError
        If no file could say it.
    """
    if value is None:
        return None
    if isinstance(value, str):
        text = re.sub(r"[^\S ]", " ", value).strip()
        if not text.isprintable():
            raise ReadingError(f"{quoted(text)} has characters that cannot be printed")
        if len(text) > _LONGEST:
            raise ReadingError(f"{quoted(text)} is longer than {_LONGEST} letters")
        return text
    if isinstance(value, Mapping):
        return {_key(key): as_a_file_says(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [as_a_file_says(one) for one in value]
    if isinstance(value, int) and abs(value) > _LARGEST:
        raise ReadingError("is a number of more digits than anything aboard")
    if not isinstance(value, Value | time):
        raise ReadingError(f"{shown(value)} is not what a file says of one thing")
    return value


def _key(key: object) -> str:
    if not isinstance(key, str) or not key.strip():
        raise ReadingError(f"{shown(key)} is no key")
    return as_a_file_says(key)


def said(value: object) -> str:
    """A value in a few words, without the marks of TOML.

    Examples
    --------
    >>> said({"power": "50 W", "wired": True})
    'power 50 W, wired true'
    """
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {said(one)}" for key, one in value.items())
    if isinstance(value, list):
        inner = (f"({said(one)})" if isinstance(one, Mapping) else said(one) for one in value)
        return ", ".join(inner) or "none"
    return " ".join(str(value).split())


def told(place: str, old: object, new: object, *, default: str | None = None) -> str:
    """What was set where, and what was there; None for nothing.

    Parameters
    ----------
    place : str
        In words.
    old, new : object
        What the file has, and what is set.
    default : str, optional
        What holds where one of them is None.

    Examples
    --------
    >>> told("battery.capacity", "220 Ah", "300 Ah")
    'battery.capacity 300 Ah (was 220 Ah)'
    >>> told("battery.health", "70 %", None, default="85 %")
    'battery.health 85 %, the default (was 70 %)'
    """
    by_default = f"{default}, the default" if default else ""
    was = f"was {by_default or 'not given'}" if old is None else f"was {said(old)}"
    now = by_default or "left to its default" if new is None else said(new)
    return f"{place} {now} ({was})"


def same(one: object, other: object) -> bool:
    """Whether two values of a file are the same, in kind too.

    Examples
    --------
    >>> same("220 Ah", "220Ah"), same(1, True)
    (True, False)
    """
    if isinstance(one, str) and isinstance(other, str):
        return _BEFORE_UNIT.sub("", one).split() == _BEFORE_UNIT.sub("", other).split()
    if type(one) is not type(other):
        return False
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(same, one, other))
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(same(one[key], other[key]) for key in one)
    return one == other


def place_problem(place: str, reason: str, value: Given) -> Problem:
    """What is wrong with a place that was given a value, in the form all readers share."""
    text = f"{place or quoted(place)}: {reason}"
    expected = WITHOUT_EXPECTED if value is None else PLACE_EXPECTED
    return Problem(file=SET, text=text, expected=expected, place=place)


def or_load(problem: Problem, loads: Iterable[str]) -> Problem:
    """A problem with a place that names no table, where it is the name of a load.

    Parameters
    ----------
    problem : Problem
        Of any kind.
    loads : iterable of str
        Their names.
    """
    place = problem.place or ""
    if not problem.text.startswith((f"{place}: {NO_TABLE}", f"{place}: {NOTHING}")):
        return problem
    said = f"{plain_name(place)}."
    if not any(said.startswith(f"{plain_name(name)}.") for name in loads):
        return problem
    return replace(problem, text=f"{place}: {NOTHING}; did you mean {f'{LOADS}.{place}'!r}?")
