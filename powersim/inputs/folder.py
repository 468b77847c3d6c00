"""A passage folder as a whole: every mistake in all of its files at once, or a Passage."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from os import PathLike
from pathlib import Path
from types import MappingProxyType
from typing import Any

from powersim.errors import InputError, Problem
from powersim.inputs.boat import BoatFile, collect_boat
from powersim.inputs.boat_passage import DEPART_EXPECTED, calms_assumed, parse_depart
from powersim.inputs.engine_plan import plan_warnings, read_engine_plan
from powersim.inputs.gpx import collect_gpx
from powersim.inputs.grib import read_forecast
from powersim.inputs.irradiance import read_irradiance
from powersim.inputs.loads import collect_loads, states_assumed
from powersim.inputs.pasteable import pasteable
from powersim.inputs.places import Given, or_load, parts_of, said, told
from powersim.inputs.route import collect_route
from powersim.inputs.route_file import GPX_FILE, ROUTE_FILE, route_assumed, route_file
from powersim.inputs.table import SET
from powersim.inputs.text import ReadingError, text_of
from powersim.records import Forecast, Irradiance, Passage, PlannedRun, SetValue
from powersim.records.units_aboard import printed_in

BOAT_FILE, LOADS_FILE = "boat.toml", "loads.csv"
_DEPART = "passage.depart"
#: What makes a passage folder, log and curves aside.
PASSAGE_FILES = (BOAT_FILE, LOADS_FILE, ROUTE_FILE, GPX_FILE)


def load_folder(
    folder: str | PathLike[str],
    *,
    depart: str | datetime | None = None,
    forecast: str | PathLike[str] | Forecast | None = None,
    irradiance: str | PathLike[str] | Irradiance | None = None,
    or_climatology: bool = False,
    engine_plan: str | PathLike[str] | tuple[PlannedRun, ...] | None = None,
    values: Mapping[str, Given] = MappingProxyType({}),
    texts: Mapping[str, bytes] | None = None,
    kind: type[Passage] = Passage,
) -> Passage:
    """Read a passage folder, and the weather files that go with it.

    Parameters
    ----------
    folder : str or Path
        Holds boat.toml, loads.csv, and route.csv or a GPX file.
    depart : str, datetime or None
        A departure that goes before that of boat.toml; UTC unless it has an offset.
    forecast, irradiance : str, Path, Forecast, Irradiance or None
        A GRIB file; a file of measured light; or what was read of it.
    or_climatology : bool
        Do without a weather file that cannot be read, or that turns out not to cover the boat.
    engine_plan : str, Path, tuple of PlannedRun or None
        A file of charging runs that take the place of boat.toml's rule, or what was read of it.
    values : mapping of str to value
        What takes the place of what boat.toml and loads.csv say, such as
        {"battery.capacity": "300 Ah"}; None takes out what is there (a load is left off, its count
        is 0), and a mapping stands for a whole load, panel or table.
    texts : mapping of str to bytes, optional
        What files of the folder hold, by their name, where that has been read before or is yet to
        be written; it goes before what lies there. Of boat.toml, loads.csv and the route.
    kind : type
        The class of the passage, Passage or one that adds to it.

    Raises
    ------
    InputError
        With everything that is wrong in all files.
    """
    folder = Path(folder)
    if not folder.is_dir():
        raise InputError([_no_folder(folder)])
    if depart is not None:
        values = {place: value for place, value in values.items() if not _is_departure(place)}
    said_of = _texts(folder, texts or {})
    found = collect_boat(folder / BOAT_FILE, text=said_of.get(BOAT_FILE), values=values)
    load_doubts: list[Problem] = []
    changed = list(found.changed)
    with printed_in(found.settings.units):
        loads, load_assumptions, load_problems = collect_loads(
            folder / LOADS_FILE,
            supplies=found.supplies,
            devices=found.devices,
            doubts=load_doubts,
            text=said_of.get(LOADS_FILE),
            values=values,
            changed=changed,
        )
    waypoints, leg_assumptions, route_problems = _collect_route(folder, found, said_of)
    weather, weather_problems = _collect_files(
        forecast=(forecast, read_forecast), irradiance=(irradiance, read_irradiance)
    )
    plan, plan_problems = _collect_files(engine_plan=(engine_plan, read_engine_plan))
    depart_utc, depart_problems = _departure(folder, found, depart)
    problems = [
        *(or_load(one, [load.name for load in loads]) for one in found.problems),
        *depart_problems,
        *load_problems,
        *route_problems,
        *plan_problems,
    ]
    if not or_climatology:
        problems += weather_problems
    if problems:
        may_go = bool(weather_problems) and not or_climatology
        raise InputError(problems, or_climatology=may_go)
    settings = found.settings
    all_changed = (*changed, *_other_departure(found, depart, depart_utc))
    assert found.boat is not None, "it comes with its problems where there is none"
    # For whoever reads the folder again, a departure is a value like any other.
    departing = {} if depart is None else {_DEPART: depart}
    return kind(
        name=settings.name or folder.resolve().name,
        depart_utc=depart_utc,
        waypoints=waypoints,
        boat=found.boat,
        loads=loads,
        ship_offset_h=settings.ship_offset_h,
        cloud_model=settings.cloud_model,
        units=settings.units,
        assumptions=(
            *found.assumptions,
            *load_assumptions,
            *states_assumed(LOADS_FILE, waypoints),
            *_of_legs(leg_assumptions, found.boat),
            *calms_assumed(BOAT_FILE, waypoints, settings.leg),
        ),
        doubts=(*found.doubts, *load_doubts),
        folder=folder,
        **weather,
        **plan,
        or_climatology=or_climatology,
        left_out=tuple(weather_problems),
        values=tuple({**values, **departing}.items()),
        changed=all_changed,
        change_warnings=plan_warnings(engine_plan, all_changed),
    )


def _texts(folder: Path, texts: Mapping[str, bytes]) -> dict[str, str]:
    """What files hold, by name; one InputError for all that are no text."""
    found: dict[str, str] = {}
    problems: list[Problem] = []
    for name, raw in texts.items():
        if name not in PASSAGE_FILES:
            raise ValueError(f"{name!r} is none of {', '.join(PASSAGE_FILES)}")
        try:
            found[name] = text_of(raw, file=str(folder / name), is_table=name.endswith(".csv"))
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    return found


def _is_departure(place: str) -> bool:
    try:
        return ".".join(parts_of(place)) == _DEPART
    except ReadingError:  # told with boat.toml
        return False


def _other_departure(
    found: BoatFile, depart: str | datetime | None, depart_utc: datetime | None
) -> tuple[SetValue, ...]:
    """The departure of a command, where boat.toml has another one."""
    old = found.settings.depart_utc
    if depart is None or old is None or depart_utc == old:
        return ()
    before = f"{old:%Y-%m-%d %H:%M} UTC"
    now = said(depart) if isinstance(depart, str) else f"{depart_utc:%Y-%m-%d %H:%M} UTC"
    words = told(_DEPART, before, now)
    return (SetValue(place=_DEPART, old=before, new=now, told=words),)


def _of_legs(assumptions, boat):
    """Nobody without an engine need be told that no motoring was named."""
    return [one for one in assumptions if boat.engine is not None or " motoring" not in one.place]


def _collect_files(**wanted):
    """Further files as fields of a passage, read or as they were read, and what is wrong."""
    found: dict[str, Any] = {}
    problems: list[Problem] = []
    for name, (path, read) in wanted.items():
        if path is None:
            continue
        try:
            found[name] = read(path) if isinstance(path, str | PathLike) else path
        except InputError as error:
            problems += error.problems
    return found, problems


def _no_folder(folder: Path) -> Problem:
    text = "is a file, not a folder" if folder.exists() else "no such folder"
    expected = f"a passage folder; powersim new {pasteable(folder)} makes one to fill in"
    return Problem(file=str(folder), text=text, expected=expected)


def _collect_route(folder: Path, found: BoatFile, texts: Mapping[str, str]):
    """Waypoints, assumptions and problems of whichever route there is."""
    path = route_file(folder, known=texts)
    if isinstance(path, Problem):
        return (), (), (path,)
    collect = collect_route if path.name == ROUTE_FILE else collect_gpx
    waypoints, assumptions, problems = collect(
        path, leg=found.settings.leg, text=texts.get(path.name)
    )
    return waypoints, (*route_assumed(path), *assumptions), problems


def _departure(folder: Path, found: BoatFile, depart: str | datetime | None):
    """When the passage begins, and what is wrong with that."""
    if depart is not None:
        try:
            return parse_depart(depart)[0], ()
        except ReadingError as error:
            problem = Problem(file="depart", text=error.reason, expected=DEPART_EXPECTED)
            return None, (problem,)
    if found.settings.depart_utc is not None or any(
        "passage.depart:" in problem.text for problem in found.problems
    ):
        return found.settings.depart_utc, ()
    if found.supplies is None:  # boat.toml could not be read at all
        return None, ()
    taken_out = next((one.place for one in found.changed if _is_departure(one.place)), None)
    if taken_out is not None:
        text = f"{taken_out}: there is no other departure"
        return None, (Problem(file=SET, text=text, expected=DEPART_EXPECTED, place=taken_out),)
    missing = Problem(
        file=str(folder / BOAT_FILE),
        line=found.depart_line,
        text="passage: no depart",
        expected=f"depart: {DEPART_EXPECTED}",
    )
    return None, (missing,)
