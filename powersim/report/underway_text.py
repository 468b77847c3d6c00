"""What `underway` prints: log against plan, what is really going on, and what that comes to."""

from __future__ import annotations

import math
from datetime import timedelta
from typing import TYPE_CHECKING

from powersim.logbook.charge_readings import REST_AFTER_CHARGE_h, REST_AFTER_DISCHARGE_h
from powersim.logbook.words import NAMES, cannot_tell, matters, named, told_in_words
from powersim.report import rounding, when_where
from powersim.report.cold_text import cold_told
from powersim.report.comms_view import sessions_told
from powersim.report.kinds import BAND_HEADS
from powersim.report.screen_text import screen_text
from powersim.report.short_log import begun_before, short_log
from powersim.report.sky_text import sky_lines
from powersim.report.text import bullets, join, key_values, paragraph, table, title
from powersim.report.verdict_figures import gales_told
from powersim.simulation.bands import quantiles
from powersim.simulation.cold import cold_of
from powersim.simulation.sky_summary import sky_summary

if TYPE_CHECKING:
    from powersim.logbook.days_before import DaysBefore
    from powersim.logbook.forecast import PassageForecast
    from powersim.logbook.posterior import Posterior
    from powersim.planning.sessions_left import SessionTable

CAUTION = (
    "The estimates are as good as the log. {dip} the rested bank, and trust your own eyes before "
    "any of this: a forecast is no promise."
)


def underway_text(
    posterior: Posterior,
    forecast: PassageForecast | None,
    *,
    rule: str = "",
    beside: str = "",
    before: DaysBefore | None = None,
    has_trial: bool = False,
    sessions: SessionTable | None = None,
    ladder: str = "",
) -> str:
    """The whole answer for a reader.

    Parameters
    ----------
    posterior : Posterior
        What the log tells of boat and bank.
    forecast : PassageForecast or None
        None where she has arrived.
    rule : str
        What is said of the new rule.
    beside : str
        What is said of a sea trial and of a logger.
    before : DaysBefore or None
        What a log that was kept before leaving is taken for.
    has_trial : bool
        Whether loads were measured one by one.
    sessions : SessionTable or None
        How many messages today's bank has in it; None where she has arrived.
    ladder : str
        What is said of what to give up.

    Returns
    -------
    str
        At most 80 columns wide.
    """
    dip = "Read" if posterior.passage.boat.engine is None else "Dip the tank, read"
    return join(
        paragraph(_opening(posterior, before)),
        *((paragraph(begun_before(before)),) if before is not None else ()),
        *_set_aside(posterior),
        title("Log and plan so far"),
        compared(posterior),
        *_told_how(posterior),
        title("What is really going on"),
        estimates(posterior),
        bullets(cannot_tell(posterior)),
        paragraph(short_log(posterior, has_trial=has_trial)),
        beside,
        *(_forecast(posterior, forecast) if forecast is not None else ("She has arrived.",)),
        screen_text(sessions_told(sessions, when="as it is")) if sessions is not None else "",
        rule,
        ladder,
        paragraph(CAUTION.format(dip=dip)),
    )


def _opening(posterior, before) -> str:
    log, passage = posterior.log, posterior.passage
    when = passage.depart_utc + timedelta(hours=posterior.until_h)
    entries = rounding.plural(len(log.readings), "entry", "entries")
    last = when_where.moment(when, ship_offset_h=_offset_h(posterior))
    out = "out" if before is None else "in all"
    return (
        f"{passage.name}: {entries} of the log, the last of {last}, "
        f"{rounding.days(posterior.until_h / 24.0)} {out}."
    )


def _offset_h(posterior) -> float:
    """Ship's time ahead of UTC at the last entry. [h]"""
    offsets_h = posterior.prepared.track.ship_offset_h
    return float(offsets_h[min(len(posterior.best.at_h) - 1, len(offsets_h)) - 1])


def _set_aside(posterior):
    problems = [*posterior.log.set_aside, *posterior.left_out]
    if not problems:
        return ()
    count = rounding.plural(len(problems), "reading or row", "readings or rows")
    told = paragraph(f"Set aside, {count}; the rest counts (said in full on the error stream).")
    if not posterior.reads_lower:
        return (told,)
    return (
        told,
        paragraph(
            "READ THE BANK AGAIN NOW. A reading that was set aside says that it holds less than "
            "all below takes it to hold. If it reads so again, charge first, and switch off what "
            "you can: then no figure below is to be trusted."
        ),
    )


def compared(posterior: Posterior) -> str:
    """Plan, log and estimate side by side."""
    import numpy as np

    at_h, planned, best = np.array([posterior.until_h]), posterior.planned, posterior.best

    def both(name):
        return (float(one.at(name, at_h)[0, 0]) for one in (planned, best))

    def last(kind):
        return next((one for one in reversed(posterior.observations) if one.kind == kind), None)

    soc_plan, _ = both("soc")
    used_plan, used_best = both("loads_Ah")
    engine_plan, engine_best = both("engine_h")
    burnt_plan, _ = (sum(pair) for pair in zip(both("charging_L"), both("other_L"), strict=True))
    low, middle, high = quantiles(posterior.now.soc)
    dip = last("litres")
    rows = [
        (
            "charge",
            rounding.soc(soc_plan),
            _charge_read(posterior),
            rounding.within(middle, low, high, rounding.soc),
        ),
        ("used by loads", rounding.ah(used_plan), "-", rounding.ah(used_best)),
    ]
    fuel = posterior.passage.boat.fuel
    if fuel is not None:
        engine = rounding.hours(engine_plan), _metered(posterior), rounding.hours(engine_best)
        rows.append(("engine", *engine))
        burnt_L = fuel.aboard_L - posterior.now.left_L
        low, middle, high = quantiles(burnt_L)
        rows.append(
            (
                f"{posterior.passage.boat.fuel_word} burnt",
                rounding.litres(burnt_plan),
                "-" if dip is None else rounding.litres(fuel.aboard_L - dip.value),
                rounding.litres_within(middle, max(low, 0.0), max(high, 0.0)),
            )
        )
    return table(
        rows, header=("so far", "plan", "last\nread", "estimated,\n8 in 10 between"), aligns="lrrr"
    )


def _charge_read(posterior) -> str:
    """The charge as it was read last: the monitor's per cent, else what a voltage or count says."""
    kinds = ("soc", "monitor_Ah")
    found = next((one for one in reversed(posterior.observations) if one.kind in kinds), None)
    if found is None:
        return "-"
    if found.kind == "soc":
        return rounding.soc(min(max(found.value, 0.0), 1.0))
    entry = next(one.entry for one in posterior.log.readings if one.at_h == found.at_h)
    return rounding.ah(found.value) if entry.soc is None else rounding.soc(entry.soc)


def _metered(posterior) -> str:
    metered = [one.entry.engine_h for one in posterior.log.readings]
    metered = [hours for hours in metered if hours is not None]
    return rounding.hours(metered[-1] - metered[0]) if len(metered) > 1 else "-"


def _told_how(posterior):
    sources = [one.source for one in posterior.observations]
    counts = [f"{sources.count(name)} by {name}" for name in dict.fromkeys(sources)]
    said = [f"Readings that count: {', '.join(counts) or 'none'}."]
    if posterior.passage.boat.engine is not None and not posterior.engine.told:
        said.append(
            "The log has no two readings of the hour meter, so the engine is taken to have run as "
            "planned: write engine_h down."
        )
    if posterior.engine.told and posterior.engine.gear_told:
        said.append("Hours in gear are those of the log; what else the meter gained was charging.")
    if posterior.late:
        late = rounding.plural(posterior.late, "figure")
        said.append(f"Of the logger {late} after the log's last entry wait for one more entry.")
    voltages = sum(one.entry.voltage_V is not None for one in posterior.log.readings)
    if voltages and "rested voltage" not in sources:
        said.append(
            "No voltage counts as rested: that takes a current below C20/50 for "
            f"{REST_AFTER_DISCHARGE_h:g} h after discharge, {REST_AFTER_CHARGE_h:g} h after charge."
        )
    return (paragraph(" ".join(said)),)


def estimates(posterior: Posterior) -> str:
    """Each factor with its interval, and what it means."""
    estimate = posterior.estimate
    low, high = estimate.band()
    rows = []
    for place, name in enumerate(NAMES):
        if not matters(name, posterior.passage.boat):
            continue
        factor = math.exp(estimate.log_factor[place])
        rows.append(
            (
                named(name),
                f"x {factor:.2f}",
                rounding.span(low[place], high[place], "{:.2f}".format),
                _meaning(posterior, name, factor),
                told_in_words(float(estimate.told_frac[place])),
            )
        )
    return table(
        rows,
        header=("against\nthe files", "most\nlikely", "8 in 10\nbetween", "that is", "the log"),
        aligns="lrrll",
    )


def _meaning(posterior, name, factor) -> str:
    boat = posterior.passage.boat
    if name == "demand":
        days = max(posterior.until_h / 24.0, 1e-9)
        return f"{rounding.ah(float(posterior.best.loads_Ah[-1, 0]) / days)} a day so far"
    if name == "capacity":
        return rounding.ah(boat.battery.real_capacity_Ah * factor)
    if name == "burn":
        return charging_burn(posterior, factor)
    if name == "alternator" and boat.alternator is not None:
        return f"{rounding.amps(boat.alternator.charging_A * factor)} hot"
    return ""


def charging_burn(posterior: Posterior, factor: float) -> str:
    """Litres of an hour of charging, as they came out so far."""
    if posterior.charging_h > 0.0:
        return rounding.litres_per_hour(
            float(posterior.best.charging_L[-1, 0]) / posterior.charging_h
        )
    engine = posterior.passage.boat.engine
    return "" if engine is None else f"{rounding.litres_per_hour(engine.charging_L_per_h * factor)}"


def _forecast(posterior, forecast):
    boat, members = posterior.passage.boat, len(posterior.now.soc)
    prepared, track = forecast.prepared, forecast.prepared.track
    cold = cold_of(prepared.sky.bank_C, battery=boat.battery, track=track)
    landfall = rounding.days(forecast.days_to_landfall)
    how = "with the loads, the sun and the bank"
    if boat.engine is not None:
        how = "by the rule of boat.toml, with the loads, the sun, the bank and the burn"
    lines = [
        ("charge falls below its floor", _days(forecast.floor_days)),
        ("flat", _days(forecast.flat_days)),
        *(
            (
                ("below the floor, engine never run", _days(forecast.idle_floor_days)),
                ("flat, engine never run", _days(forecast.idle_flat_days)),
            )
            if boat.engine is not None
            else ()
        ),
        ("still to use", _band(forecast.loads_Ah, rounding.ah)),
    ]
    if boat.fuel is not None:
        # As everywhere: the reserve is counted above the unusable.
        short = float((forecast.left_L < boat.fuel.reserve_L).mean())
        lines += [
            ("hours of charging to come", _band(forecast.charging_h, rounding.hours)),
            (f"{boat.fuel_word} to burn for the bank", _band(forecast.charging_L, rounding.litres)),
            ("usable at landfall", _band(forecast.left_L, rounding.litres)),
            ("chance to fall below the reserve", rounding.soc(short)),
        ]
    rows = [
        (name, *cells) if isinstance(cells, tuple) else (name, "", cells, "")
        for name, cells in lines
    ]
    return (
        title("From here to landfall"),
        paragraph(
            f"{landfall} to go from the last fix, in {members} simulated passages, {how} "
            "that the log shows."
        ),
        key_values(_weather(forecast)),
        bullets(one.sentence for one in cold_told(cold)),
        table(rows, header=("", *BAND_HEADS), aligns="lrrr"),
    )


def _weather(forecast) -> list[tuple[str, str]]:
    """What was taken for the sky from here on, and how often it may blow a gale."""
    summary = {"sky": sky_summary(forecast)}
    gales = gales_told(summary)
    return [*sky_lines(summary), *([("gales", str(gales))] if gales is not None else [])]


def _days(days):
    return tuple(map(_until, quantiles(days).tolist()))


def _until(time_days) -> str:
    if math.isinf(time_days):
        return "not at sea"
    return rounding.days(time_days) if time_days > 0.0 else "already"


def _band(values, shown):
    return tuple(shown(float(one)) for one in quantiles(values))
