"""The boat as the page shows it: groups of rows of fields, each a value and what is known of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One value of the boat.

    Attributes
    ----------
    place : str
        Where it stands, as `--set` takes it.
    label : str
        Its key or column.
    text : str
        As in the files; empty where they say nothing.
    given : bool
        Whether they say anything.
    default, reason : str or None
        What stands for it where it is left out, and why; None where nothing does.
    what, example : str
        What it is, and a value that works.
    choices : tuple of str or None
        All that it can be, where that is a list.
    step : dict or None
        How far an arrow key moves it, as `steps.step_of` has it; {"days": 1} for a date.
    """

    place: str
    label: str
    text: str
    given: bool
    default: str | None = None
    reason: str | None = None
    what: str = ""
    example: str = ""
    choices: tuple[str, ...] | None = None
    step: dict[str, Any] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One load, one panel, or the whole of a group that has no more than one.

    Attributes
    ----------
    name : str
        What the sailor calls it; empty for the whole of a group.
    place : str
        Of all of it.
    on : bool or None
        Whether it is aboard and in use; None for what cannot be left off.
    fields, more : tuple of Field
        Those that are mostly moved, and the rest.
    """

    name: str
    place: str
    on: bool | None
    fields: tuple[Field, ...]
    more: tuple[Field, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Addition:
    """One more load or panel, to be described from nothing.

    Attributes
    ----------
    label : str
        What adds it.
    prefix : str
        Of its place; its name stands behind.
    fields : tuple of Field
        Those that it needs, and those that are mostly moved; their place is the key alone.
    """

    label: str
    prefix: str
    fields: tuple[Field, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """The loads, the panels, or one table of boat.toml.

    Attributes
    ----------
    id : str
        Of the table, or "loads".
    head : str
        Its heading.
    place : str or None
        Where there is no more than one of it.
    rows : tuple of Row
        In the order of the files.
    add : Addition or None
        How one more is described, where there may be more.
    """

    id: str
    head: str
    place: str | None
    rows: tuple[Row, ...]
    add: Addition | None = None
