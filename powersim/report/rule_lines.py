"""A charging rule in words: what to look at, when to start the engine, and when to stop it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from powersim.planning.rule_candidates import least_start
from powersim.records import Boat, ChargingRule, DailyRun
from powersim.report.kinds import AH, AMPS, BY_WATCH, DAYS, SHARE, VOLTS, Words, say
from powersim.report.view import Text
from powersim.simulation.plant import has_charging_alternator

if TYPE_CHECKING:
    from powersim.planning.panel_values import PanelValues

#: A stop by the watch is rounded to it. [h]
_WATCH_h = 0.25


def rule_lines(
    rule: ChargingRule, panel: PanelValues | None, boat: Boat, keep_V: float | None
) -> list[Text]:
    """The rule, a sentence or two a line, for someone tired and without a computer.

    `panel` is None where the engine is left alone; `keep_V`, the volts at the least charge to keep,
    is None where a voltmeter tells nothing.
    """
    battery = boat.battery
    if panel is None:
        return _idle(boat, keep_V)
    lines: list[Text] = [_daily(run) for run in rule.daily]
    lines.append(_start(rule, panel, battery))
    lines.append(_stop(rule, panel, battery))
    if panel.start_V is None and battery.reading == "volts":
        lines.append(
            "Your voltmeter cannot tell these levels: between 20 and 90 % this bank shows nearly "
            "the same volts. Fit a counter, or keep count of ampere-hours and engine hours."
        )
    if rule.full_every_days is not None:
        lines.append(
            say(
                "If the bank has not been full for {}, let the next run go on until it is: at the "
                "regulator's voltage the ammeter into the bank stays below {} for an hour.",
                DAYS(rule.full_every_days),
                AMPS(battery.full_tail_frac * battery.real_capacity_Ah),
            )
        )
    lines.append(
        say(
            "No run shorter than {} or longer than {}.",
            BY_WATCH(rule.shortest_h),
            BY_WATCH(rule.longest_h),
        )
    )
    lines.append(_at_last(boat, keep_V))
    return lines


def _at_last(boat, keep_V) -> Words:
    """The end of waiting: before dark, or sooner where a low bank no longer starts the engine."""
    battery, start_soc = boat.battery, boat.engine.least_start_soc
    charge = "charge at any hour and as long as it takes"
    if start_soc <= battery.flat_soc:
        return say(
            "Before all goes dark, at {} or {}, {}.",
            *(SHARE(battery.flat_soc), VOLTS(battery.cutout_V), charge),
        )
    return say(
        "At {}{} {}: below {} the bank no longer starts the engine.",
        SHARE(least_start(boat)),
        say(" or {}", VOLTS(keep_V)) if keep_V is not None else "",
        *(charge, SHARE(start_soc)),
    )


def _idle(boat, keep_V) -> list[Text]:
    """Never without saying from where on it is wrong: the next grey week may ask for it."""
    if not has_charging_alternator(boat):
        days = " or ".join(
            {one.lean_days: one for one in boat.chargers if one.lean_days}
            | ({"grey": None} if boat.panels else {})
        )
        lean = f"On {days} days switch" if days else "Switch"
        return [f"{lean} loads off early, the least needed first: nothing else makes up for them."]
    floor, why = SHARE(least_start(boat)), "its floor"
    if least_start(boat) > boat.battery.floor_soc:
        why = "the least that starts it"
    alone = say(
        "Leave the engine alone while charge is above {}, {}; at {}, charge.", floor, why, floor
    )
    if keep_V is None:
        return [alone]
    return [
        alone,
        say(
            "On the voltmeter {} is {} or less before dawn, with nothing charging for two hours "
            "and the usual load on.",
            *(floor, VOLTS(keep_V)),
        ),
    ]


def clock_span(hours_h: tuple[float, float]) -> str:
    """Hours of the ship's day, from the first to the last.

    Examples
    --------
    >>> clock_span((8.0, 20.5))
    'from 08:00 to 20:30'
    """
    start_h, end_h = hours_h
    if (end_h - start_h) % 24.0 == 0.0:
        return "at any hour"
    return f"from {clock(start_h)} to {clock(end_h)}"


def clock(time_h: float) -> str:
    """A time of the ship's day.

    Examples
    --------
    >>> clock(8.25)
    '08:15'
    """
    whole_h, rest_min = divmod(round(60.0 * time_h), 60)
    return f"{whole_h:02}:{rest_min:02}"


def latitude(lat_deg: float) -> str:
    """A latitude that a rule changes at, with its minutes where it has any.

    Examples
    --------
    >>> latitude(42.5), latitude(-10.0)
    ("42°30'N", '10°S')
    """
    whole_deg, rest_min = divmod(round(60.0 * abs(lat_deg)), 60)
    minutes = f"{rest_min:02}'" if rest_min else ""
    return f"{whole_deg}°{minutes}{'N' if lat_deg >= 0 else 'S'}"


def where(run: DailyRun) -> str:
    """Where a daily run is done; empty for everywhere."""
    north, south = run.north_deg < 90.0, run.south_deg > -90.0
    if north and south:
        return f"between {latitude(run.north_deg)} and {latitude(run.south_deg)}"
    if north:
        return f"south of {latitude(run.north_deg)}"
    return f"north of {latitude(run.south_deg)}" if south else ""


def _daily(run) -> Words:
    place = where(run)
    return say(
        "{}: run the engine for {} at {}, whatever the bank holds.",
        f"Every day {place}" if place else "Every day",
        *(BY_WATCH(run.run_h), clock(run.at_h)),
    )


def _start(rule, panel, battery) -> Words:
    also = "Besides, start it" if rule.daily else "Start the engine"
    hours, level = clock_span(rule.hours_h), SHARE(rule.start_soc)
    if _by_counter(panel, battery):
        return say(
            "{} {} whenever the counter is at {} or less (set to a capacity of {}).",
            *(also, hours, level, AH(panel.counter_Ah)),
        )
    return say(
        "{} {} whenever the voltmeter is at {} or less with nothing charging for two hours and "
        "the usual load of {} on: that is {}. Read it before dawn, and on grey days again when "
        "the panels give nothing.",
        *(also, hours, VOLTS(panel.start_V), AMPS(panel.usual_A), level),
    )


def _stop(rule, panel, battery) -> Words:
    if rule.stop_soc is None:
        return say("Stop it as the rule has it.")
    level = SHARE(rule.stop_soc)
    by_watch = _by_watch(rule, panel, battery)
    if _by_counter(panel, battery):
        watch = say(": {}", by_watch) if by_watch else ""
        return say("Stop when the counter is at {}{}.", level, watch)
    if panel.run_h is None:
        longest = BY_WATCH(rule.longest_h)
        return say("Let it run for {}: it does not get to {} sooner.", longest, level)
    if panel.stop_A is not None:
        return say(
            "Stop at {}: when the ammeter into the bank has fallen to {} at {}; {}.",
            *(level, AMPS(panel.stop_A), VOLTS(panel.stop_V), by_watch),
        )
    return say("Stop at {}: {}.", level, by_watch)


def _by_counter(panel, battery) -> bool:
    """Whether levels are read off a counter, as volts are not read or tell nothing."""
    return battery.reading == "monitor" or panel.start_V is None


def _by_watch(rule, panel, battery) -> Text:
    """How long a run is from the start level, and from one that a night has passed it to."""
    if panel.run_h is None:
        return ""

    def told(run_h, soc, volts):
        shown = SHARE(soc) if _by_counter(panel, battery) else VOLTS(volts)
        if run_h is None:
            return say("the longest run from {}", shown)
        return say("about {} from {}", BY_WATCH(watch_h(rule, run_h)), shown)

    return say(
        "{}, {}",
        told(panel.run_h, rule.start_soc, panel.start_V),
        told(panel.lower_h, panel.lower_soc, panel.lower_V),
    )


def watch_h(rule: ChargingRule, run_h: float) -> float:
    """How long a run is by a watch. [h]

    Rounded up to a quarter of an hour, within the shortest and the longest run.
    """
    rounded_h = _WATCH_h * math.ceil(run_h / _WATCH_h - 1e-9)
    return min(max(rounded_h, rule.shortest_h), rule.longest_h)
