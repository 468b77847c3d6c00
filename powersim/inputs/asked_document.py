"""What boat.toml would hold with some values set, and where in the file each part of it stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from powersim.errors import Problem
from powersim.inputs.toml_lines import Path
from powersim.records import SetValue


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedDocument:
    """What boat.toml would hold with some values set.

    Attributes
    ----------
    document : dict
        Of TOML, all of it.
    places : dict of tuple to str
        The place as typed, by the path at which its value now stands.
    paths : dict of tuple to tuple
        Of every table of several: its path in the file, by the one that it now has; none for a new
        one.
    changed : tuple of SetValue
        What differs from the file, in the order in which it was set.
    problems : tuple of Problem
        One for each place that there is not.
    changed_at : tuple of (tuple or None)
        Beside each of `changed` the path of its key, if it is one.
    """

    document: dict[str, Any]
    places: dict[Path, str]
    paths: dict[Path, Path]
    changed: tuple[SetValue, ...]
    problems: tuple[Problem, ...]
    changed_at: tuple[Path | None, ...]

    def before(self, path: Path) -> Path | None:
        """The path that a key has, or would have, in the file; None in a table that is new.

        Parameters
        ----------
        path : tuple
            That it has now.
        """
        for end in range(len(path), 0, -1):
            if isinstance(path[end - 1], int):
                table = self.paths.get(path[:end])
                return None if table is None else (*table, *path[end:])
        return path

    def lines(self, lines: Mapping[Path, int]) -> dict[Path, int]:
        """The lines of the file's keys by the paths that they now have.

        Parameters
        ----------
        lines : mapping of tuple to int
            By the paths that they have in the file.
        """
        if not self.changed:
            return dict(lines)
        now = {before: path for path, before in self.paths.items()}
        found = {}
        for path, line in lines.items():
            moved = _moved(path, now)
            if moved is not None:
                found[moved] = line
        return found


def _moved(path: Path, now: Mapping[Path, Path]) -> Path | None:
    """A path of the file as it is now; None for one of a table that is gone."""
    found: Path = ()
    for end, part in enumerate(path, 1):
        if isinstance(part, int):
            if path[:end] not in now:
                return None
            found = now[path[:end]]
        else:
            found = (*found, part)
    return found
