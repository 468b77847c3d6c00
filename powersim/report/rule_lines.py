"""A charging rule in words: what to look at, when to start the engine, and when to stop it."""

from __future__ import annotations

import math

from powersim.report import rounding

#: A stop by the watch is rounded to it. [h]
_WATCH_h = 0.25


def rule_lines(rule, panel, battery) -> list[str]:
    """The rule, a sentence or two a line, for someone tired and without a computer.

    Parameters
    ----------
    rule : ChargingRule
    panel : PanelValues or None
        What the panel shows; None for a rule that leaves the engine alone.
    battery : Battery

    Returns
    -------
    list of str
    """
    if panel is None:
        return ["Leave the engine alone: do not run it to charge."]
    lines = [_daily(run) for run in rule.daily]
    lines.append(_start(rule, panel, battery))
    lines.append(_stop(rule, panel, battery))
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
    return lines


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
    if battery.reading == "monitor" or panel.start_V is None:
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
    if battery.reading == "monitor":
        return f"Stop when the counter is at {level}{_or_about(rule, panel)}."
    if panel.stop_A is not None:
        return (
            f"Stop when the ammeter into the bank has fallen to {rounding.amps(panel.stop_A)} at "
            f"{rounding.volts(panel.stop_V)}{_or_about(rule, panel)}: that is {level}."
        )
    if panel.run_h is None:
        longest = rounding.hours_minutes(rule.longest_h)
        return f"Let it run for {longest}: it does not get to {level} sooner."
    return f"Stop after {rounding.hours_minutes(watch_h(rule, panel))}: that is {level} or more."


def _or_about(rule, panel) -> str:
    if panel.run_h is None:
        return ""
    return f", after about {rounding.hours_minutes(watch_h(rule, panel))}"


def watch_h(rule, panel) -> float:
    """How long a run from start to stop is, by a watch.

    Parameters
    ----------
    rule : ChargingRule
    panel : PanelValues
        With its `run_h`.

    Returns
    -------
    float
        Rounded up to a quarter of an hour, within the shortest and the longest run. [h]
    """
    rounded_h = _WATCH_h * math.ceil(panel.run_h / _WATCH_h - 1e-9)
    return min(max(rounded_h, rule.shortest_h), rule.longest_h)
