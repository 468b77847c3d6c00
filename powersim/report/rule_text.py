"""The boat's own charging rule for report and card: in a few large words, and in full."""

from __future__ import annotations

from dataclasses import dataclass

from powersim.planning.panel_values import keep_V, panel_values
from powersim.report import rounding, when_where
from powersim.report.cold_text import too_cold_in_short
from powersim.report.kinds import percent
from powersim.report.plan_text import ship_offset_h
from powersim.report.rule_lines import clock, rule_lines, watch_h, where
from powersim.simulation.plant import has_charging_alternator


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleWords:
    """A charging rule in sentences.

    Attributes
    ----------
    headline : tuple of str
        What to remember: that the passage fails, where it does; when to start the engine, and when
        to stop it.
    lines : tuple of str
        The whole of it, as `plan` words it, or the timetable's runs; empty where the headline is
        all there is.
    by_volts : bool
        Whether the voltmeter tells the charge.
    """

    headline: tuple[str, ...]
    lines: tuple[str, ...]
    by_volts: bool


def rule_words(result) -> RuleWords:
    """How the engine is used to charge in a simulated passage.

    Parameters
    ----------
    result : Result
        Of the simulation.

    Returns
    -------
    RuleWords
    """
    boat, plan = result.passage.boat, result.passage.engine_plan
    rule = boat.charging
    fails = (*failing(result.summary), *too_cold_in_short(result.summary["cold"]))
    by_volts = boat.battery.volts_tell
    if plan is not None:
        runs = rounding.plural(len(plan), "run")
        headline = (
            *fails,
            f"Charge by the timetable ({runs}), and at no other time.",
        )
        return RuleWords(headline=headline, lines=_timetable(result), by_volts=by_volts)
    if not (rule.by_engine and has_charging_alternator(boat)):
        lines = rule_lines(rule, None, boat, keep_V(result.prepared, boat))
        return RuleWords(headline=(*fails, *lines), lines=(), by_volts=by_volts)
    panel = panel_values(boat, rule, result.prepared)
    return RuleWords(
        headline=(
            *fails,
            *map(_daily, rule.daily[:1]),
            _start(rule, panel, by_volts),
            _stop(rule, panel, by_volts),
        ),
        lines=tuple(rule_lines(rule, panel, boat, keep_V(result.prepared, boat))),
        by_volts=by_volts,
    )


def failing(summary) -> tuple[str, ...]:
    """That the passage fails by this rule, before anybody reads the rule and goes by it.

    Parameters
    ----------
    summary : dict
        Of the simulation.

    Returns
    -------
    tuple of str
        One sentence; empty where it holds.
    """
    if summary["holds"]:
        return ()
    if "ensemble" not in summary:
        return ("This passage FAILS, in the month's mean sky.",)
    ensemble = summary["ensemble"]
    share = percent(ensemble["fails"]["frac"])
    return (f"This passage FAILS in {share} of {ensemble['members']} weathers.",)


def _timetable(result) -> tuple[str, ...]:
    """The runs of an engine plan that the passage has time for, as it does them."""
    runs = result.engine[result.engine["kind"] == "charging"]
    return tuple(
        f"{when_where.ship_time(run.start_utc, ship_offset_h=ship_offset_h(run))}: "
        f"{rounding.hours_minutes(run.run_h)}."
        for run in runs.itertuples()
    )


def _daily(run) -> str:
    place = where(run)
    return (
        f"{rounding.hours_minutes(run.run_h)} every day at {clock(run.at_h)}"
        f"{f' {place}' if place else ''}."
    )


def _start(rule, panel, by_volts) -> str:
    if by_volts:
        return f"Start at {rounding.volts(panel.start_V)} or less before dawn."
    return f"Start at {rounding.soc(rule.start_soc)} or less on the counter."


def _stop(rule, panel, by_volts) -> str:
    if not by_volts:
        return f"Stop at {rounding.soc(rule.stop_soc)} on the counter."
    if panel.run_h is None:
        return f"Stop after {rounding.hours_minutes(rule.longest_h)}."
    usual, lower = (
        rounding.hours_minutes(rule.longest_h if run_h is None else watch_h(rule, run_h))
        for run_h in (panel.run_h, panel.lower_h)
    )
    if usual == lower:
        return f"Stop after {usual}."
    return f"Stop after {usual}, or {lower} from {rounding.volts(panel.lower_V)}."
