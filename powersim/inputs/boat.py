"""boat.toml as a whole: the boat, its supplies, and the settings of the passage."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from os import PathLike
from types import MappingProxyType

from powersim.errors import InputError, Problem
from powersim.inputs.asked_document import AskedDocument
from powersim.inputs.boat_alternator import ALTERNATOR_KEYS, read_alternator
from powersim.inputs.boat_battery import BATTERY_KEYS, read_battery
from powersim.inputs.boat_chargers import CHARGER_KEYS, read_chargers
from powersim.inputs.boat_charging import (
    CHARGING_KEYS,
    COST_KEYS,
    FUEL_KEYS,
    SHEDDING_KEYS,
    read_charging,
    read_costs,
    read_fuel,
    read_shedding,
)
from powersim.inputs.boat_devices import DEVICE_KEYS, read_devices
from powersim.inputs.boat_engine import ENGINE_KEYS, read_engine
from powersim.inputs.boat_heavy_weather import HEAVY_WEATHER_KEYS, read_heavy_weather
from powersim.inputs.boat_passage import PASSAGE_KEYS, PassageSettings, read_passage
from powersim.inputs.boat_solar import CONTROLLER_KEYS, PANEL_KEYS, SHADE_KEYS, read_solar
from powersim.inputs.boat_tank import PART_KEYS, TANK_KEYS
from powersim.inputs.places import Given, told
from powersim.inputs.set_values import set_in_document
from powersim.inputs.text import ReadingError, did_you_mean, quoted, read_text
from powersim.inputs.toml_keys import NAME, keys_of
from powersim.inputs.toml_lines import Path, parse_toml
from powersim.inputs.toml_table import Sheet, record_defaults, refuse_doubles
from powersim.records import Assumption, Boat, SetValue, Supply
from powersim.records.units_aboard import printed_in

BOAT_KEYS = keys_of(Boat)
SUPPLY_KEYS = keys_of(Supply)

#: Every table of boat.toml and what it may hold, in the order in which a sailor meets them.
KEYS_BY_TABLE = {
    "passage": PASSAGE_KEYS,
    "boat": BOAT_KEYS,
    "battery": BATTERY_KEYS,
    "panel": PANEL_KEYS,
    "controller": CONTROLLER_KEYS,
    "charger": CHARGER_KEYS,
    "alternator": ALTERNATOR_KEYS,
    "engine": ENGINE_KEYS,
    "fuel": FUEL_KEYS,
    "charging": CHARGING_KEYS,
    "shedding": SHEDDING_KEYS,
    "heavy_weather": HEAVY_WEATHER_KEYS,
    "supply": SUPPLY_KEYS,
    "device": DEVICE_KEYS,
}
TABLES = tuple(KEYS_BY_TABLE)
#: What each table may hold, those within others too.
KEYS_OF = {
    names: tuple(key.name for key in keys)
    for names, keys in (
        *(((name,), keys) for name, keys in KEYS_BY_TABLE.items()),
        (("panel", "shade"), SHADE_KEYS),
        (("fuel", "tank"), TANK_KEYS),
        (("fuel", "tank", "part"), PART_KEYS),
        (("charging", "costs"), COST_KEYS),
    )
}


@dataclass(frozen=True, slots=True, kw_only=True)
class BoatFile:
    """What boat.toml says.

    Attributes
    ----------
    boat : Boat or None
        None where anything is wrong.
    settings : PassageSettings
        As much of [passage] as could be read.
    supplies : tuple of str or None
        Names that loads may hang on, "dc" aside; None where they cannot be known.
    devices : tuple of str or None
        The same of devices with batteries of their own, which sessions may name.
    depart_line : int or None
        Where [passage] stands.
    assumptions : tuple of Assumption
        Every default that was used.
    doubts : tuple of Problem
        What can be meant, and is unlike what other boats have.
    problems : tuple of Problem
        Everything wrong, in the order of the file.
    assumed_at : mapping
        Value and reason of every default that was used, by the path where it could be written,
        such as ("panel", 0, "tilt").
    changed : tuple of SetValue
        What was set in place of what the file says.
    """

    boat: Boat | None = None
    settings: PassageSettings = field(default_factory=PassageSettings)
    supplies: tuple[str, ...] | None = None
    devices: tuple[str, ...] | None = None
    depart_line: int | None = None
    assumptions: tuple[Assumption, ...] = ()
    doubts: tuple[Problem, ...] = ()
    problems: tuple[Problem, ...] = ()
    assumed_at: Mapping[Path, tuple[str, str]] = field(default_factory=dict)
    changed: tuple[SetValue, ...] = ()


def read_boat(path: str | PathLike[str]) -> BoatFile:
    """boat.toml; everything wrong with it in one InputError.

    Parameters
    ----------
    path : str or Path
        The file.
    """
    found = collect_boat(path)
    if found.problems:
        raise InputError(found.problems)
    return found


def collect_boat(
    path: str | PathLike[str],
    *,
    text: str | None = None,
    values: Mapping[str, Given] = MappingProxyType({}),
) -> BoatFile:
    """boat.toml with its problems collected.

    Parameters
    ----------
    path : str or Path
        The file.
    text : str or None
        What it is to hold, where it is tried out before it is written; None reads it.
    values : mapping of str to value
        What takes the place of what it says, as `set_values` has it.

    Returns
    -------
    BoatFile
        Without a boat if there is a problem.
    """
    file = str(path)
    try:
        text = read_text(path) if text is None else text
    except InputError as error:
        return BoatFile(problems=error.problems)
    document, lines, problems = parse_toml(text, file=file)
    if problems:
        return BoatFile(problems=tuple(problems))
    asked = set_in_document(document, values, keys=KEYS_OF)
    before = Sheet(file=file, document=document, lines=lines)
    document, lines = asked.document, asked.lines(lines)
    sheet = Sheet(
        file=file,
        document=document,
        lines=lines,
        places=asked.places,
        problems=list(asked.problems),
    )
    _refuse_unknown_tables(sheet)
    settings = read_passage(sheet)
    with printed_in(settings.units):  # defaults and bounds are told in them too
        boat = _read_boat(sheet)
    return BoatFile(
        boat=None if sheet.problems else boat,
        settings=settings,
        supplies=_names(document.get("supply", [])),
        devices=_names(document.get("device", [])),
        depart_line=lines.get(("passage",)),
        assumptions=sheet.assumptions,
        doubts=tuple(sorted(sheet.doubts, key=partial(_place, file))),
        problems=tuple(sorted(sheet.problems, key=partial(_place, file))),
        assumed_at=sheet.assumed_at,
        changed=_with_defaults(asked, sheet, before) if asked.changed else (),
    )


def _with_defaults(asked: AskedDocument, sheet: Sheet, before: Sheet) -> tuple[SetValue, ...]:
    """What was set, with the default that holds in its place, or held before."""
    if any(one.old is None for one in asked.changed):
        with printed_in(read_passage(before).units):
            _read_boat(before)
    found = []
    for one, path in zip(asked.changed, asked.changed_at, strict=True):
        if path is not None and (one.old is None or one.new is None):
            there = asked.before(path) if one.old is None else path
            assumed = before.assumed_at if one.old is None else sheet.assumed_at
            default = None if there is None else assumed.get(there, (None,))[0]
            one = replace(one, told=told(one.place, one.old, one.new, default=default))
        found.append(one)
    return tuple(found)


def _place(file: str, problem: Problem) -> tuple:
    """Where a problem stands: those of boat.toml first, then those of each power curve."""
    return problem.file != file, problem.file or "", problem.line or 0


def _names(found) -> tuple[str, ...] | None:
    """Names that loads may name, also of what has something else wrong."""
    try:
        return tuple(NAME.read(one["name"]) for one in found)
    except (ReadingError, TypeError, KeyError):  # what is wrong with a name is told elsewhere
        return None


def _refuse_unknown_tables(sheet: Sheet) -> None:
    for name, value in sheet.document.items():
        if name not in TABLES:
            what = "table" if isinstance(value, dict | list) else "key outside a table"
            sheet.problem(
                (name,),
                f"unknown {what}{did_you_mean(name, TABLES)}",
                "tables " + ", ".join(TABLES),
            )


def _read_boat(sheet: Sheet) -> Boat | None:
    battery = read_battery(sheet)
    engine = read_engine(sheet)
    alternator = read_alternator(sheet, battery)
    panels, controllers = read_solar(sheet, battery)
    name = _read_name(sheet)
    chargers = read_chargers(sheet, battery)
    fuel = read_fuel(sheet, engine)
    charging = read_charging(sheet, battery, engine, alternator)
    costs = read_costs(sheet)
    shedding = read_shedding(sheet)
    heavy_weather = read_heavy_weather(sheet)
    supplies = _read_supplies(sheet)
    devices = read_devices(sheet)
    if sheet.problems or battery is None or charging is None or shedding is None or costs is None:
        return None
    if heavy_weather is None:
        return None
    return Boat(
        name=name,
        battery=battery,
        panels=panels,
        controllers=controllers,
        chargers=chargers,
        alternator=alternator,
        engine=engine,
        fuel=fuel,
        charging=charging,
        costs=costs,
        shedding=shedding,
        supplies=supplies,
        heavy_weather=heavy_weather,
        devices=devices,
    )


def _read_name(sheet: Sheet) -> str:
    table = sheet.table("boat")
    given = {} if table is None else table.take(BOAT_KEYS)
    return given.get("name", "the boat")


def _read_supplies(sheet: Sheet) -> tuple[Supply, ...]:
    tables = sheet.tables("supply")
    supplies = []
    for table in tables:
        given = table.take(SUPPLY_KEYS)
        if str(given.get("name", "")).casefold() == "dc":
            table.problem("name", f"{quoted(given['name'])} means the bank itself", "another name")
        table.fill(SUPPLY_KEYS, record_defaults(Supply))
        supplies.append(table.build(Supply))
    refuse_doubles(tables)
    return tuple(supply for supply in supplies if supply is not None)
