"""What `underway` prints: log against plan, what is really going on, and what that comes to."""

from __future__ import annotations

import math
from datetime import timedelta

from powersim.report import rounding, when_where
from powersim.report.cold_text import cold_notes
from powersim.report.sky_text import sky_lines
from powersim.report.text import bullets, join, key_values, paragraph, table, title
from powersim.simulation.bands import quantiles
from powersim.simulation.cold import cold_of
from powersim.simulation.sky_summary import sky_summary
from powersim.underway.observations import REST_AFTER_CHARGE_h, REST_AFTER_DISCHARGE_h
from powersim.underway.words import NAMES, cannot_tell, matters, told_in_words

CAUTION = (
    "The estimates are as good as the log. {dip} the rested bank, and trust your own eyes before "
    "any of this: a forecast is no promise."
)


def underway_text(reckoned, ahead, *, rule: str = "") -> str:
    """The whole answer for a reader.

    Parameters
    ----------
    reckoned : Reckoned
    ahead : Ahead or None
        None where she has arrived.
    rule : str
        What is said of the new rule.

    Returns
    -------
    str
        At most 80 columns wide.
    """
    dip = "Read" if reckoned.passage.boat.engine is None else "Dip the tank, read"
    return join(
        paragraph(_opening(reckoned)),
        *_set_aside(reckoned),
        title("Log and plan so far"),
        compared(reckoned),
        *_told_how(reckoned),
        title("What is really going on"),
        estimates(reckoned),
        bullets(cannot_tell(reckoned)),
        *(_ahead(reckoned, ahead) if ahead is not None else ("She has arrived.",)),
        rule,
        paragraph(CAUTION.format(dip=dip)),
    )


def _opening(reckoned) -> str:
    log, passage = reckoned.log, reckoned.passage
    when = passage.depart_utc + timedelta(hours=reckoned.until_h)
    entries = rounding.plural(len(log.readings), "entry", "entries")
    last = when_where.moment(when, ship_offset_h=_offset_h(reckoned))
    return (
        f"{passage.name}: {entries} of the log, the last of {last}, "
        f"{rounding.days(reckoned.until_h / 24.0)} out."
    )


def _offset_h(reckoned) -> float:
    """Ship's time ahead of UTC at the last entry. [h]"""
    offsets_h = reckoned.prepared.track.ship_offset_h
    return float(offsets_h[min(len(reckoned.best.at_h) - 1, len(offsets_h)) - 1])


def _set_aside(reckoned):
    problems = [*reckoned.log.set_aside, *reckoned.left_out]
    if not problems:
        return ()
    count = rounding.plural(len(problems), "reading or row", "readings or rows")
    return (paragraph(f"Set aside, {count}; the rest counts (said in full on the error stream)."),)


def compared(reckoned) -> str:
    """Plan, log and reckoning side by side.

    Parameters
    ----------
    reckoned : Reckoned

    Returns
    -------
    str
    """
    at_h, planned, best = reckoned.until_h, reckoned.planned, reckoned.best

    def both(name):
        return (float(one.at(name, [at_h])[0, 0]) for one in (planned, best))

    def last(kind):
        return next((one for one in reversed(reckoned.observations) if one.kind == kind), None)

    soc_plan, _ = both("soc")
    used_plan, used_best = both("loads_Ah")
    engine_plan, engine_best = both("engine_h")
    burnt_plan, _ = (sum(pair) for pair in zip(both("charging_L"), both("other_L"), strict=True))
    low, middle, high = quantiles(reckoned.now.soc)
    charge, dip = last("soc"), last("litres")
    rows = [
        (
            "charge",
            rounding.soc(soc_plan),
            "-" if charge is None else rounding.soc(charge.value),
            rounding.within(middle, low, high, rounding.soc),
        ),
        ("used by loads", rounding.ah(used_plan), "-", rounding.ah(used_best)),
    ]
    fuel = reckoned.passage.boat.fuel
    if fuel is not None:
        engine = rounding.hours(engine_plan), _metered(reckoned), rounding.hours(engine_best)
        rows.append(("engine", *engine))
        burnt_L = fuel.aboard_L - reckoned.now.left_L
        low, middle, high = quantiles(burnt_L)
        rows.append(
            (
                f"{reckoned.passage.boat.fuel_word} burnt",
                rounding.litres(burnt_plan),
                "-" if dip is None else rounding.litres(fuel.aboard_L - dip.value),
                f"{rounding.litres(middle)} ({rounding.litres(max(low, 0.0))} to "
                f"{rounding.litres(max(high, 0.0))})",
            )
        )
    return table(
        rows, header=("so far", "plan", "last\nread", "reckoned,\n8 in 10 between"), aligns="lrrr"
    )


def _metered(reckoned) -> str:
    metered = [one.entry.engine_h for one in reckoned.log.readings]
    metered = [hours for hours in metered if hours is not None]
    return rounding.hours(metered[-1] - metered[0]) if len(metered) > 1 else "-"


def _told_how(reckoned):
    sources = [one.source for one in reckoned.observations]
    counts = [f"{sources.count(name)} by {name}" for name in dict.fromkeys(sources)]
    said = [f"Readings that count: {', '.join(counts) or 'none'}."]
    if reckoned.passage.boat.engine is not None and not reckoned.engine.told:
        said.append(
            "The log has no two readings of the hour meter, so the engine is taken to have run as "
            "planned: write engine_h down."
        )
    voltages = sum(one.entry.voltage_V is not None for one in reckoned.log.readings)
    if voltages and "rested voltage" not in sources:
        said.append(
            "No voltage counts as rested: that takes a current below C20/50 for "
            f"{REST_AFTER_DISCHARGE_h:g} h after discharge, {REST_AFTER_CHARGE_h:g} h after charge."
        )
    return (paragraph(" ".join(said)),)


def estimates(reckoned) -> str:
    """Each factor with its interval, and what it means.

    Parameters
    ----------
    reckoned : Reckoned

    Returns
    -------
    str
    """
    estimate = reckoned.estimate
    low, high = estimate.band()
    rows = []
    for place, name in enumerate(NAMES):
        if not matters(name, reckoned.passage.boat):
            continue
        factor = math.exp(estimate.log_factor[place])
        rows.append(
            (
                NAMES[name],
                f"x {factor:.2f}",
                rounding.span(low[place], high[place], "{:.2f}".format),
                _meaning(reckoned, name, factor),
                told_in_words(float(estimate.told_frac[place])),
            )
        )
    return table(
        rows,
        header=("against\nthe files", "most\nlikely", "8 in 10\nbetween", "that is", "the log"),
        aligns="lrrll",
    )


def _meaning(reckoned, name, factor) -> str:
    boat = reckoned.passage.boat
    if name == "demand":
        days = max(reckoned.until_h / 24.0, 1e-9)
        return f"{rounding.ah(float(reckoned.best.loads_Ah[-1, 0]) / days)} a day so far"
    if name == "capacity":
        return rounding.ah(boat.battery.real_capacity_Ah * factor)
    if name == "burn":
        return charging_burn(reckoned, factor)
    if name == "alternator" and boat.alternator is not None:
        return f"{rounding.amps(boat.alternator.charging_A * factor)} hot"
    return ""


def charging_burn(reckoned, factor) -> str:
    """Litres of an hour of charging, as they came out so far."""
    if reckoned.charging_h > 0.0:
        return rounding.litres_per_hour(
            float(reckoned.best.charging_L[-1, 0]) / reckoned.charging_h
        )
    engine = reckoned.passage.boat.engine
    return "" if engine is None else f"{rounding.litres_per_hour(engine.charging_L_per_h * factor)}"


def _ahead(reckoned, ahead):
    boat, members = reckoned.passage.boat, len(reckoned.now.soc)
    prepared, track = ahead.prepared, ahead.prepared.track
    landfall = rounding.days(ahead.days_to_landfall)
    how = "with the loads, the sun and the bank"
    if boat.engine is not None:
        how = "by the rule of boat.toml, with the loads, the sun, the bank and the burn"
    lines = [
        ("charge falls below its floor", _days(ahead.floor_days)),
        ("flat", _days(ahead.flat_days)),
        *(
            (
                ("below the floor, engine never run", _days(ahead.idle_floor_days)),
                ("flat, engine never run", _days(ahead.idle_flat_days)),
            )
            if boat.engine is not None
            else ()
        ),
        ("still to use", _band(ahead.loads_Ah, rounding.ah)),
    ]
    if boat.fuel is not None:
        # As everywhere: the reserve is counted above the unusable.
        short = float((ahead.left_L < boat.fuel.reserve_L).mean())
        lines += [
            ("hours of charging to come", _band(ahead.charging_h, rounding.hours)),
            (f"{boat.fuel_word} to burn for the bank", _band(ahead.charging_L, rounding.litres)),
            ("usable at landfall", _band(ahead.left_L, rounding.litres)),
            ("chance to eat into the reserve", rounding.soc(short)),
        ]
    rows = [
        (name, *cells) if isinstance(cells, tuple) else (name, "", cells, "")
        for name, cells in lines
    ]
    return (
        title("From here to landfall"),
        paragraph(
            f"{landfall} to go from the last fix, in {members} weathers, {how} that the log shows."
        ),
        key_values(sky_lines({"sky": sky_summary(ahead)})),
        bullets(cold_notes(cold_of(prepared.sky.bank_C, battery=boat.battery, track=track))),
        table(rows, header=("", "1 in 10\nless", "half\nless", "1 in 10\nmore"), aligns="lrrr"),
    )


def _days(days):
    return tuple(map(_until, quantiles(days).tolist()))


def _until(time_days) -> str:
    if math.isinf(time_days):
        return "not at sea"
    return rounding.days(time_days) if time_days > 0.0 else "already"


def _band(values, shown):
    return tuple(shown(float(one)) for one in quantiles(values))
