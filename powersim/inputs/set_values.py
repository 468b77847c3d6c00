"""Values set in boat.toml in place of what it says: `battery.capacity`, `panel.arch.power`.

They are put where the reader would have found them, so that they are read, bounded and refused as
if they stood there; a message about one names the place as it was typed, and no line of a file.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from powersim.errors import Problem
from powersim.inputs.asked_document import AskedDocument
from powersim.inputs.places import (
    LOADS,
    NO_TABLE,
    NOTHING,
    Given,
    as_a_file_says,
    named_by,
    parts_of,
    place_problem,
    plain_name,
    said,
    same,
    told,
)
from powersim.inputs.several_tables import (
    SEVERAL,
    are_tables,
    called,
    labels_of,
    name_of,
    note_tables,
    with_name,
)
from powersim.inputs.text import ReadingError, did_you_mean, quoted
from powersim.inputs.toml_keys import shown
from powersim.inputs.toml_lines import Names, Path
from powersim.records import SetValue

#: Tables whose keys hold by default where they are not there.
_BY_DEFAULT = {("passage",), ("boat",), ("charging",), ("charging", "costs")}


def set_in_document(
    document: dict[str, Any],
    values: Mapping[str, Given],
    *,
    keys: Mapping[Names, Iterable[str]],
) -> AskedDocument:
    """What boat.toml would hold with some values set; the document stays as it is.

    Parameters
    ----------
    document : dict
        As tomllib reads it.
    values : mapping of str to value
        By place as typed, one after the other; those of loads are passed over.
    keys : mapping of tuple to iterable of str
        Every table that there may be, and what it may hold.
    """
    work = _Work(copy.deepcopy(document) if values else document, keys)
    problems = []
    for place, value in values.items():
        try:
            parts = parts_of(place)
            if parts[0].casefold() == LOADS:
                continue
            work.set(place, parts, as_a_file_says(value))
        except ReadingError as error:
            problems.append(place_problem(place, error.reason, value))
    return work.done(problems)


@dataclass(slots=True)
class _Table:
    """One of several: what it may be called, and where it stands in the file."""

    data: dict[str, Any]
    labels: set[str]
    path: Path | None
    place: str = ""


@dataclass(slots=True)
class _Touched:
    """A key that was set: what the file has in it."""

    table: dict[str, Any]
    key: str
    place: str
    old: Any = None


@dataclass(slots=True)
class _Work:
    """A document in work.

    Tables are told apart by what they are, not by where they stand: a place names what stands in
    the file, whatever is taken out before it.
    """

    document: dict[str, Any]
    keys: Mapping[Names, Iterable[str]]
    several: dict[int, _Table] = field(default_factory=dict)
    touched: dict[tuple[int, str], _Touched] = field(default_factory=dict)
    gone: dict[int, tuple[str, str]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._label(self.document, (), ())

    def _label(self, node: Any, path: Path, names: Names) -> None:
        if isinstance(node, dict):
            for key, one in node.items():
                self._label(one, (*path, key), (*names, key))
        elif are_tables(node):
            for number, (one, labels) in enumerate(zip(node, labels_of(node, names), strict=True)):
                self.several[id(one)] = _Table(one, labels, (*path, number))
                self._label(one, (*path, number), names)

    def set(self, place: str, parts: tuple[str, ...], value: Any) -> None:
        """Set one value, or take it out."""
        self._set(self.document, (), place, parts, value)

    def _set(
        self, node: dict[str, Any], names: Names, place: str, parts: Names, value: Any
    ) -> None:
        head, *rest = parts
        below = (*names, head)
        child = node.get(head)
        whole_list = not rest and isinstance(value, list)
        if (below in SEVERAL or are_tables(child)) and not whole_list:
            self._set_in_several(node, below, place, tuple(rest), value)
        elif not rest:
            self._set_key(node, names, place, head, value)
        elif child is None or isinstance(child, dict):
            if not names and head not in self._tables:
                raise ReadingError(self._unknown(parts))
            if child is None:
                if value is None:
                    raise ReadingError(f"there is no [{'.'.join(below)}]")
                child = {}
            self._set(child, below, place, tuple(rest), value)
            if child:  # else nothing came of it
                node[head] = child
        else:
            raise ReadingError(f"{shown(child)} is not a table")

    @property
    def _tables(self) -> tuple[str, ...]:
        return (*(names[0] for names in self.keys if len(names) == 1), LOADS)

    def _unknown(self, parts: Names, *, otherwise: str = NO_TABLE) -> str:
        """What is wrong with a place that begins with no table, and what may have been meant."""
        said = plain_name(".".join(parts))
        meant = [
            f"{one.path[-2]}.{'.'.join(parts)}"
            for one in self.several.values()
            for label in one.labels
            if one.path and not label.isdigit() and f"{said}.".startswith(f"{label}.")
        ]
        meant += [
            ".".join((*names, said)) for names, own in self.keys.items() if names and said in own
        ]
        if meant:
            return f"{NOTHING}; did you mean {' or '.join(map(repr, meant))}?"
        return f"{otherwise}{did_you_mean(parts[0], self._tables)}"

    def _set_key(
        self, node: dict[str, Any], names: Names, place: str, key: str, value: Any
    ) -> None:
        """Set what stands at the end of a place: a key, or a whole table."""
        old = node.get(key)
        is_table = (*names, key) in self.keys
        if not names and not is_table:
            is_value = not isinstance(value, dict) and value is not None
            raise ReadingError(self._unknown((key,), otherwise=NOTHING if is_value else NO_TABLE))
        if not names and not isinstance(value, dict) and value is not None:
            raise ReadingError("is a whole table: name one of its keys, or {} with all of them")
        if value is None and old is None:
            self._refuse_what_is_not_there(names, key)
            return
        if isinstance(value, dict) and is_table and (old is None or isinstance(old, dict)):
            node[key] = {} if old is None else old
            self._set_whole(node[key], place, value)
            return
        self._touch(node, key, place)
        if value is None:
            del node[key]
        elif not same(old, value):
            node[key] = value
            if key == "name" and id(node) in self.several and isinstance(value, str):
                self.several[id(node)].labels.add(plain_name(value))

    def _refuse_what_is_not_there(self, names: Names, key: str) -> None:
        """A key that the file does not give is at its default already; a table is not there."""
        known = tuple(self.keys.get(names, ()))
        if not names or (*names, key) in self.keys:
            raise ReadingError(f"there is no [{'.'.join((*names, key))}]")
        if key not in known:
            raise ReadingError(f"unknown key{did_you_mean(key, known)}")

    def _set_whole(self, table: dict[str, Any], place: str, value: Mapping[str, Any]) -> None:
        """Put all of a table in the place of what there is."""
        for key in [*value, *(key for key in table if key not in value)]:
            self._touch(table, key, f"{place}.{key}")
            if key not in value:
                del table[key]
            elif not same(table.get(key), value[key]):
                table[key] = value[key]

    def _touch(self, table: dict[str, Any], key: str, place: str) -> None:
        old = copy.deepcopy(table.get(key))
        self.touched.setdefault((id(table), key), _Touched(table, key, place, old)).place = place

    def _set_in_several(
        self, node: dict[str, Any], names: Names, place: str, parts: Names, value: Any
    ) -> None:
        """Set a value in one of several tables, take one out, or add one."""
        kind = names[-1]
        tables = node.get(kind, [])
        if not are_tables(tables) and tables != []:
            raise ReadingError(f"{shown(tables)} is not a table")
        found = self._which(tables, names, parts, value)
        if found is None:
            self._add(node, names, place, parts, value)
            return
        table, rest = found
        if rest:
            self._set(table, names, place, rest, value)
        elif value is None:
            tables[:] = [one for one in tables if one is not table]
            if not tables:
                del node[kind]
            path = self.several[id(table)].path
            if path is not None:
                name = called(table, names, path)
                # Panels that have lost the only one feed a usual one.
                usual = names == ("controller",) and not tables and "panel" in self.document
                what = "left to its defaults" if usual else "taken out"
                self.gone[id(table)] = (place, f"{name} {what}")
        elif isinstance(value, dict):
            self._set_whole(table, place, with_name(table.get("name"), value, names))
        else:
            raise ReadingError(f"is a whole {kind}: name one of its keys, or {{}} with all of them")

    def _which(
        self, tables: list[dict[str, Any]], names: Names, parts: Names, value: Any
    ) -> tuple[dict[str, Any], Names] | None:
        """The table that is meant and what is left of the place; None for one to be added."""
        kind = names[-1]
        whole = value is None or isinstance(value, dict)
        matches = named_by(parts, [self.several[id(one)].labels for one in tables])
        if len({number for number, _ in matches}) > 1:
            several = " and ".join(str(number + 1) for number, _ in matches)
            raise ReadingError(f"may mean {kind} {several}: which?")
        if matches:
            number, rest = matches[0]
            return tables[number], rest
        known = tuple(self.keys.get(names, ()))
        there = [name_of(one, kind, number) for number, one in enumerate(tables)]
        if len(tables) == 1 and (not parts or parts[0] in known or (len(parts) == 1 and not whole)):
            return tables[0], parts
        if isinstance(value, dict) and len(parts) <= 1 and (parts or not tables):
            return None
        if not tables:
            raise ReadingError(f"there is no [[{'.'.join(names)}]]")
        if not parts or (len(parts) == 1 and parts[0] in known):
            raise ReadingError(f"which {kind}: {', '.join(there)}?")
        raise ReadingError(f"no {kind} {quoted(parts[0])}{did_you_mean(parts[0], there)}")

    def _add(
        self, node: dict[str, Any], names: Names, place: str, parts: Names, value: dict[str, Any]
    ) -> None:
        kind = names[-1]
        name = parts[0] if parts else None
        if name is not None and ("name" not in self.keys.get(names, ()) or name.isdigit()):
            raise ReadingError(f"no {kind} {quoted(name)}")
        table = with_name(name, value, names)
        node[kind] = [*node.get(kind, []), table]
        labels = {plain_name(table["name"])} if isinstance(table.get("name"), str) else set()
        self.several[id(table)] = _Table(table, labels, None, place)

    def done(self, problems: Sequence[Problem]) -> AskedDocument:
        """The document as it is now, and what differs in it."""
        for one in self.touched.values():
            new = one.table.get(one.key)
            if one.old is not None and same(one.old, new) and one.old != new:
                one.table[one.key] = one.old  # in the file's own blanks
        tables: dict[int, Path] = {}
        note_tables(self.document, (), tables)
        keys = list(self._changed_keys(tables))
        changed = [*(one for one, _ in keys), *self._changed_tables(tables)]
        paths = {
            path: before
            for found, path in tables.items()
            if found in self.several and (before := self.several[found].path) is not None
        }
        return AskedDocument(
            document=self.document,
            places=self._places(tables),
            paths=paths,
            changed=tuple(changed),
            problems=tuple(problems),
            changed_at=(*(path for _, path in keys), *[None] * (len(changed) - len(keys))),
        )

    def _changed_keys(self, tables: Mapping[int, Path]) -> Iterator[tuple[SetValue, Path | None]]:
        for one in self.touched.values():
            if id(one.table) not in tables or self._is_new(id(one.table)):
                continue
            new = one.table.get(one.key)
            if same(one.old, new):
                continue
            path = (*tables[id(one.table)], one.key)
            whole = isinstance(one.old, dict) and new is None
            words = told(one.place, one.old, new)
            if whole:
                what = "left to its defaults" if path in _BY_DEFAULT else "taken out"
                words = f"{one.place} {what}"
            found = SetValue(
                place=one.place,
                old=None if one.old is None else said(one.old),
                new=None if new is None else said(new),
                told=words,
            )
            yield found, None if whole else path

    def _changed_tables(self, tables: Mapping[int, Path]) -> Iterator[SetValue]:
        for place, words in self.gone.values():
            yield SetValue(place=place, old=place, new=None, told=words)
        for found, one in self.several.items():
            if one.path is None and found in tables:
                path = tables[found]
                names = tuple(part for part in path if isinstance(part, str))
                rest = {key: value for key, value in one.data.items() if key != "name"}
                words = f"{called(one.data, names, path)} added: {said(rest)}"
                yield SetValue(place=one.place, old=None, new=said(one.data), told=words)

    def _is_new(self, found: int) -> bool:
        return found in self.several and self.several[found].path is None

    def _places(self, tables: Mapping[int, Path]) -> dict[Path, str]:
        places: dict[Path, str] = {}
        for one in self.touched.values():
            if id(one.table) in tables:
                places[(*tables[id(one.table)], one.key)] = one.place
        for found, new in self.several.items():
            if new.path is None and found in tables:
                places[tables[found]] = new.place
                places |= {
                    (*tables[found], key): f"{new.place}.{key}"
                    for key in new.data
                    if (*tables[found], key) not in places
                }
        return places
