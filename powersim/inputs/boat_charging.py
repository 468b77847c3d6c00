"""The [fuel], [charging] and [shedding] tables: what is aboard, and the habits of using it."""

from __future__ import annotations

from powersim.inputs.boat_tank import read_tank
from powersim.inputs.charging_checks import check_ends, check_rule
from powersim.inputs.daily_runs import DAILY_RUNS, write_daily_run
from powersim.inputs.needle_marks import NEEDLE_MARKS
from powersim.inputs.reading_times import READ_AT, write_hours
from powersim.inputs.text import ReadingError, quoted
from powersim.inputs.toml_keys import (
    CANS,
    ValueKind,
    keys_of,
    kind_of,
    one_text,
    or_never,
    shown,
    written,
)
from powersim.inputs.toml_table import Sheet, TomlTable, record_defaults
from powersim.inputs.windows import window_of
from powersim.records import (
    Alternator,
    Battery,
    ChargingRule,
    Engine,
    Fuel,
    RuleCosts,
    Shedding,
    declared,
)
from powersim.records.clock import clock
from powersim.records.needle import needle_fault

_PRACTICE = "common practice, no source"
#: The reserve is the larger of so many hours under power and this share of what is aboard;
#: common practice, no source. [h], [-]
RESERVE_MOTORING_H, RESERVE_FRAC = 12.0, 0.20


def _clock_hours(value) -> tuple[float, float]:
    """Two times of the day, such as 08:00-20:00, or `any` for the whole of it."""
    text = one_text(value)
    if text.strip().casefold() in ("any", "always"):
        return 0.0, 24.0
    window = window_of(text)
    if len(window.spans_h) != 1 or window.utc:
        raise ReadingError(f"{quoted(text)} is not one span of ship's time")
    return window.spans_h[0]


CLOCK_HOURS = ValueKind(read=_clock_hours, write=write_hours)
FUEL_KEYS = keys_of(Fuel, kinds={"jerrycans_L": CANS, "needle": NEEDLE_MARKS})
CHARGING_KEYS = keys_of(
    ChargingRule,
    kinds={
        "read_at_h": READ_AT,
        "hours_h": CLOCK_HOURS,
        "full_every_days": or_never(kind_of(declared(ChargingRule)["full_every_days"])),
        "daily": DAILY_RUNS,
    },
)
COST_KEYS = keys_of(RuleCosts)
SHEDDING_KEYS = keys_of(Shedding)
#: A table within [charging].
_COSTS = "costs"


def read_fuel(sheet: Sheet, engine: Engine | None) -> Fuel | None:
    """The diesel aboard; None if there is no engine or something is wrong."""
    table = sheet.table("fuel")
    has_engine = "engine" in sheet.document
    if table is None:
        if has_engine and "fuel" not in sheet.document:
            sheet.problem(("fuel",), "there is no such table", "a line [fuel], then tank")
        return None
    shape = None
    keys, by_shape = FUEL_KEYS, isinstance(table.data.get("tank"), dict)
    if by_shape:
        data = dict(table.data)
        shape, holds_L = read_tank(sheet, data.pop("tank"))
        table.data, table.sound = data, shape is not None
        keys = tuple(key for key in FUEL_KEYS if key.name != "tank")
        table.given["tank_L"] = holds_L or 0.0
    given = table.take(keys)
    if not has_engine:
        table.problem(None, "there is no [engine] to burn it", "a line [engine], then rated")
    defaults = record_defaults(Fuel)
    if "needle" not in table.data:
        defaults.pop("needle_doubt_frac")
    table.fill(keys, defaults)
    _check_needle(table)
    if not table.sound:
        return None
    holds_L = given["tank_L"] + given["jerrycans_L"]
    table.fill(FUEL_KEYS, {"aboard_L": (holds_L, "tank and cans are full")})
    if engine is None:
        return None
    table.fill(FUEL_KEYS, {"reserve_L": _default_reserve(given["aboard_L"], engine)})
    _check_fuel(table, holds_L)
    return table.build(Fuel, shape=shape)


def _default_reserve(aboard_L: float, engine: Engine) -> tuple[float, str]:
    motoring_L = RESERVE_MOTORING_H * engine.motoring_L_per_h
    reserve_L = min(max(motoring_L, RESERVE_FRAC * aboard_L), aboard_L)
    return reserve_L, (
        f"the larger of {RESERVE_MOTORING_H:g} h of motoring and "
        f"{written(RESERVE_FRAC, 'frac')} of what is aboard; {_PRACTICE}"
    )


def _check_needle(table: TomlTable) -> None:
    """Note litres at the needle's marks that cannot be, and a doubt of a needle that is not."""
    if "needle_doubt" in table.data and "needle" not in table.data:
        table.problem("needle_doubt", "there is no needle to doubt", "needle, or not this key")
    marks, holds_L = table.given.get("needle"), table.given.get("tank_L")
    if not marks or not holds_L:
        return
    fault = needle_fault(marks, tank_L=holds_L)
    if fault is not None:
        key = table.known["needle"]
        table.problem("needle", f"{quoted(table.data['needle'])} has {fault}", key.expected)


def _check_fuel(table: TomlTable, holds_L: float) -> None:
    aboard_L, reserve_L = table.given["aboard_L"], table.given["reserve_L"]
    if aboard_L > holds_L:
        table.problem(
            "aboard",
            f"{written(aboard_L, 'L')} is more than tank and cans hold, {written(holds_L, 'L')}",
            f"at most {written(holds_L, 'L')}; are the jerrycans in the file?",
        )
    elif reserve_L > aboard_L:
        table.problem(
            "reserve",
            f"a reserve of {written(reserve_L, 'L')} is more than the {written(aboard_L, 'L')} "
            "aboard",
            f"less than what is aboard, for example {written(RESERVE_FRAC * aboard_L, 'L')}",
        )
    # A decimal slip makes a tenth; a passage begun with less than a quarter is worth a question.
    elif "aboard" in table.data and aboard_L < 0.25 * holds_L:
        table.doubt(
            "aboard",
            f"{quoted(table.data['aboard'])} is less than a quarter of what tank and cans hold, "
            f"{written(holds_L, 'L')}",
            "look again: what tank and cans hold when you leave, for example "
            f"{written(holds_L, 'L')}",
        )


def read_charging(
    sheet: Sheet,
    battery: Battery | None,
    engine: Engine | None = None,
    alternator: Alternator | None = None,
) -> ChargingRule | None:
    """The rule of running the engine; None where something is wrong with it."""
    table = sheet.table("charging")
    if table is None:
        if "charging" in sheet.document:
            return None
        table = TomlTable(sheet=sheet, path=("charging",), data={})
    table.data = {name: value for name, value in table.data.items() if name != _COSTS}
    given = table.take(CHARGING_KEYS)
    if given.get("by_engine") and "alternator" not in sheet.document:
        table.problem("by_engine", "there is no [alternator] to charge with", "false")
    if battery is None:
        return None
    needed_soc = _needed_to_start(engine)
    defaults = _habit(battery, alternator, needed_soc)
    check_ends(table)
    if given.get("run_h") is not None or given.get("stop_below_A") is not None:
        del defaults["stop_soc"]
    if "alternator" in sheet.document:
        defaults |= record_defaults(ChargingRule)
        every_days = given.get("full_every_days", defaults["full_every_days"][0])
        if "full_every" in table.data:
            every_days = given.get("full_every_days")
        waits_soc = given.get("wait_below_soc")
        for field in _without_effect(given.get("run_h"), every_days, waits_soc):
            del defaults[field]
        table.fill(CHARGING_KEYS, defaults)
    else:  # one assumption says it all; the levels are never used
        if "engine" in sheet.document:
            table.fill(CHARGING_KEYS, {"by_engine": (False, "there is no alternator")})
        given.setdefault("by_engine", False)
        for field, (value, _) in defaults.items():
            given.setdefault(field, value)
    if table.sound:
        check_rule(table, battery, alternator, needed_soc=needed_soc)
    return table.build(ChargingRule)


def read_costs(sheet: Sheet) -> RuleCosts | None:
    """What a run costs beside its fuel; None where something is wrong with it."""
    charging = sheet.document.get("charging")
    data = charging.get(_COSTS) if isinstance(charging, dict) else None
    if data is None:  # what only `plan` asks for is assumed by nobody else
        return RuleCosts()
    if not isinstance(data, dict):
        sheet.problem(
            ("charging", _COSTS),
            f"{shown(data)} is not a table",
            'its keys under a line [charging.costs], for example engine_hour = "0.3 L"',
        )
        return None
    table = TomlTable(sheet=sheet, path=("charging", _COSTS), data=data)
    table.take(COST_KEYS)
    table.fill(COST_KEYS, record_defaults(RuleCosts))
    return table.build(RuleCosts)


def write_charging(rule: ChargingRule) -> str:
    """A rule as the [charging] table of boat.toml.

    Parameters
    ----------
    rule : ChargingRule
        What the table is to say.

    Returns
    -------
    str
        Some lines; what has the default is written too, so that nothing of an older table is
        left to be guessed at.

    Examples
    --------
    >>> print(write_charging(ChargingRule(start_soc=0.6, stop_soc=0.8)))
    [charging]
    read_at = ["06:00", "18:00"]
    start = "60 %"
    stop = "80 %"
    hours = "08:00-20:00"
    shortest = "0.5 h"
    longest = "4 h"
    full_every = "never"
    """
    if not rule.by_engine:
        return "[charging]\nby_engine = false"
    lines = ["[charging]"]
    without_effect = _without_effect(rule.run_h, rule.full_every_days, rule.wait_below_soc)
    for key in CHARGING_KEYS:
        value = getattr(rule, key.field)
        if key.field in without_effect:
            continue
        if key.name == "daily":
            runs = ", ".join(f'"{write_daily_run(run)}"' for run in value)
            lines += [f"daily = [{runs}]"] if value else []
        elif key.name == "read_at":
            times = ", ".join(f'"{clock(time_h)}"' for time_h in value)
            lines.append(f"read_at = [{times}]")
        elif key.name == "full_every" or (key.name != "by_engine" and value is not None):
            lines.append(f'{key.name} = "{key.kind.write(value)}"')
    return "\n".join(lines)


def _without_effect(
    run_h: float | None, full_every_days: float | None, wait_below_soc: float | None
) -> set[str]:
    """Fields whose value nothing hangs on: they are neither assumed nor written."""
    fields = set() if run_h is None else {"longest_h"}
    fields |= set() if wait_below_soc is not None else {"wait_readings"}
    return fields if full_every_days is not None else {*fields, "full_longest_h"}


def _needed_to_start(engine: Engine | None) -> float:
    """Charge without which the bank cannot start the engine; 0 where it need not. [-]"""
    return engine.least_start_soc if engine else 0.0


def _habit(
    battery: Battery, alternator: Alternator | None, needed_soc: float
) -> dict[str, tuple[float | None, str]]:
    """Start, stop and how often to full; for a high floor, as far up as there is room."""
    habit, floor_soc = battery.traits.habit, battery.floor_soc
    stop_soc, why_stop = habit.stop_soc, habit.why_stop
    lowest_soc = max(floor_soc, needed_soc)
    start_soc = min(lowest_soc + habit.start_above_floor_soc, (lowest_soc + 1.0) / 2.0)
    if start_soc >= stop_soc:
        stop_soc, why_stop = 1.0, "the floor leaves no room for less"
    return {
        "start_soc": (
            start_soc,
            f"{100 * (start_soc - lowest_soc):.3g} points above "
            f"{'the floor' if lowest_soc == floor_soc else 'what starts the engine'}; {_PRACTICE}",
        ),
        "stop_soc": (stop_soc, f"{why_stop}; {_PRACTICE}"),
        "full_every_days": _full_every(battery, alternator),
    }


def _full_every(battery: Battery, alternator: Alternator | None) -> tuple[float | None, str]:
    """How often the engine fills the bank, where its regulator can; the sun asks nobody."""
    habit = battery.traits.habit
    if habit.full_every_days is None or alternator is None or alternator.fills(battery):
        return habit.full_every_days, f"{habit.why_full}; {_PRACTICE}"
    return None, (
        f"with {written(alternator.setpoints_V(battery)[0], 'V')} at the bank the regulator cannot "
        "fill it, whatever the engine runs; the sun may"
    )


def read_shedding(sheet: Sheet) -> Shedding | None:
    """What is switched off as the bank falls; None where something is wrong with it."""
    table = sheet.table("shedding")
    if table is None:
        if "shedding" in sheet.document:
            return None
        sheet.assume("shedding", "off", "nothing is switched off unless you say when")
        return Shedding()
    given = table.take(SHEDDING_KEYS)
    if {"comfort_below", "useful_below"} & table.data.keys():
        table.fill(SHEDDING_KEYS, record_defaults(Shedding))
    comfort, useful = given.get("comfort_below_soc"), given.get("useful_below_soc")
    if comfort is not None and useful is not None and useful > comfort:
        table.problem(
            "useful_below",
            f"useful loads would go at {written(useful, 'frac')}, before comfort loads at "
            f"{written(comfort, 'frac')}",
            "a level at or below that of comfort loads, for example 45 % and 60 %",
        )
    return table.build(Shedding)
