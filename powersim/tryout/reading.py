"""A passage folder as it was read at one moment: its passages, its fields, its mistakes."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cached_property
from pathlib import Path, PureWindowsPath
from typing import Any

from powersim.errors import InputError, Problem
from powersim.inputs.engine_plan import read_engine_plan
from powersim.inputs.folder import BOAT_FILE, LOADS_FILE, PASSAGE_FILES, load_folder
from powersim.inputs.grib import read_forecast
from powersim.inputs.irradiance import read_irradiance
from powersim.inputs.route_file import gpx_files
from powersim.inputs.toml_lines import parse_toml
from powersim.records import Passage
from powersim.tryout.boat_fields import BoatText, boat_groups, defaults_moved
from powersim.tryout.disk import Snapshot, snapshot
from powersim.tryout.fields import Group
from powersim.tryout.load_fields import loads_group, table_in
from powersim.tryout.places import places_by_cell, places_by_line

#: What a command may name beside the folder, and who reads it.
_READERS = {
    "forecast": read_forecast,
    "irradiance": read_irradiance,
    "engine_plan": read_engine_plan,
}


class Reading:
    """The files of a passage, all of one moment.

    Parameters
    ----------
    folder : Path
        The passage folder.
    sources : mapping
        Weather files and the like, as `load_folder` takes them.
    """

    def __init__(self, folder: Path, sources: Mapping[str, Any]) -> None:
        self.folder = folder
        self._sources = dict(sources)
        named = [Path(path) for name in _READERS if (path := sources.get(name)) is not None]
        self.files: Snapshot = snapshot(
            folder, beside=[*named, *_named_in(folder), *gpx_files(folder)]
        )

    @cached_property
    def name(self) -> str:
        """What the passage is called; the folder's own name where boat.toml cannot be read."""
        found = self._boat.document.get("passage")
        name = found.get("name") if isinstance(found, dict) else None
        return name if isinstance(name, str) and name.strip() else self.folder.resolve().name

    @property
    def texts(self) -> dict[str, bytes]:
        """What the files of the passage hold, by name."""
        return {name: self.files.contents[name] for name in PASSAGE_FILES if name in self.files}

    @property
    def problems(self) -> tuple[Problem, ...]:
        """All that is wrong with the files, each with its place; none where they are well."""
        try:
            self.passage({})
        except InputError as error:
            return error.problems
        return ()

    def passage(self, values: Mapping[str, Any]) -> Passage:
        """The passage with values set in place of what the files say.

        Parameters
        ----------
        values : mapping
            By place.

        Raises
        ------
        InputError
            With all that is wrong, each problem with the place where it stands.
        """
        try:
            return load_folder(
                self.folder, values=values, texts=self.texts or None, **self._read_sources
            )
        except InputError as error:
            placed = [self._placed(problem) for problem in error.problems]
            raise InputError(placed, or_climatology=error.or_climatology) from None

    def groups(self) -> list[Group]:
        """All of the boat, as much of it as can be read."""
        loads = loads_group(
            self.files.text(LOADS_FILE),
            file=str(self.folder / LOADS_FILE),
            supplies=self._boat.names("supply"),
        )
        return [loads, *boat_groups(self._boat)]

    def defaults_moved(self, values: Mapping[str, Any]) -> list[dict[str, str]]:
        """What stands for keys that are left out, where values of others have moved that."""
        return defaults_moved(self._boat, values) if values else []

    @cached_property
    def _boat(self) -> BoatText:
        return BoatText(self.files.text(BOAT_FILE), self.folder / BOAT_FILE)

    @cached_property
    def _read_sources(self) -> dict[str, Any]:
        """The same with every file read once; those that cannot be are told on every reading."""
        found = dict(self._sources)
        for name, read in _READERS.items():
            if found.get(name) is not None:
                with contextlib.suppress(InputError):
                    found[name] = read(found[name])
        return found

    @cached_property
    def _places(self) -> dict[tuple[str, int, int | None], str]:
        """The place that stands on each line of boat.toml, and in each cell of loads.csv."""
        boat, loads = (str(self.folder / name) for name in (BOAT_FILE, LOADS_FILE))
        document, lines, _ = parse_toml(self.files.text(BOAT_FILE), file=boat)
        found: dict[tuple[str, int, int | None], str] = {
            (boat, line, None): place for line, place in places_by_line(document, lines).items()
        }
        table = table_in(self.files.text(LOADS_FILE), file=loads)
        for (line, cell), place in places_by_cell(table).items():
            found[loads, line, cell] = place
        return found

    def _placed(self, problem: Problem) -> Problem:
        """A problem of a file with the place of what stands there."""
        if problem.place is not None or problem.line is None:
            return problem
        at = (problem.file, problem.line, problem.field)
        place = self._places.get(at) or self._places.get((*at[:2], None))
        return replace(problem, place=place)


def _named_in(folder: Path) -> Iterable[Path]:
    """Files beside boat.toml that it names: curves, and a table of soundings."""
    document = parse_toml(snapshot(folder).text(BOAT_FILE), file=BOAT_FILE)[0]
    chargers = document.get("charger")
    fuel = document.get("fuel")
    tank = fuel.get("tank") if isinstance(fuel, dict) else None
    names: list[Any] = [one.get("curve") for one in _tables(chargers)]
    names += [one.get("table") for one in _tables([tank])]
    return [folder / name for name in names if _is_within(name)]


def _is_within(name: Any) -> bool:
    """Whether it is a name in the folder; what leads elsewhere is looked at by nobody."""
    path = PureWindowsPath(name) if isinstance(name, str) else None
    return path is not None and not (path.drive or path.root or ".." in path.parts)


def _tables(found: Any) -> list[dict[str, Any]]:
    return [one for one in found if isinstance(one, dict)] if isinstance(found, list) else []
