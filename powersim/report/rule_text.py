"""The boat's own charging rule in what the panel shows, to be followed with the computer off."""

from __future__ import annotations

from dataclasses import dataclass

from powersim.physics.voltage import discharge_resistance_ohm, emf_V
from powersim.report import rounding

#: Charge at which a voltmeter tells nothing of lithium: its line is flat there.
_LITHIUM = "lifepo4"


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleWords:
    """A charging rule in sentences.

    Attributes
    ----------
    start : str
        When to start the engine: the one line to remember.
    stop : str
        When to stop it; "" where the engine is never run to charge.
    besides : tuple of str
        Hours, bounds of a run, full charges.
    """

    start: str
    stop: str
    besides: tuple[str, ...]


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
    if boat.alternator is None:
        return RuleWords(start="No alternator: the engine does not charge.", stop="", besides=())
    if plan is not None:
        count = rounding.plural(len(plan), "run")
        start = f"Charge by the timetable, {count}, and at no other time."
        return RuleWords(start=start, stop="Stop each run as it says.", besides=())
    daily = tuple(map(_daily, rule.daily))
    if not rule.by_engine:
        if daily:
            return RuleWords(start=daily[0], stop="", besides=daily[1:])
        return RuleWords(start="The engine is not run to charge.", stop="", besides=())
    return RuleWords(
        start=_start(result), stop=_stop(result), besides=(*daily, *_besides(rule, boat.battery))
    )


def panel_V(result, soc) -> float:
    """What the voltmeter shows before dawn at some charge, with the usual load of a night on.

    Parameters
    ----------
    result : Result
        Of the simulation.
    soc : float
        State of charge. [-]

    Returns
    -------
    float
        At the bank, nothing having charged for two hours. [V]

    Notes
    -----
    Load and warmth of the bank are means over the hours of darkness; by day where there is no
    night.
    """
    hourly, bank = result.hourly, result.prepared.plant.bank
    night = hourly[hourly["sun_elevation_deg"] < 0.0]
    night = night if len(night) else hourly
    load_A = float((night["loads_Ah"] + night["unserved_Ah"]).mean())
    ohm = discharge_resistance_ohm(bank, soc, float(night["bank_C"].mean()))
    return float(emf_V(bank, soc) - load_A * ohm)


def reads_volts(battery) -> bool:
    """Whether volts tell the charge of a bank: it is read so, and is no lithium.

    Parameters
    ----------
    battery : Battery

    Returns
    -------
    bool
    """
    return battery.reading == "volts" and battery.chemistry != _LITHIUM


def _start(result) -> str:
    battery, rule = result.passage.boat.battery, result.passage.boat.charging
    charge = rounding.soc(rule.start_soc)
    if reads_volts(battery):
        volts = rounding.volts(panel_V(result, rule.start_soc))
        return f"Start when the voltmeter shows {volts} or less before dawn (about {charge})."
    return f"Start when the counter shows {charge} or less."


def _stop(result) -> str:
    battery, rule = result.passage.boat.battery, result.passage.boat.charging
    charge = rounding.soc(rule.stop_soc)
    if not reads_volts(battery):
        return f"Stop when the counter shows {charge}."
    runs = result.engine
    lengths_h = runs[(runs["kind"] == "charging") & (runs["why"] == "low charge")]["run_h"]
    if not len(lengths_h):
        return f"Stop at about {charge}."
    usual = rounding.hours_minutes(lengths_h.median())
    return f"Stop after about {usual} (about {charge})."


def _besides(rule, battery) -> tuple[str, ...]:
    told = []
    if reads_volts(battery):
        told.append("Read volts with the usual loads on and nothing charging for two hours.")
    start_h, end_h = rule.hours_h
    if (start_h, end_h) != (0.0, 24.0):
        told.append(f"Only between {_clock(start_h)} and {_clock(end_h)} ship's time.")
    shortest, longest = map(rounding.hours_minutes, (rule.shortest_h, rule.longest_h))
    told.append(f"A run lasts {shortest} at least and {longest} at most.")
    if rule.full_every_days is not None:
        told.append(f"Fill the bank at least every {rounding.days(rule.full_every_days)}.")
    return tuple(told)


def _daily(run) -> str:
    where = ""
    if run.south_deg > -90.0 or run.north_deg < 90.0:
        where = (
            f", between {rounding.latitude(run.south_deg)} and {rounding.latitude(run.north_deg)}"
        )
    length = rounding.hours_minutes(run.run_h)
    return f"Run it every day from {_clock(run.at_h)} ship's time for {length}{where}."


def _clock(time_h) -> str:
    minutes = round(60.0 * time_h)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"
