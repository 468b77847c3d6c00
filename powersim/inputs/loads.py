"""The load list, loads.csv: what draws on the bank, one line a load."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from os import PathLike
from pathlib import Path
from types import MappingProxyType
from typing import Any

from powersim.errors import InputError, Problem
from powersim.inputs.load_columns import LOAD_ALIASES, LOAD_COLUMNS
from powersim.inputs.load_sizes import judge_sizes
from powersim.inputs.places import Given
from powersim.inputs.sessions import named_beside, odd_sessions, session_of
from powersim.inputs.set_loads import set_in_loads
from powersim.inputs.table import CsvRow, CsvTable, collect_table, problem_at
from powersim.inputs.text import ReadingError, did_you_mean, quoted
from powersim.inputs.windows import open_h
from powersim.records import STATES, Assumption, Load, SetValue, Waypoint, states_meant

_DC = "dc"
_ROUNDING_H = 1e-9  # far below a second


def read_loads(
    path: str | PathLike[str], *, supplies: Iterable[str] | None = None
) -> tuple[Load, ...]:
    """The loads of a file; everything wrong with it in one InputError.

    Parameters
    ----------
    supplies : iterable of str or None
        Names of the boat's supplies beside "dc"; None accepts any.
    """
    loads, _, problems = collect_loads(path, supplies=supplies)
    if problems:
        raise InputError(problems)
    return loads


def collect_loads(
    path: str | PathLike[str],
    *,
    supplies: Iterable[str] | None = None,
    devices: Iterable[str] | None = (),
    doubts: list[Problem] | None = None,
    text: str | None = None,
    values: Mapping[str, Given] = MappingProxyType({}),
    changed: list[SetValue] | None = None,
) -> tuple[tuple[Load, ...], tuple[Assumption, ...], tuple[Problem, ...]]:
    """The loads that could be read, the defaults that were used, and all that is wrong.

    Parameters
    ----------
    path : str or Path
        The file.
    supplies : iterable of str or None
        Names that loads may hang on, "dc" aside; None where they cannot be known.
    devices : iterable of str or None
        Names of devices with batteries of their own, which sessions may name; the same.
    doubts : list of Problem or None
        Takes what can be meant, and is unlike what other boats have.
    text : str or None
        What the file is to hold, where it is tried out before it is written; None reads it.
    values : mapping of str to value
        What takes the place of what it says, as `set_loads` has it.
    changed : list of SetValue or None
        Takes what of that differs from the file.
    """
    columns = [each.column for each in LOAD_COLUMNS]
    table = collect_table(path, columns, aliases=LOAD_ALIASES, text=text)
    asked = set_in_loads(table, values, known=[column.name for column in columns])
    table = asked.table
    if changed is not None:
        changed += asked.changed
    problems = list(table.problems)
    known_supplies = None if supplies is None else (_DC, *supplies)
    names = {row.cells.get("load", "") for row in table.rows}
    others = None if known_supplies is None or devices is None else (*known_supplies, *devices)
    loads: list[Load] = []
    lines: dict[str, int] = {}
    for row in table.rows:
        given, faults = _cells(row)
        faults += named_beside(row, given, loads=names, others=others)
        given, wrong = session_of(row, given)
        faults += wrong
        faults += _name_taken(row, given, lines)
        faults += _supply_unknown(row, given, known_supplies)
        faults += _time_too_long(row, given)
        wrong, odd = judge_sizes(row, given)
        faults += wrong
        if doubts is not None:
            doubts += [*odd, *odd_sessions(row, given.get("session"))]
        if faults:
            problems += faults
        elif {"load", "draw"} <= row.cells.keys():
            loads.append(Load(**_states_used(given) | _supply_as_declared(given, known_supplies)))
    in_order = sorted(problems, key=lambda problem: (problem.line or 0, problem.field or 0))
    return tuple(loads), tuple(_assumptions(path, table)), tuple(in_order)


def states_assumed(file: str, waypoints: Sequence[Waypoint]) -> tuple[Assumption, ...]:
    """What loads are taken to do at the route's stops in states that their lines need not name.

    Returns
    -------
    tuple of Assumption
        One a state that goes by another, in the order of BOAT_STATES.
    """
    stops = {waypoint.stop_state for waypoint in waypoints if waypoint.stop_h > 0}
    return tuple(
        Assumption(
            place=f"{file} when, {state.name}",
            value=f"as {STATES[state.as_if].words}",
            reason=f"where a line does not name it; {_resting(state)}",
        )
        for state in STATES.values()
        if state.as_if and state.name in stops
    )


def _resting(state) -> str:
    roles = " and ".join(state.resting_roles)
    return f"but role {roles} rests, the helm lashed" if roles else "common practice, no source"


def _cells(row: CsvRow) -> tuple[dict[str, Any], list[Problem]]:
    """Keyword arguments of Load from the cells of a row, each judged alone."""
    given: dict[str, Any] = {}
    faults: list[Problem] = []
    for each in LOAD_COLUMNS:
        name = each.column.name
        text = row.cells.get(name)
        if text is None or (not text and each.default is not None):
            continue  # the default is Load's own
        try:
            given |= each.read(row.plain(name), row.units.get(name))
        except ReadingError as error:
            faults.append(problem_at(row, name, error.reason, each.column.expected))
    return given, faults


def _states_used(given: dict[str, Any]) -> dict[str, Any]:
    """The same with every state in which the load is used, in place of those its line names."""
    if "states" not in given:  # every state is the default
        return given
    named, barred = given["states"], given["barred"]
    states = states_meant(named, role=given.get("role"), barred=barred)
    return {name: value for name, value in given.items() if name != "barred"} | {"states": states}


def _name_taken(row: CsvRow, given: dict[str, Any], lines: dict[str, int]) -> list[Problem]:
    """A second load of one name; `lines` remembers where each name stands."""
    name = given.get("name")
    if name is None or lines.setdefault(name.casefold(), row.line) == row.line:
        return []
    line = lines[name.casefold()]
    reason = f"{quoted(name)} is already {f'on line {line}' if line else 'there'}"
    return [problem_at(row, "load", reason, "a name of its own for every load")]


def _supply_unknown(row: CsvRow, given: dict[str, Any], supplies) -> list[Problem]:
    supply = given.get("supply")
    if supply is None or supplies is None or _supply_as_declared(given, supplies):
        return []
    reason = f"unknown supply {quoted(supply)}" + did_you_mean(supply, supplies)
    expected = "one of " + ", ".join(supplies) + "; others are declared in boat.toml"
    return [problem_at(row, "supply", reason, expected)]


def _supply_as_declared(given: dict[str, Any], supplies) -> dict[str, str]:
    """The supply by the very name that boat.toml gives it; nothing if it gives it none."""
    typed = given.get("supply", _DC).casefold()
    known = [name for name in supplies or (_DC,) if name.casefold() == typed]
    return {"supply": known[0]} if known else {}


def _time_too_long(row: CsvRow, given: dict[str, Any]) -> list[Problem]:
    longest_h, session = open_h(given.get("window")), given.get("session")
    column = "on" if session is None else "often"
    on_h = session.on_h_per_day if session else given.get("on_h_per_day") or 0.0
    if on_h <= longest_h + _ROUNDING_H:
        return []
    takes = "is" if session is None else f"takes {on_h:.4g} h a day, failed tries with it, and is"
    reason = f"{quoted(row.cells[column])} {takes} longer than its window, {longest_h:.4g} h a day"
    return [problem_at(row, column, reason, "a longer window or a shorter time")]


def _assumptions(path, table: CsvTable) -> list[Assumption]:
    """One for every column that is absent, and one for every column with cells left empty."""
    if not table.rows:
        return []
    file, found = Path(path).name, []
    for each in LOAD_COLUMNS:
        name = each.column.name
        if each.default is None or each.reason is None:
            continue
        place = f"{file} {name}"
        if name in table.columns:
            if each.blank_is_normal or all(map(_says(name), table.rows)):
                continue
            place += ", where empty"
        elif all(map(_says(name), table.rows)):
            continue
        found.append(Assumption(place=place, value=each.default, reason=each.reason))
    return found


def _says(name: str) -> Callable[[CsvRow], bool]:
    """Whether a row has something in a column, or, in place of on, how often."""
    columns = (name, "often") if name == "on" else (name,)
    return lambda row: any(row.cells.get(column) for column in columns)
