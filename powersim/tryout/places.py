"""Where a value stands: its place as `--set` takes it, from the files and from what is wrong."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Any

from powersim.inputs.places import LOADS
from powersim.inputs.table import CsvTable
from powersim.inputs.toml_lines import Path


def part_of(name: str) -> str:
    """A name as a part of a place: in quotes where it holds what would end it.

    Examples
    --------
    >>> part_of("vhf radio"), part_of("no. 2 pilot")
    ('vhf radio', '"no. 2 pilot"')
    """
    if not any(sign in name for sign in ".\"'"):
        return name
    quote = "'" if '"' in name else '"'
    return f"{quote}{name}{quote}"


def load_place(name: str, column: str | None = None) -> str:
    """The place of a load, or of one of its columns.

    Examples
    --------
    >>> load_place("vhf radio", "draw")
    'loads.vhf radio.draw'
    """
    return ".".join((LOADS, part_of(name), *([] if column is None else [column])))


def key_place(document: Mapping[str, Any], path: Path) -> str:
    """The place of a table or a key of boat.toml.

    Parameters
    ----------
    document : mapping
        What boat.toml holds.
    path : tuple
        Such as ("panel", 0, "power").

    Examples
    --------
    >>> panels = {"panel": [{"name": "arch"}, {"power": "50 W"}]}
    >>> key_place(panels, ("panel", 0, "power")), key_place(panels, ("panel", 1))
    ('panel.arch.power', 'panel.2')
    """
    parts: list[str] = []
    node: Any = document
    for step in path:
        if isinstance(step, int):
            parts.append(_which(node, step))
        else:
            parts.append(part_of(step))
        try:
            node = node[step]
        except (KeyError, IndexError, TypeError):
            node = None
    return ".".join(parts)


def _which(tables: Any, number: int) -> str:
    """One of several tables: by its name where that is its own, else by its number from 1."""
    names = [name_in(one) for one in tables]
    folded = Counter(name.casefold() for name in names)
    name = names[number]
    both = '"' in name and "'" in name
    if not name or both or name.isdigit() or folded[name.casefold()] > 1:
        return str(number + 1)
    return part_of(name)


def name_in(table: Any) -> str:
    """What a table is called, with single blanks; empty where it does not say."""
    name = table.get("name", "") if isinstance(table, Mapping) else ""
    return " ".join(name.split()) if isinstance(name, str) else ""


def places_by_line(document: Mapping[str, Any], lines: Mapping[Path, int]) -> dict[int, str]:
    """The place that stands on each line of boat.toml: a key, or a table where there is none."""
    found: dict[int, Path] = {}
    for path, line in lines.items():
        if len(path) > len(found.get(line, ())):
            found[line] = path
    return {line: key_place(document, path) for line, path in found.items()}


def places_by_cell(table: CsvTable) -> dict[tuple[int, int | None], str]:
    """The place of each cell of the load list by line and number, and of each row by its line."""
    found: dict[tuple[int, int | None], str] = {}
    for row in table.rows:
        name = load_name(row.cells)
        if not name:
            continue
        found[row.line, None] = load_place(name)
        for column, number in row.fields.items():
            found[row.line, number] = load_place(name, column)
    return found


def load_name(cells: Mapping[str, str]) -> str:
    """A load's name with single blanks, as its row has it."""
    return " ".join(cells.get("load", "").split())


def first_of(place: str) -> str:
    """The table that a place begins with."""
    return place.partition(".")[0].strip()
