"""Tables of which boat.toml may have several: panels, controllers, and what each may be called."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from powersim.inputs.places import plain_name
from powersim.inputs.text import ReadingError, quoted
from powersim.inputs.toml_lines import Names, Path

#: Tables of which a file may have several, each told by its name or its number.
SEVERAL = {
    ("panel",),
    ("controller",),
    ("charger",),
    ("supply",),
    ("device",),
    ("fuel", "tank", "part"),
}


def are_tables(node: object) -> bool:
    """Whether it is a list of tables, one or more."""
    return isinstance(node, list) and bool(node) and all(isinstance(one, dict) for one in node)


def note_tables(node: Any, path: Path, tables: dict[int, Path]) -> None:
    """Where every table stands."""
    if isinstance(node, dict):
        tables[id(node)] = path
        for key, one in node.items():
            note_tables(one, (*path, key), tables)
    elif are_tables(node):
        for number, one in enumerate(node):
            note_tables(one, (*path, number), tables)


def labels_of(tables: Sequence[dict[str, Any]], names: Names) -> list[set[str]]:
    """What each of several tables may be called: its name, the one it gets without, its number."""
    kind = names[-1]
    kinds = [one.get("kind") for one in tables]
    found = []
    for number, one in enumerate(tables, 1):
        name = one.get("name")
        own = {str(number)}
        if isinstance(name, str):
            own.add(plain_name(name))
        else:
            own.add(f"{kind} {number}")
            own |= {kind} if len(tables) == 1 else set()
            if kind == "charger" and isinstance(one.get("kind"), str):
                count = kinds[:number].count(one["kind"])
                several = f" {count}" if kinds.count(one["kind"]) > 1 else ""
                own.add(plain_name(one["kind"] + several))
        found.append(own)
    return found


def name_of(table: Mapping[str, Any], kind: str, place: int) -> str:
    """Its name, or its number from 1."""
    name = table.get("name")
    return name if isinstance(name, str) else f"{kind} {place + 1}"


def called(table: Mapping[str, Any], names: Names, path: Path) -> str:
    """What it is called in a sentence: "panel arch", or "panel 2" for one without a name."""
    name = name_of(table, names[-1], int(path[-1]))
    return name if name.startswith(names[-1]) else f"{names[-1]} {name}"


def with_name(name: str | None, value: Mapping[str, Any], names: Names) -> dict[str, Any]:
    """A whole table, with the name that its place gives it."""
    own = value.get("name", name)
    if name is not None and isinstance(own, str) and plain_name(own) != plain_name(name):
        raise ReadingError(f"is called {quoted(own)} in its own values; name it so in its place")
    rest = {key: one for key, one in value.items() if key != "name"}
    return rest if own is None else {"name": own} | rest
