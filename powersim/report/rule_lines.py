"""A charging rule in words: what to look at, when to start the engine, and when to stop it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from powersim.planning.rule_candidates import least_start
from powersim.records import Battery, Boat, ChargingRule, DailyRun
from powersim.records.clock import clock, fits, span_h
from powersim.report.kinds import AH, AMPS, BY_WATCH, SHARE, VOLTS, Kind, Words, say
from powersim.report.text import listed
from powersim.report.view import Text
from powersim.simulation.plant import has_charging_alternator

if TYPE_CHECKING:
    from powersim.planning.panel_values import PanelValues

#: What a rule goes by is told as it stands in the rule: no rounding makes another one of it.
LEVEL = Kind(lambda soc: f"{100.0 * soc:.6g} %")
_ENDS = {1: "st", 2: "nd", 3: "rd"}
LIMIT_A, _AH, _DAYS, _KNOTS = (
    Kind(lambda value, unit=unit: f"{value:.6g} {unit}") for unit in ("A", "Ah", "days", "kn")
)


def rule_lines(
    rule: ChargingRule, panel: PanelValues | None, boat: Boat, keep_V: float | None
) -> list[Text]:
    """The rule as it is simulated, a sentence or two a line, for someone tired at the meter.

    `panel` is None where the engine is left alone; `keep_V`, the volts at the least charge to keep,
    is None where a voltmeter tells nothing. The last line alone is advice that no simulation
    follows, and says so.
    """
    battery = boat.battery
    if panel is None:
        return _idle(boat, keep_V)
    by_counter = reads_counter(panel, battery)
    lines: list[Text] = [_daily(run) for run in rule.daily]
    lines.append(_reading(rule, panel, by_counter=by_counter))
    if panel.after_sun_h and not by_counter:
        lines.append(_after_the_sun(rule, panel))
    lines.append(_run(rule, panel, by_counter=by_counter))
    if rule.wait_below_soc is not None:
        lines.append(_waits(rule, panel, by_counter=by_counter))
    if panel.start_V is None and battery.reading == "volts":
        lines.append(
            "Your voltmeter cannot tell these levels: between 20 and 90 % this bank shows nearly "
            "the same volts. Fit a counter, or keep count of ampere-hours and engine hours."
        )
    if rule.full_every_days is not None:
        lines.append(_to_full(rule, battery))
    if not _at_any_hour(rule):
        lines.append(_closed(rule))
    if boat.heavy_weather.no_engine_above_kn is not None:
        lines.append(_too_rough(boat.heavy_weather))
    lines.append(_at_last(boat, keep_V))
    return lines


def reads_counter(panel: PanelValues, battery: Battery) -> bool:
    """Whether levels are read off a counter, as volts are not read or tell nothing."""
    return battery.reading == "monitor" or panel.start_V is None


def times(times_h: Sequence[float]) -> str:
    """Times of the ship's day one after the other.

    Examples
    --------
    >>> times((6.0, 12.0, 18.5))
    '06:00, 12:00 and 18:30'
    """
    return listed(map(clock, times_h))


def _reading(rule, panel, *, by_counter) -> Words:
    """When and how the bank is read, and which readings count."""
    meter, how = (
        "voltmeter",
        say(", with nothing charging and the usual load of {} on", AMPS(panel.usual_A)),
    )
    if by_counter:
        meter, how = "counter", say(" (set to a capacity of {})", AH(panel.counter_Ah))
    if not rule.read_at_h:
        return say(
            f"Watch the {meter}{{}}: this rule takes the charge as known at any moment.", how
        )
    if rule.little_sun_Ah is None or len(rule.read_at_h) == 1:
        return say(f"Read the {meter} at {times(rule.read_at_h)}{{}}.", how)
    first, *later = rule.read_at_h
    return say(
        f"Read the {meter} at {clock(first)}, and at {times(later)} if the panels have given less "
        f"than {{}} since {clock(first)}{{}}.",
        *(_AH(rule.little_sun_Ah), how),
    )


def _after_the_sun(rule, panel) -> Words:
    """What to do where the volts are read before the sun's charge has gone from them."""
    surer = [at_h for at_h in rule.read_at_h if at_h not in panel.after_sun_h]
    trust = f" Trust {times(surer)} more." if surer else ""
    return say(
        f"At {times(panel.after_sun_h)} the volts may still be too high from the sun, by up to "
        f"{{}} of charge: with the panels off, let the load draw {{}} first.{trust}",
        *(SHARE(panel.after_sun_soc), AH(panel.clears_Ah)),
    )


def _run(rule, panel, *, by_counter) -> Words:
    """At which level the engine is started, when it then runs, and what ends the run."""
    level = start_level(rule, panel, by_counter=by_counter)
    ends = _ends(rule, panel, by_counter=by_counter)
    if not rule.read_at_h:
        hours = "" if _at_any_hour(rule) else f", {clock_span(rule.hours_h)}"
        return say("As soon as it is at {} or less{}: run the engine {}.", level, hours, ends)
    return say(f"At {{}} or less: run the engine {{}}. {_when(rule)}", level, ends)


def _waits(rule, panel, *, by_counter) -> Words:
    """How long a bank that is not low yet may wait for a calm or a bright day."""
    return say(
        "Above that, but at {} or less: wait, for sun or a calm under engine may fill it. Once it "
        f"is read so {running(rule)}, run the engine in the same way.",
        wait_level(rule, panel, by_counter=by_counter),
    )


def running(rule: ChargingRule) -> str:
    """At how many readings running a bank that may wait is run for.

    Examples
    --------
    >>> running(ChargingRule(start_soc=0.6, run_h=2.0, wait_below_soc=0.8, wait_readings=3))
    '3 times running'
    """
    return "twice running" if rule.wait_readings == 2 else f"{rule.wait_readings} times running"


def wait_level(rule: ChargingRule, panel: PanelValues, *, by_counter: bool) -> Words:
    """The level up to which a run may wait, as the meter shows it."""
    if by_counter:
        return say("{}", LEVEL(rule.wait_below_soc))
    return say("{} ({})", VOLTS(panel.wait_V), LEVEL(rule.wait_below_soc))


def start_level(rule: ChargingRule, panel: PanelValues, *, by_counter: bool) -> Words:
    """The level at which the engine is started, as the meter shows it."""
    if by_counter:
        return say("{}", LEVEL(rule.start_soc))
    return say("{} ({})", VOLTS(panel.start_V), LEVEL(rule.start_soc))


def _ends(rule, panel, *, by_counter) -> Words:
    """What ends a run, and how long it may be."""
    if rule.run_h is not None:
        return say("for {}", BY_WATCH(rule.run_h))
    bounds = say(
        "not less than {}, not more than {}", BY_WATCH(rule.shortest_h), BY_WATCH(rule.longest_h)
    )
    if rule.stop_below_A is not None:
        return say(
            "until the ammeter into the bank is below {}, {}", LIMIT_A(rule.stop_below_A), bounds
        )
    level = LEVEL(rule.stop_soc)
    if by_counter:
        return say("until the counter is at {}, {}", level, bounds)
    return say("until the bank is at {}{}, {}", level, _signs(panel), bounds)


def _signs(panel) -> Text:
    """How someone without a counter tells that the stop is reached: by the ammeter, or a watch."""
    if panel.stop_A is not None:
        return say(
            " (about when the ammeter into it falls to {} at {})",
            *(AMPS(panel.stop_A), VOLTS(panel.stop_V)),
        )
    return say(" (after about {})", BY_WATCH(panel.run_h)) if panel.run_h is not None else ""


def _when(rule) -> str:
    """When the run begins that a reading asks for."""
    begins = {at_h: _begins(rule, at_h, rule.run_h or rule.shortest_h) for at_h in rule.read_at_h}
    if len(set(begins.values())) == 1:
        begin = begins[rule.read_at_h[0]]
        return f"{begin[:1].upper()}{begin[1:]}."
    each = "; ".join(f"read at {clock(at_h)}, {begin}" for at_h, begin in begins.items())
    return f"{each[:1].upper()}{each[1:]}."


def _begins(rule, at_h, least_h) -> str:
    """When a run of that length begins that is asked for at a time: at once, as the hours open, or
    not at all.
    """
    start_h, open_h = rule.hours_h[0], span_h(rule.hours_h)
    if fits(at_h, least_h, within_h=rule.hours_h):
        return "begin at once"
    after = (rule.read_at_h.index(at_h) + 1) % len(rule.read_at_h)
    following_h = (rule.read_at_h[after] - at_h) % 24.0 or 24.0
    if open_h < least_h or (start_h - at_h) % 24.0 >= following_h:
        return "there is no room for a run before the next reading"
    return f"begin at {clock(start_h)}"


def _to_full(rule, battery) -> Words:
    """The run to a full charge, and its signs."""
    full = say(
        "It is full when at the regulator's voltage its ammeter stays below {} for an hour.",
        AMPS(battery.full_tail_frac * battery.real_capacity_Ah),
    )
    bounds = say(
        "not less than {}, not more than {}",
        *(BY_WATCH(rule.shortest_h), BY_WATCH(rule.full_longest_h)),
    )
    if not rule.read_at_h:
        return say(
            "If the bank has not been full for {}, run the engine until it is, {}. {}",
            *(_DAYS(rule.full_every_days), bounds, full),
        )
    first_h = rule.read_at_h[0]
    return say(
        f"On the {_ordinal(rule.full_on_day)} day after the last full charge, and then on every "
        f"second day until it is full, whatever is read at {clock(first_h)}: run the engine until "
        f"the bank is full, {{}}; {_begins(rule, first_h, rule.shortest_h)}. {{}}",
        *(bounds, full),
    )


def _ordinal(number: int) -> str:
    """A day's number.

    Examples
    --------
    >>> _ordinal(10), _ordinal(21), _ordinal(3), _ordinal(12)
    ('10th', '21st', '3rd', '12th')
    """
    if number % 100 in (11, 12, 13):
        return f"{number}th"
    return f"{number}{_ENDS.get(number % 10, 'th')}"


def _at_any_hour(rule) -> bool:
    start_h, end_h = rule.hours_h
    return (end_h - start_h) % 24.0 == 0.0


def _closed(rule) -> str:
    start_h, end_h = rule.hours_h
    return f"No charging by engine from {clock(end_h % 24.0)} to {clock(start_h)}: a run ends then."


def _too_rough(heavy) -> Words:
    """When the sea lets nobody run the engine, and what becomes of a run then."""
    return say(
        "Above {}, and for {} after it, no charging by engine: a run ends, one that is due waits.",
        _KNOTS(heavy.no_engine_above_kn),
        BY_WATCH(heavy.sea_lasts_h),
    )


def _at_last(boat, keep_V) -> Words:
    """The end of waiting: before dark, or sooner where a low bank no longer starts the engine."""
    battery, start_soc = boat.battery, boat.engine.least_start_soc
    charge = "charge at any hour and as long as it takes"
    if start_soc <= battery.flat_soc:
        return say(
            "Beside the rule, and not simulated: before all goes dark, at {} or {}, {}.",
            *(SHARE(battery.flat_soc), VOLTS(battery.cutout_V), charge),
        )
    return say(
        "Beside the rule, and not simulated: at {}{} {}, for below {} the bank no longer starts "
        "the engine.",
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
