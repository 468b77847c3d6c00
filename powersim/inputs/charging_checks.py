"""What is wrong or odd about a rule of running the engine, though each key of it reads well."""

from __future__ import annotations

from powersim.inputs.daily_runs import write_daily_run
from powersim.inputs.reading_times import write_hours
from powersim.inputs.text import quoted
from powersim.inputs.toml_keys import written
from powersim.inputs.toml_table import TomlTable, record_defaults
from powersim.records import Alternator, Battery, ChargingRule
from powersim.records.charging import LEAST_GAP_SOC
from powersim.records.clock import clock, span_h


def check_ends(table: TomlTable) -> None:
    """One thing ends a run; where two are given nobody knows which."""
    ends = [name for name in ("stop", "run", "stop_below") if name in table.data]
    if len(ends) > 1:
        table.problem(
            ends[1],
            f"{' and '.join(ends)} both end a run" if len(ends) == 2 else "three things end a run",
            "one of stop, run and stop_below; take out the others",
        )


def check_rule(
    table: TomlTable, battery: Battery, alternator: Alternator | None, *, needed_soc: float
) -> None:
    """Levels, runs and readings that do not go together, or not with the boat."""
    _check_levels(table, needed_soc)
    _check_daily(table)
    _check_fits(table)
    _doubt_gap(table, battery)
    _doubt_amperes(table, alternator)
    _doubt_readings(table)


def _doubt_gap(table: TomlTable, battery: Battery) -> None:
    """Levels that lie closer together than the bank can be read."""
    given = table.given
    start_soc, stop_soc = given["start_soc"], given.get("stop_soc")
    gap_soc = LEAST_GAP_SOC[battery.reading]
    where = _first_given(table, "stop", "start")
    if not given["by_engine"] or stop_soc is None or where is None:
        return
    if stop_soc - start_soc >= gap_soc - 1e-9:
        return
    read = "by volts" if battery.reading == "volts" else "by a counter"
    table.doubt(
        where,
        f"start and stop lie {100.0 * (stop_soc - start_soc):.3g} points apart; {read} nobody can "
        f"tell charge to better than some {100.0 * gap_soc:.3g}",
        f"a stop {100.0 * gap_soc:.3g} points above the start or more, or a run by the clock, for "
        'example run = "2 h"',
    )


def _doubt_amperes(table: TomlTable, alternator: Alternator | None) -> None:
    """Amperes that never flow, so that every run ends as soon as it may."""
    below_A = table.given.get("stop_below_A")
    if below_A is None or alternator is None or below_A < alternator.charging_A:
        return
    table.doubt(
        "stop_below",
        f"the alternator gives {written(alternator.charging_A, 'A')} at most, so that less than "
        f"{written(below_A, 'A')} flows into the bank from the beginning",
        f'a part of what the alternator gives, for example "{0.4 * alternator.charging_A:.0f} A"',
    )


def _doubt_readings(table: TomlTable) -> None:
    """Times of reading that a simulation cannot keep to, or that a daily run covers."""
    given = table.given
    for at_h in given.get("read_at_h", ()):
        if 4.0 * at_h % 1.0:
            early = clock(at_h - at_h % 0.25)
            table.doubt(
                "read_at",
                f"{clock(at_h)} lies within a step of a quarter of an hour, and is taken for "
                f"its beginning, {early}",
                f'times on the quarter of an hour, for example "{early}"',
            )
        for run in given.get("daily", ()):
            if (at_h - run.at_h) % 24.0 < run.run_h:
                table.doubt(
                    "read_at",
                    f"at {clock(at_h)} the engine runs by the clock "
                    f"({quoted(write_daily_run(run))}), and nothing can be read",
                    "a time before it",
                )


def _check_levels(table: TomlTable, needed_soc: float) -> None:
    given = table.given
    if given["by_engine"] and given["start_soc"] < needed_soc:
        table.problem(
            _first_given(table, "start"),
            f"the engine would be started at {written(given['start_soc'], 'frac')}, where the "
            f"bank that also starts it no longer can ({written(needed_soc, 'frac')})",
            f"{written(needed_soc, 'frac')} or more, or a starting battery of its own",
        )
    stop_soc = given.get("stop_soc")
    if stop_soc is not None and given["start_soc"] >= stop_soc:
        table.problem(
            _first_given(table, "start", "stop"),
            f"the engine would start at {written(given['start_soc'], 'frac')} and stop at "
            f"{written(stop_soc, 'frac')}",
            "a start below the stop, for example 55 % and 80 %",
        )
    _check_wait(table)
    shortest_h, longest_h = (
        given.get(field, record_defaults(ChargingRule)[field][0])
        for field in ("shortest_h", "longest_h")
    )
    if shortest_h > longest_h:
        table.problem(
            _first_given(table, "shortest", "longest"),
            f"the shortest run, {written(shortest_h, 'h')}, is longer than the longest, "
            f"{written(longest_h, 'h')}",
            "for example 30 min and 4 h",
        )


def _check_wait(table: TomlTable) -> None:
    """A level to wait below lies between start and stop, and is read."""
    given = table.given
    wait_soc, start_soc, stop_soc = (
        given.get(field) for field in ("wait_below_soc", "start_soc", "stop_soc")
    )
    if wait_soc is None:
        if "wait_readings" in table.data:
            table.doubt(
                "wait_readings",
                "there is no wait_below, so no run waits for another reading",
                'wait_below too, a charge above the start, for example wait_below = "80 %"',
            )
        return
    if start_soc is not None and wait_soc <= start_soc:
        table.problem(
            "wait_below",
            f"at {written(wait_soc, 'frac')} or less a run would wait, but the engine is started "
            f"at once at {written(start_soc, 'frac')}",
            "a charge above the start, for example start 60 % and wait_below 80 %",
        )
    elif stop_soc is not None and wait_soc >= stop_soc:
        table.problem(
            "wait_below",
            f"a run would stop at {written(stop_soc, 'frac')} and be waited for again at "
            f"{written(wait_soc, 'frac')}",
            "a charge below the stop, for example wait_below 80 % and stop 90 %",
        )
    if not given.get("read_at_h", (6.0, 18.0)):
        table.problem(
            "wait_below",
            "it counts readings of the bank, and read_at has none",
            'times of reading, for example read_at = ["06:00", "18:00"]',
        )


def _check_fits(table: TomlTable) -> None:
    """A run by the clock that the hours have no room for would never begin."""
    given = table.given
    allowed_h, run_h = span_h(_hours(table)), given.get("run_h")
    if run_h is not None and run_h > allowed_h + 1e-9:
        table.problem(
            "run",
            f"a run of {written(run_h, 'h')} does not fit into the {written(allowed_h, 'h')} in "
            "which the engine may run (hours)",
            'a shorter run, for example "2 h", or longer hours',
        )


def _check_daily(table: TomlTable) -> None:
    """Runs by the clock keep to the hours in which the engine may run."""
    given = table.given
    hours_h = _hours(table)
    for run in given.get("daily", ()):
        if (run.at_h - hours_h[0]) % 24.0 + run.run_h > span_h(hours_h) + 1e-9:
            table.problem(
                "daily",
                f"{quoted(write_daily_run(run))} is not within the hours in which the engine may "
                f"run, {write_hours(hours_h)}",
                "a run within them, or other hours",
            )


def _hours(table: TomlTable) -> tuple[float, float]:
    """From when and until when the engine may run by the clock. [h]"""
    hours_h: tuple[float, float]
    hours_h = table.given.get("hours_h", record_defaults(ChargingRule)["hours_h"][0])
    return hours_h


def _first_given(table: TomlTable, *names: str) -> str | None:
    return next((name for name in names if name in table.data), None)
