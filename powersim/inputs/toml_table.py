"""One table of boat.toml while it is read: what it gives, what is wrong, what is assumed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeVar

from powersim.errors import Problem
from powersim.inputs.table import SET
from powersim.inputs.text import ReadingError, closest, quoted
from powersim.inputs.toml_keys import Key, shown
from powersim.inputs.toml_lines import Path, line_at
from powersim.records import Assumption, FieldError, declared

Defaults = Mapping[str, tuple[Any, str]]

Record = TypeVar("Record")


@dataclass(kw_only=True)
class Sheet:
    """boat.toml as a whole, and what reading it has turned up so far.

    Attributes
    ----------
    file : str
        Its name in messages.
    document : dict
        What TOML holds.
    lines : dict
        The line of every key.
    places : dict
        Keys whose value was set in place of the file's, and the place as it was typed.
    problems : list of Problem
        In the order in which they were met.
    doubts : list of Problem
        What can be meant, and is unlike what other boats have.
    assumed_at : dict
        Value and reason of every default that was used, by the path where it could be written.
    """

    file: str
    document: dict
    lines: dict[Path, int]
    places: dict[Path, str] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    doubts: list[Problem] = field(default_factory=list)
    assumed_at: dict[Path, tuple[str, str]] = field(default_factory=dict)
    _assumed: dict[tuple[str, str, str], list[str | None]] = field(default_factory=dict)

    def problem(self, path: Path, text: str, expected: str | None = None) -> None:
        """Note what is wrong at a key."""
        self.problems.append(self._at(path, text, expected))

    def doubt(self, path: Path, text: str, expected: str) -> None:
        """Note what is odd at a key, and what to look at or what would be usual."""
        self.doubts.append(self._at(path, text, expected))

    def _at(self, path: Path, text: str, expected: str | None) -> Problem:
        if path in self.places:
            typed = self.places[path]
            return Problem(file=SET, text=f"{typed}: {text}", expected=expected, place=typed)
        place = ".".join(_plain(part) for part in path if isinstance(part, str))
        line = line_at(self.lines, path)
        return Problem(file=self.file, line=line, text=f"{place}: {text}", expected=expected)

    def assume(
        self,
        key: str,
        value: str,
        reason: str,
        which: str | None = None,
        path: Path | None = None,
    ) -> None:
        """Note a value that the sailor did not give, for which of several tables, and where."""
        self.assumed_at[path or tuple(key.split("."))] = value, reason
        self._assumed.setdefault((key, value, reason), []).append(which)

    @property
    def assumptions(self) -> tuple[Assumption, ...]:
        """Every default that was used; one for all tables that share it."""
        return tuple(
            Assumption(
                place=f"boat.toml {key}{_of(which)}",
                value=value,
                reason=reason,
            )
            for (key, value, reason), which in self._assumed.items()
        )

    def table(self, name: str) -> TomlTable | None:
        """The [table] of that name, or None if there is none."""
        found = self.document.get(name)
        if found is None:
            return None
        if isinstance(found, dict):
            return TomlTable(sheet=self, path=(name,), data=found)
        self.problem((name,), f"{shown(found)} is not a table", f"its keys under a line [{name}]")
        return None

    def tables(self, name: str) -> list[TomlTable]:
        """Every [[table]] of that name, in order."""
        found = self.document.get(name, [])
        if not isinstance(found, list) or not all(isinstance(one, dict) for one in found):
            self.problem(
                (name,), "needs double square brackets", f"one line [[{name}]] before each of them"
            )
            return []
        return [
            TomlTable(sheet=self, path=(name, place), data=data, only=len(found) == 1)
            for place, data in enumerate(found)
        ]


def _of(which: list[str | None]) -> str:
    """Of which of several tables, where there are several."""
    names = [name for name in which if name]
    return f" ({', '.join(names)})" if len(names) == len(which) else ""


def _plain(name: str) -> str:
    """A key as it is, or in quotes where it would break the message."""
    return name if name.isprintable() and 0 < len(name) <= 40 else quoted(name)


@dataclass(kw_only=True)
class TomlTable:
    """One [table] or [[table]].

    Attributes
    ----------
    sheet : Sheet
        The file that it stands in.
    path : tuple
        Its name, and its number from 0 where there may be several.
    data : dict
        What TOML holds.
    only : bool
        Whether it is the only one of its name.
    given : dict
        Fields of the record that the sailor gave, after `take`.
    sound : bool
        Whether nothing is wrong with it so far.
    known : dict
        The keys that it may hold, by name, after `take`.
    """

    sheet: Sheet
    path: Path
    data: dict
    only: bool = True
    given: dict[str, Any] = field(default_factory=dict)
    sound: bool = True
    known: dict[str, Key] = field(default_factory=dict)

    def problem(self, key: str | None, text: str, expected: str | None = None) -> None:
        """Note what is wrong at a key, or with the table."""
        self.sound = False
        self.sheet.problem(self.path if key is None else (*self.path, key), text, expected)

    def doubt(self, key: str, text: str, expected: str) -> None:
        """Note what is odd at a key."""
        self.sheet.doubt((*self.path, key), text, expected)

    def ask(self, key: Key, text: str) -> None:
        """Note what is odd at a key, and what it should hold."""
        self.doubt(key.name, text, f"look again: {key.expected}")

    def take(self, keys: Iterable[Key]) -> dict[str, Any]:
        """Read every key that the sailor gave; note unknown, unreadable, missing and odd ones."""
        self.known = known = {key.name: key for key in keys}
        for name, value in self.data.items():
            if name not in known:
                self._unknown(name, known)
                continue
            key = known[name]
            try:
                self.given[key.field] = key.kind.read(value)
            except ReadingError as error:
                self.problem(name, error.reason, key.expected)
                continue
            if not key.is_usual(self.given[key.field]):
                self.ask(key, f"{quoted(str(value))} is not the usual {key.usual_span}")
        for key in known.values():
            if key.required and key.name not in self.data:
                was_taken_out = (*self.path, key.name) in self.sheet.places
                at = key.name if was_taken_out else None
                self.problem(at, f"no {key.name}", f"{key.name}: {key.expected}")
        return self.given

    def _unknown(self, name: str, known: Mapping[str, Key]) -> None:
        match = closest(name, known)
        if match is None:
            self.problem(name, "unknown key", "one of " + ", ".join(known))
        else:
            expected = f"{match}, {known[match].expected}"
            self.problem(name, f"unknown key; did you mean {match!r}?", expected)

    def fill(self, keys: Iterable[Key], defaults: Defaults) -> dict[str, Any]:
        """Use and note the default of every key that was left out."""
        for key in keys:
            if key.name not in self.data and key.field in defaults:
                value, reason = defaults[key.field]
                self.given[key.field] = value
                self.assume(key.name, key.kind.write(value), reason)
        return self.given

    def assume(self, name: str, value: str, reason: str) -> None:
        """Note a value that the sailor did not give."""
        which = None if self.only else self.title
        place = ".".join(part for part in self.path if isinstance(part, str))
        self.sheet.assume(f"{place}.{name}", value, reason, which, (*self.path, name))

    @property
    def title(self) -> str:
        """What the sailor calls it, or its number from 1."""
        return self.given.get("name") or f"{self.path[0]} {int(self.path[-1]) + 1}"

    def build(self, record: type[Record], **more: Any) -> Record | None:
        """The record, or None where something is wrong."""
        if not self.sound:
            return None
        try:
            return record(**self.given, **more)
        except FieldError as error:  # what was made of what is given
            key = next(key for key in self.known.values() if key.field == error.field)
            came = key.kind.write(error.value)
            self.problem(
                None,
                f"by its other figures {key.name} would be {came}",
                f"{key.name}: {key.kind.span}; {key.expected}",
            )
        except ValueError as error:
            self.problem(None, str(error))
        return None


def record_defaults(record: type, **reasons: str) -> dict[str, tuple[Any, str]]:
    """Default and reason of each field of a record that has both; `reasons` go before its own."""
    found = {name: (one.default, one.reason) for name, one in declared(record).items()}
    found |= {name: (found[name][0], reason) for name, reason in reasons.items()}
    return {name: said for name, said in found.items() if said[1]}


def refuse_doubles(tables: Iterable[TomlTable]) -> None:
    """Note every table whose name another one before it has."""
    seen = set()
    for table in tables:
        name = table.given.get("name")
        if name in seen:
            reason = f"{quoted(str(name))} is given twice"
            table.problem("name", reason, "a name of its own for each")
        if name is not None:
            seen.add(name)
