"""The boat's own charging rule for the page and the card: in a few large words, and in full."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from powersim.planning.panel_values import keep_V, panel_values
from powersim.report import rounding
from powersim.report.cold_text import too_cold_in_short
from powersim.report.engine_runs import engine_runs, ship_offset_h
from powersim.report.kinds import BY_WATCH, SHIP_TIME, Words, say
from powersim.report.rule_lines import (
    LEVEL,
    LIMIT_A,
    clock,
    reads_counter,
    rule_lines,
    running,
    start_level,
    times,
    wait_level,
    where,
)
from powersim.report.verdict_view import verdict_view
from powersim.report.view import Text
from powersim.simulation.plant import has_charging_alternator

if TYPE_CHECKING:
    from powersim.simulation.result import SimulationResult


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleView:
    """A charging rule in sentences.

    Attributes
    ----------
    warnings : tuple of Text
        What is said before the rule: that the passage fails by it, that the bank is too cold.
    headline : tuple of Text
        What to remember: when to start the engine, and when to stop it.
    lines : tuple of Text
        The whole of it, as `plan` words it, or the timetable's runs; empty where the headline is
        all there is.
    by_volts : bool
        Whether the voltmeter tells the charge.
    """

    warnings: tuple[Text, ...]
    headline: tuple[Text, ...]
    lines: tuple[Text, ...]
    by_volts: bool


def rule_view(result: SimulationResult) -> RuleView:
    """How the engine is used to charge in a simulated passage."""
    boat = result.passage.boat
    headline, lines = _headline_and_lines(result, boat)
    summary = result.summary
    return RuleView(
        warnings=(*verdict_view(summary).warning, *too_cold_in_short(summary["cold"])),
        headline=tuple(headline),
        lines=tuple(lines),
        by_volts=boat.battery.volts_tell,
    )


def _headline_and_lines(result, boat):
    plan, rule, keep = result.passage.engine_plan, boat.charging, keep_V(result.prepared, boat)
    if plan is not None:
        runs = rounding.plural(len(plan), "run")
        return [f"Charge by the timetable ({runs}), and at no other time."], _timetable(result)
    if not (rule.by_engine and has_charging_alternator(boat)):
        return rule_lines(rule, None, boat, keep), []
    panel = panel_values(boat, rule, result.prepared)
    headline = [*map(_daily, rule.daily[:1])]
    headline += [_read(rule)] if rule.read_at_h else []
    headline.append(_run(rule, panel, boat.battery))
    headline += [_wait(rule, panel, boat.battery)] if rule.wait_below_soc is not None else []
    return headline, rule_lines(rule, panel, boat, keep)


def _timetable(result) -> list[Words]:
    """The runs of an engine plan that the passage has time for, as it does them."""
    runs = result.engine[result.engine["kind"] == "charging"]
    return [
        say("{}: {}.", SHIP_TIME((run.start_utc, ship_offset_h(run))), BY_WATCH(run.run_h))
        for run in engine_runs(runs)
    ]


def _daily(run) -> Words:
    place = where(run)
    return say(
        "{} every day at {}{}.",
        *(BY_WATCH(run.run_h), clock(run.at_h), f" {place}" if place else ""),
    )


def _read(rule) -> Words:
    return say(f"Read the bank at {times(rule.read_at_h)}.")


def _wait(rule, panel, battery) -> Words:
    level = wait_level(rule, panel, by_counter=reads_counter(panel, battery))
    return say(f"At {{}} or less {running(rule)}, the same.", level)


def _run(rule, panel, battery) -> Words:
    """When the engine is started, and what ends the run: no more than fits a card."""
    level = start_level(rule, panel, by_counter=reads_counter(panel, battery))
    if rule.run_h is not None:
        ends = say("for {}", BY_WATCH(rule.run_h))
    elif rule.stop_below_A is not None:
        ends = say("until less than {} go into the bank", LIMIT_A(rule.stop_below_A))
    else:
        ends = say("until it is at {}", LEVEL(rule.stop_soc))
    return say("At {} or less run the engine {}.", level, ends)
