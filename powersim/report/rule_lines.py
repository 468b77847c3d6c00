"""A charging rule in words: what to look at, when to start the engine, and when to stop it."""

from __future__ import annotations

import math

from powersim.planning.rule_candidates import least_start
from powersim.report import rounding
from powersim.simulation.plant import has_charging_alternator

#: A stop by the watch is rounded to it. [h]
_WATCH_h = 0.25


def rule_lines(rule, panel, boat, keep_V) -> list[str]:
    """The rule, a sentence or two a line, for someone tired and without a computer.

    Parameters
    ----------
    rule : ChargingRule
    panel : PanelValues or None
        What the panel shows; None where the engine is left alone.
    boat : Boat
    keep_V : float or None
        What the voltmeter shows at the least charge to keep; None where it tells nothing. [V]

    Returns
    -------
    list of str
    """
    battery = boat.battery
    if panel is None:
        return _idle(boat, keep_V)
    lines = [_daily(run) for run in rule.daily]
    lines.append(_start(rule, panel, battery))
    lines.append(_stop(rule, panel, battery))
    if panel.start_V is None and battery.reading == "volts":
        lines.append(
            "Your voltmeter cannot tell these levels: between 20 and 90 % this bank shows nearly "
            "the same volts. Fit a counter, or keep count of ampere-hours and engine hours."
        )
    if rule.full_every_days is not None:
        lines.append(
            f"If the bank has not been full for {rounding.days(rule.full_every_days)}, let the "
            "next run go on until it is: at the regulator's voltage the ammeter into the bank "
            f"stays below {rounding.amps(battery.full_tail_frac * battery.real_capacity_Ah)} for "
            "an hour."
        )
    lines.append(
        f"No run shorter than {rounding.hours_minutes(rule.shortest_h)} or longer than "
        f"{rounding.hours_minutes(rule.longest_h)}."
    )
    lines.append(_at_last(boat, keep_V))
    return lines


def _at_last(boat, keep_V) -> str:
    """The end of waiting: before dark, or sooner where a low bank no longer starts the engine."""
    battery, start_soc = boat.battery, boat.engine.least_start_soc
    charge = "charge at any hour and as long as it takes"
    if start_soc <= battery.flat_soc:
        return (
            f"Before all goes dark, at {rounding.soc(battery.flat_soc)} or "
            f"{rounding.volts(battery.cutout_V)}, {charge}."
        )
    at = rounding.soc(least_start(boat))
    if keep_V is not None:
        at += f" or {rounding.volts(keep_V)}"
    return (
        f"At {at} {charge}: below {rounding.soc(start_soc)} the bank no longer starts the engine."
    )


def _idle(boat, keep_V) -> list[str]:
    """Never without saying from where on it is wrong: the next grey week may ask for it."""
    if not has_charging_alternator(boat):
        days = " or ".join(
            {one.lean_days: one for one in boat.chargers if one.lean_days}
            | ({"grey": None} if boat.panels else {})
        )
        lean = f"On {days} days switch" if days else "Switch"
        return [f"{lean} loads off early, the least needed first: nothing else makes up for them."]
    floor, why = rounding.soc(least_start(boat)), "its floor"
    if least_start(boat) > boat.battery.floor_soc:
        why = "the least that starts it"
    alone = f"Leave the engine alone while charge is above {floor}, {why}; at {floor}, charge."
    if keep_V is None:
        return [alone]
    return [
        alone,
        f"On the voltmeter {floor} is {rounding.volts(keep_V)} or less before dawn, with nothing "
        "charging for two hours and the usual load on.",
    ]


def clock_span(hours_h) -> str:
    """Hours of the ship's day.

    Parameters
    ----------
    hours_h : tuple of (float, float)
        First and last. [h]

    Returns
    -------
    str

    Examples
    --------
    >>> clock_span((8.0, 20.5))
    'from 08:00 to 20:30'
    """
    start_h, end_h = hours_h
    if (end_h - start_h) % 24.0 == 0.0:
        return "at any hour"
    return f"from {clock(start_h)} to {clock(end_h)}"


def clock(time_h) -> str:
    """A time of the ship's day.

    Examples
    --------
    >>> clock(8.25)
    '08:15'
    """
    whole_h, rest_min = divmod(round(60.0 * time_h), 60)
    return f"{whole_h:02}:{rest_min:02}"


def latitude(lat_deg) -> str:
    """A latitude that a rule changes at, with its minutes where it has any.

    Examples
    --------
    >>> latitude(42.5), latitude(-10.0)
    ("42°30'N", '10°S')
    """
    whole_deg, rest_min = divmod(round(60.0 * abs(lat_deg)), 60)
    minutes = f"{rest_min:02}'" if rest_min else ""
    return f"{whole_deg}°{minutes}{'N' if lat_deg >= 0 else 'S'}"


def where(run) -> str:
    """Where a daily run is done.

    Parameters
    ----------
    run : DailyRun

    Returns
    -------
    str
        Empty for everywhere.
    """
    north, south = run.north_deg < 90.0, run.south_deg > -90.0
    if north and south:
        return f"between {latitude(run.north_deg)} and {latitude(run.south_deg)}"
    if north:
        return f"south of {latitude(run.north_deg)}"
    return f"north of {latitude(run.south_deg)}" if south else ""


def _daily(run) -> str:
    place = where(run)
    every = f"Every day {place}" if place else "Every day"
    return (
        f"{every}: run the engine for {rounding.hours_minutes(run.run_h)} at {clock(run.at_h)}, "
        "whatever the bank holds."
    )


def _start(rule, panel, battery) -> str:
    also = "Besides, start it" if rule.daily else "Start the engine"
    hours = clock_span(rule.hours_h)
    level = rounding.soc(rule.start_soc)
    if _by_counter(panel, battery):
        return (
            f"{also} {hours} whenever the counter is at {level} or less (set to a capacity of "
            f"{rounding.ah(panel.counter_Ah)})."
        )
    return (
        f"{also} {hours} whenever the voltmeter is at {rounding.volts(panel.start_V)} or less "
        f"with nothing charging for two hours and the usual load of {rounding.amps(panel.usual_A)} "
        f"on: that is {level}. Read it before dawn, and on grey days again when the panels give "
        "nothing."
    )


def _stop(rule, panel, battery) -> str:
    level = rounding.soc(rule.stop_soc)
    by_watch = _by_watch(rule, panel, battery)
    if _by_counter(panel, battery):
        return f"Stop when the counter is at {level}{f': {by_watch}' if by_watch else ''}."
    if panel.run_h is None:
        longest = rounding.hours_minutes(rule.longest_h)
        return f"Let it run for {longest}: it does not get to {level} sooner."
    if panel.stop_A is not None:
        return (
            f"Stop at {level}: when the ammeter into the bank has fallen to "
            f"{rounding.amps(panel.stop_A)} at {rounding.volts(panel.stop_V)}; {by_watch}."
        )
    return f"Stop at {level}: {by_watch}."


def _by_counter(panel, battery) -> bool:
    """Whether levels are read off a counter, as volts are not read or tell nothing."""
    return battery.reading == "monitor" or panel.start_V is None


def _by_watch(rule, panel, battery) -> str:
    """How long a run is from the start level, and from one that a night has passed it to."""
    if panel.run_h is None:
        return ""

    def told(run_h, soc, volts):
        shown = rounding.soc(soc) if _by_counter(panel, battery) else rounding.volts(volts)
        if run_h is None:
            return f"the longest run from {shown}"
        return f"about {rounding.hours_minutes(watch_h(rule, run_h))} from {shown}"

    return (
        f"{told(panel.run_h, rule.start_soc, panel.start_V)}, "
        f"{told(panel.lower_h, panel.lower_soc, panel.lower_V)}"
    )


def watch_h(rule, run_h) -> float:
    """How long a run is by a watch.

    Parameters
    ----------
    rule : ChargingRule
    run_h : float
        As it comes out. [h]

    Returns
    -------
    float
        Rounded up to a quarter of an hour, within the shortest and the longest run. [h]
    """
    rounded_h = _WATCH_h * math.ceil(run_h / _WATCH_h - 1e-9)
    return min(max(rounded_h, rule.shortest_h), rule.longest_h)
