"""Writes what docs/reference takes from the code: commands.md, and the tables of files.md."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Iterable
from pathlib import Path

import click

from powersim.cli.exits import MEANINGS
from powersim.cli.main import powersim
from powersim.inputs.boat import KEYS_BY_TABLE
from powersim.inputs.boat_charging import COST_KEYS
from powersim.inputs.boat_solar import SHADE_KEYS
from powersim.inputs.boat_tank import TANK_KEYS
from powersim.inputs.folder import load_folder
from powersim.inputs.headings import CsvColumn
from powersim.inputs.load_columns import LOAD_COLUMNS
from powersim.inputs.log_columns import log_columns
from powersim.inputs.power_curve import POWER, column_of
from powersim.inputs.route import ROUTE_COLUMNS
from powersim.inputs.toml_keys import written
from powersim.inputs.trial import TRIAL_COLUMNS
from powersim.inputs.units import UNITS
from powersim.records import CHEMISTRIES, WaterGenerator
from powersim.records.chargers.power_curve import AIR, SEA

FOLDER = Path(__file__).parent / "reference"
_INTRODUCTION = """\
# Commands

What each command says of itself with `--help`. This page is written by
`python docs/make_reference.py`; a test fails when it is stale.

## Exit codes

| code | meaning |
|---|---|
{codes}

Answers go to standard output, everything else that is said to standard error. Where a message
cannot be written either, the code alone tells how a command ended. Ctrl-C ends a command at any
moment; until Python has started, some hundredths of a second, it does so without our line.
"""
_PRACTICE = "common practice, no source"
_MARKED = re.compile(r"(<!-- generated: ([\w.]+) -->\n).*?(<!-- end -->)", re.DOTALL)

#: A boat with one of everything and no figure that could be left out: what is assumed of it is
#: what a table of defaults has to show. Invented.
_PLAIN_BOAT = """
[passage]
depart = "2026-05-02 22:00"
[battery]
chemistry = "{chemistry}"
capacity = "100 Ah"
[[panel]]
power = "100 W"
{panel}
[[controller]]
{controller}
[[charger]]
kind = "{charger}"
{rated}
[alternator]
nameplate = "100 A"
{alternator}
[engine]
rated = "10 kW"
{engine}
[fuel]
tank = "100 L"
[charging.costs]
[shedding]
comfort_below = "60 %"
[heavy_weather]
lie_to_above = "34 kn"
spray_above = "24 kn"
rough_above = "22 kn"
very_rough_above = "30 kn"
[[supply]]
name = "inverter"
[[device]]
name = "phone"
battery = "15 Wh"
use = "8 Wh/day"
"""
_PLAIN = {
    "chemistry": "flooded",
    "panel": "",
    "controller": "",
    "charger": "wind",
    "rated": "",
    "alternator": "",
    "engine": "",
}
#: Some keys have a default only where another key has a certain value.
_VARIANTS = (
    {},
    {"chemistry": "gel"},
    {"chemistry": "agm"},
    {"chemistry": "lifepo4"},
    {"panel": 'mount = "hand"', "controller": 'kind = "pwm"'},
    {"alternator": 'regulator = "multi-stage"'},
    {"engine": 'charging_burn = "0.6 L/h"\nstart_battery = "shared"'},
    *({"charger": kind} for kind in WaterGenerator.kinds),
    {"charger": "shore", "rated": 'rated = "20 A"'},
)
_PLAIN_ROUTE = "waypoint,position,speed\nA,18 00 S 178 00 E,4 kn\nB,17 00 S 177 00 E,\n"

#: Why a key, or a column, has no default of its own, or which one it has without saying so.
_OTHERWISE = {
    "position": "required, unless `lat` and `lon` are",
    "lat": "required, unless `position` is",
    "lon": "required, unless `position` is",
    "speed": "that of `[passage]` in boat.toml, or required without it; none at the last waypoint",
    "stop": "none; a stop is at anchor unless it says hove-to, drifting or berthed",
    "curve.wind": "required for a wind generator",
    "curve.speed": "required for one in the water",
    "note": "empty",
    "often": "on, as it says",
    "each": "required with `often`",
    "with": "nothing else is on for it",
    "trial.csv.idle": "not read",
    "trial.csv.on": "not read",
    "trial.csv.off": "not read",
    "trial.csv.voltage": "that of the row before; where none was read, the bank's usual volts",
    "trial.csv.counted_over": "required for a reading in Ah",
}
#: What holds where a cell of the log is empty; of all other columns nothing.
_LOG_OTHERWISE = {
    "time": "required, unless `ship_time` is",
    "ship_time": "required, unless `time` is",
    "date": "the date stands in `time` or `ship_time`",
    "position": "where the plan has her",
    "resting_h": "not rested",
    "current": "none if rested, otherwise what the plan has",
    "engine_h": "from the readings before and after; without any, run as planned",
    "gear_h": "worked out from `engine_h`, passage and calms",
    "cans_left": "as last counted; before that as boat.toml has them",
    "fuel_added": "none came aboard",
}
#: What is accepted, where the kind of value does not say it.
_ACCEPTED = {
    "passage.depart": "the years 1950 to 2100",
    "passage.ship_time": "zone, or UTC with an offset of at most 14 h",
    "passage.speed": "0.2 kn to 40 kn",
    "passage.track": "great circle, rhumb",
    "passage.tack": "port, starboard, both",
    "passage.heel": "0 deg to 60 deg",
    "passage.motoring": "as in route.csv",
    "battery.nominal": "12 V, 24 V, 36 V, 48 V",
    "battery.floor": "above flat, below 100 %",
    "panel.shade": "see [shade](#shade-sectors)",
    "charger.curve": "see [the curve](#the-curve-of-a-generator)",
    "charger.from": "0 kn to 40 kn, below `to`",
    "charger.hours": "one span, any",
    "fuel.jerrycans": "0 L to 10,000 L",
    "fuel.reserve": "0 L to what is aboard",
    "charging.hours": "one span, any",
    "charging.full_every": "above 0 days, at most 366 days; never",
}
#: The keys by which a voltage of Chemistry.voltages is set.
_VOLTAGE_KEYS = {
    "absorption_V": "absorption",
    "constant_V": "alternator.voltage",
    "float_V": "float",
    "cutout_V": "cutout",
    "temp_comp_V_per_C": "temp_comp",
}
#: First and last value that a column takes; a test holds both against the reader.
COLUMN_RANGES = {
    "loads.csv": {
        "draw": (("0 W", "20000 W"), ("0 A", "2000 A")),
        "standby": (("0 W", "20000 W"), ("0 A", "2000 A")),
        "count": (("0", "1000"),),
        "on": (("0 %", "100 %"), ("0 h/day", "24 h/day")),
        "failed": (("0 %", "95 %"),),
        "fuel": (("0 L/h", "5 L/h"),),
        "spread": (("0 %", "100 %"),),
    },
    "route.csv": {
        "speed": (("0.2 kn", "40 kn"),),
        "stop": (("0 h", "366 days"),),
        "heel": (("0 deg", "60 deg"),),
        "wind": (("0 m/s", "60 m/s"),),
        "cabin_temp": (("-30 degC", "60 degC"),),
        "cloud": (("0 oktas", "8 oktas"),),
        "lat": (("-90", "90"),),
        "lon": (("-180", "360"),),
    },
    "trial.csv": {
        **dict.fromkeys(("idle", "on", "off"), (("-2000 A", "2000 A"),)),
        "voltage": (("6 V", "100 V"),),
        "counted_over": (("0 h", "48 h"),),
    },
    "curve": {
        "wind": (("0 m/s", "100 m/s"),),
        "speed": (("0 kn", "40 kn"),),
        "power": (("0 W", "20000 W"),),
    },
}


def commands_page() -> str:
    """The whole page of commands."""
    root = _context(powersim, "powersim")
    commands = [
        _context(powersim.get_command(root, name), name, root)
        for name in powersim.list_commands(root)
    ]
    codes = "\n".join(f"| {code} | {meaning} |" for code, meaning in MEANINGS.items())
    introduction = _INTRODUCTION.format(codes=codes)
    return "\n".join([introduction, *map(_section, [root, *commands])])


def _context(command: click.Command, name: str, parent: click.Context | None = None):
    return click.Context(command, info_name=name, parent=parent, **command.context_settings)


def _section(context: click.Context) -> str:
    return f"## {context.command_path}\n\n```text\n{context.get_help()}\n```\n"


def files_page(page: str) -> str:
    """The page of files with every table between its marks written anew.

    Parameters
    ----------
    page : str
        As it stands; what is not between marks is kept.
    """
    defaults = boat_defaults()
    tables = {
        "units": _units_table,
        "voltages": _voltages_table,
        "loads.csv": lambda: _columns_table("loads.csv", _load_rows()),
        "route.csv": lambda: _columns_table("route.csv", _route_rows()),
        "log.csv": _log_table,
        "trial.csv": lambda: _columns_table(
            "trial.csv", ((column, None) for column in TRIAL_COLUMNS)
        ),
        "shade": lambda: _keys_table("shade", SHADE_KEYS, {}),
        "fuel.tank": lambda: _keys_table("fuel.tank", TANK_KEYS, _tank_defaults()),
        "charging.costs": lambda: _keys_table("charging.costs", COST_KEYS, defaults),
        "curve": lambda: _columns_table(
            "curve", ((column, None) for column in (column_of(AIR), column_of(SEA), POWER))
        ),
    }
    for name, keys in KEYS_BY_TABLE.items():
        tables[name] = lambda name=name, keys=keys: _keys_table(name, keys, defaults)
    return _MARKED.sub(lambda mark: f"{mark[1]}\n{tables[mark[2]]()}\n{mark[3]}", page)


def boat_defaults() -> dict[str, str]:
    """Default and reason of every key of boat.toml that has one, as `check` would tell them."""
    found: dict[str, dict[str, tuple[str, str]]] = {}
    for variant in _VARIANTS:
        settings = _PLAIN | variant
        for assumption in _assumptions(_PLAIN_BOAT.format(**settings)):
            file, key = assumption.place.split(" ", 1)
            if file == "boat.toml":
                by_kind = found.setdefault(key, {})
                kind = settings["charger" if key.startswith("charger.") else "chemistry"]
                reason = assumption.reason.replace(f"as {settings['chemistry']}", "as the bank")
                said = (assumption.value, reason)
                by_kind.setdefault(kind, said)
    return {key: _told(by_kind) for key, by_kind in found.items()}


def _tank_defaults() -> dict[str, str]:
    """Defaults of [fuel.tank], of a box."""
    shape = 'shape = "box"\nlength = "1 m"\nwidth = "50 cm"\nheight = "20 cm"\n'
    boat = _PLAIN_BOAT.format(**_PLAIN).replace('tank = "100 L"\n', f"[fuel.tank]\n{shape}")
    return {
        assumption.place.removeprefix("boat.toml "): _default(assumption.value, assumption.reason)
        for assumption in _assumptions(boat)
    }


def _assumptions(boat: str):
    with tempfile.TemporaryDirectory() as folder:
        files = {"boat.toml": boat, "loads.csv": "load,draw\nlamp,1 W\n", "route.csv": _PLAIN_ROUTE}
        for name, text in files.items():
            (Path(folder) / name).write_text(text, encoding="utf-8")
        return load_folder(folder).assumptions


def _told(by_kind: dict[str, tuple[str, str]]) -> str:
    """One default for all chemistries or chargers, or each with the kinds that it is for."""
    grouped: dict[tuple[str, str], list[str]] = {}
    for kind, said in by_kind.items():
        grouped.setdefault(said, []).append(kind)
    if len(grouped) == 1:
        return _default(*next(iter(grouped)))
    return "<br>".join(f"{', '.join(kinds)}: {_default(*said)}" for said, kinds in grouped.items())


def _default(value: str | None, reason: str | None) -> str:
    reason = (reason or "").replace(_PRACTICE, "(practice)")
    return f"{value}; {reason}" if reason else str(value)


def _keys_table(table: str, keys: Iterable, defaults: dict[str, str]) -> str:
    rows = []
    for key in keys:
        place = f"{table}.{key.name}"
        default = "required" if key.required else key.without
        rows.append(
            (
                f"`{key.name}`",
                key.meaning or key.expected,
                _ACCEPTED.get(place, key.kind.span)
                + (f"; usual {key.usual_span}" if key.usual else ""),
                defaults.get(place) or default or "",
                key.example,
            )
        )
    return _table(("key", "what it holds", "accepted", "default and why", "example"), rows)


def _load_rows():
    for each in LOAD_COLUMNS:
        default = None if each.default is None else _default(each.default, each.reason)
        yield each.column, default


def _route_rows():
    told = {
        assumption.place.removeprefix("route.csv "): _default(assumption.value, assumption.reason)
        for assumption in _assumptions(_PLAIN_BOAT.format(**_PLAIN))
        if assumption.place.startswith("route.csv")
    }
    for each in ROUTE_COLUMNS:
        yield each.column, told.get(each.column.name)


def _columns_table(file: str, columns: Iterable) -> str:
    rows = []
    for column, default in columns:
        ranges = COLUMN_RANGES[file].get(column.name, ())
        otherwise = _OTHERWISE.get(f"{file}.{column.name}") or _OTHERWISE.get(column.name)
        otherwise = otherwise or ("required" if column.required else None)
        rows.append(
            (
                f"`{column.name}`",
                column.meaning,
                "; ".join(f"{least} to {most}" for least, most in ranges),
                otherwise or default or "",
                column.example,
                _bare(column),
            )
        )
    head = ("column", "what it holds", "accepted", "default and why", "example", "bare numbers as")
    return _table(head, rows)


def _bare(column: CsvColumn) -> str:
    """The headings under which a column's cells are bare numbers."""
    if any(column.name.endswith(f"_{unit}") for unit in column.units):
        return f"`{column.name}` itself"
    heads = (f"`{column.name}_{unit.replace('/', '_per_')}`" for unit in column.units)
    return " or ".join(heads).replace("frac", "%")


def _log_table() -> str:
    rows = [
        (
            f"`{each.column.name}`",
            each.column.meaning,
            each.span,
            _LOG_OTHERWISE.get(each.column.name, "nothing"),
            each.column.example,
            _bare(each.column),
        )
        for each in log_columns(can_L=20.0)
        if each.column.name != "note"
    ]
    head = ("column", "what it holds", "accepted", "if left out", "example", "bare numbers as")
    return _table(head, rows)


def _units_table() -> str:
    dimensions: dict[str, list[str]] = {}
    for unit in UNITS:
        also = ", ".join(unit.spellings)
        dimensions.setdefault(unit.dimension, []).append(
            f"`{unit.symbol}`" + (f" ({also})" if also else "")
        )
    rows = [(name, ", ".join(units)) for name, units in dimensions.items()]
    return _table(("what", "units, and other spellings"), rows)


def _voltages_table() -> str:
    """What each voltage may be and usually is, by chemistry, of a bank of 12 V."""
    rows = []
    for chemistry, traits in CHEMISTRIES.items():
        for field, found in traits.voltages.items():
            unit = "V/degC" if field == "temp_comp_V_per_C" else "V"
            ends = [
                " to ".join(written(end, unit) for end in dict.fromkeys(span))
                for span in (found.possible_V, found.usual_V)
            ]
            rows.append((chemistry, f"`{_VOLTAGE_KEYS[field]}`", *ends))
    return _table(("bank", "key", "accepted", "usual"), rows)


def _table(head: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    lines = [head, ("---",) * len(head), *rows]
    return "".join(f"| {' | '.join(cell.replace('|', '/') for cell in line)} |\n" for line in lines)


def main() -> None:
    """Write the pages."""
    files = FOLDER / "files.md"
    pages = {
        FOLDER / "commands.md": commands_page(),
        files: files_page(files.read_text(encoding="utf-8")),
    }
    for path, page in pages.items():
        path.write_text(page, encoding="utf-8", newline="\n")
        print(f"wrote {path}")


if __name__ == "__main__":
    main()
