"""The figures beside a verdict: lowest charge, engine, motoring, fuel, how long the bank lasts."""

from __future__ import annotations

import math
from datetime import datetime
from typing import TYPE_CHECKING

from powersim.records import GALE_kn, NEAR_GALE_kn
from powersim.report import rounding
from powersim.report.kinds import (
    BY_WATCH,
    CHANCE,
    COUNT,
    DAYS,
    HOURS,
    KNOTS,
    LASTS,
    LITRES,
    MOMENT,
    POSITION,
    SHARE,
    VOLTS,
    Quantity,
    Words,
    charge_beside,
    count_of,
    joined,
    say,
)
from powersim.report.quoted import quoted
from powersim.report.view import Text
from powersim.report.week_runs import week_runs_of

if TYPE_CHECKING:
    from powersim.simulation.ensemble_weeks import EnsembleWeeks

#: The weather of one passage without chance.
AVERAGE = "in average weather alone"


def figures_of(
    summary: dict, *, weeks: EnsembleWeeks | None, bank: Words | None
) -> tuple[tuple[str, Text], ...]:
    """All of them, each with its name; without an engine the first and the last two.

    Parameters
    ----------
    summary : dict
        Of the simulation.
    weeks : EnsembleWeeks or None
        What the simulated passages ran the engine for, week by week.
    bank : Words or None
        How long the bank lasts by itself; from departure in average weather if None.
    """
    fuel = summary["average"]["fuel"]["kind"]
    if "ensemble" in summary:
        figures = [
            ("lowest", _lowest_in_ensemble(summary)),
            ("engine", _engine_in_ensemble(summary, weeks)),
            ("motoring", motoring_told(summary)),
            (fuel, _fuel_in_ensemble(summary)),
        ]
    else:
        figures = [
            ("lowest", _lowest(summary)),
            ("engine", _engine(summary)),
            (fuel, _fuel(summary)),
        ]
    figures.append(("bank", _bank(summary) if bank is None else bank))
    figures.append(("gales", gales_told(summary)))
    return tuple(
        (name, text)
        for name, text in figures
        if text is not None and (fuel is not None or name in ("lowest", "bank", "gales"))
    )


def charge_told(summary: dict, key: str) -> Quantity:
    """A state of charge, told from the floor.

    Parameters
    ----------
    summary : dict
        Of the simulation.
    key : str
        Where it stands there.
    """
    return quoted(summary, key, charge_beside(summary["average"]["charge"]["floor_soc"]))


def _lowest(summary) -> Words:
    at = summary["average"]["charge"]["lowest_soc_at"]
    return say(
        "{} on {}, {}; {}",
        charge_told(summary, "average.charge.lowest_soc"),
        MOMENT((datetime.fromisoformat(at["time_utc"]), at["ship_offset_h"])),
        POSITION((at["lat_deg"], at["lon_deg"])),
        quoted(summary, "average.charge.lowest_V", VOLTS),
    )


def _lowest_in_ensemble(summary) -> Words:
    return say(
        "median {}; {} {}",
        quoted(summary, "ensemble.lowest_soc", SHARE),
        f"{rounding.one_in(summary['verdict']['risk_frac'])} below",
        charge_told(summary, "ensemble.lowest_soc.at_risk"),
    )


def _engine(summary) -> Words:
    engine = summary["average"]["engine"]
    if not engine["charging_runs"]:
        return say("never run for charging")
    return say(
        "{} and {} for charging, in {} of {} on average",
        quoted(summary, "average.engine.charging_h", HOURS),
        quoted(summary, "average.engine.charging_L", LITRES),
        rounding.plural(engine["charging_runs"], "run"),
        BY_WATCH(engine["charging_h"] / engine["charging_runs"]),
    )


def _engine_in_ensemble(summary, weeks: EnsembleWeeks | None) -> Words:
    told = summary["ensemble"]
    if not told["charging_h"]["p90"] and not told["charging_runs"]["p90"]:
        return say("hardly ever run for charging: in no more than 1 in 10")
    return say(
        "median {} and {} for charging{}",
        quoted(summary, "ensemble.charging_h", HOURS),
        quoted(summary, "ensemble.charging_L", LITRES),
        "" if weeks is None else say("; in the first week {}", week_runs_of(weeks, 0)),
    )


def motoring_told(summary: dict) -> Words | None:
    """Hours and litres of motoring: median, mean and what 1 in 10 is above; None for none.

    Parameters
    ----------
    summary : dict
        Of a simulation in many members.
    """
    told = summary["ensemble"]
    if not told["motoring_h"]["mean"]:
        return None

    def pair(quantile: str) -> Words:
        return say(
            "{} and {}",
            HOURS(told["motoring_h"][quantile], f"ensemble.motoring_h.{quantile}"),
            LITRES(told["motoring_L"][quantile], f"ensemble.motoring_L.{quantile}"),
        )

    median, mean, many = (pair(quantile) for quantile in ("p50", "mean", "p90"))
    if str(median) == str(mean) == str(many):
        return median
    return say("median {}, mean {}, 1 in 10 above {}{}", median, mean, many, calm_told(summary))


def calm_told(summary: dict) -> Text:
    """What counts as a calm, to stand behind the motoring; nothing where no calm is motored.

    Parameters
    ----------
    summary : dict
        Of a simulation.
    """
    if summary["passage"]["calm_below_kn"] is None:
        return ""
    return say("; a calm is less than {}", quoted(summary, "passage.calm_below_kn", KNOTS))


def _fuel(summary) -> Words:
    fuel = summary["average"]["fuel"]
    if not fuel["aboard_L"]:
        return say("none aboard")
    above_L = fuel["left_above_reserve_L"]
    return say(
        "{} left at landfall, {} {} the reserve of {}",
        quoted(summary, "average.fuel.left_L", LITRES),
        LITRES(abs(above_L)),
        "above" if above_L >= 0 else "BELOW",
        quoted(summary, "average.fuel.reserve_L", LITRES),
    )


def _fuel_in_ensemble(summary) -> Words:
    told = summary["verdict"]
    if not summary["average"]["fuel"]["aboard_L"]:
        return say("none aboard")
    broken_frac = told["reserve"]["frac"]
    count = count_of(told["members"])(broken_frac or 1.0)
    often = say("{} of {}", count, COUNT(told["members"])) if str(count) != "all" else count
    return say(
        "median {} left at landfall; {} the reserve of {} in {}",
        quoted(summary, "ensemble.fuel_left_L", LITRES),
        "BELOW" if broken_frac else "above",
        quoted(summary, "average.fuel.reserve_L", LITRES),
        often,
    )


def average_told(summary: dict) -> Words:
    """Average weather in one sentence, beside what many passages come to.

    Parameters
    ----------
    summary : dict
        Of the simulation.
    """
    average = summary["average"]
    pieces = [say("lowest {}", _lowest(summary))]
    if average["engine"]["charging_runs"]:
        hours = quoted(summary, "average.engine.charging_h", HOURS)
        litres = quoted(summary, "average.engine.charging_L", LITRES)
        pieces.append(say("charging {}, {}", hours, litres))
    if average["fuel"]["aboard_L"]:
        left = quoted(summary, "average.fuel.left_L", LITRES)
        pieces.append(say("{} of {} left", left, average["fuel"]["kind"]))
    does = "holds" if average["holds"] else "fails"
    return say("{} it {}: {}.", AVERAGE.capitalize(), does, joined(pieces, "; "))


def gales_told(summary: dict) -> Words | None:
    """How often it blows a gale, and what is made of it: often nothing, which must be known.

    Parameters
    ----------
    summary : dict
        Of a simulation, or its `sky` alone.
    """
    wind, made = summary["sky"]["strong_wind"], summary["sky"]["heavy_weather"]
    if wind is None:
        return None
    gale = quoted(summary, "sky.strong_wind.gale_frac", CHANCE)
    if made is None:  # in one line, for a screen that is full
        often = say(f"{{}} of the time above {GALE_kn:.0f} kn", gale)
        return say("{}, NOT counted: heavy_weather in boat.toml", often)
    near = quoted(summary, "sky.strong_wind.near_gale_frac", CHANCE)
    often = say(
        f"{{}} of the time above {GALE_kn:.0f} kn, {{}} above {NEAR_GALE_kn:.0f}",
        *(gale, near),
    )
    told = [often]
    if made["lies_to"] is not None:
        lies = (
            quoted(summary, "ensemble.lain_to_days", DAYS)
            if "ensemble" in summary
            else quoted(summary, "sky.heavy_weather.lain_to_days", DAYS)
        )
        how = "{}: median {}" if "ensemble" in summary else "{} for {} on average"
        told.append(say(how, made["lies_to"], lies))
    if made["no_engine_days"]:
        engine = quoted(summary, "sky.heavy_weather.no_engine_days", DAYS)
        told.append(say("no engine for {} on average", engine))
    return joined([*told, "the track is as route.csv has it"], "; ")


def _bank(summary) -> Words:
    left = summary["without_charging"]
    to_floor, to_flat = (
        LASTS(math.inf if left[key] is None else left[key])
        for key in ("days_to_floor", "days_to_flat")
    )
    if to_floor.value == to_flat.value == math.inf:
        return say("lasts to {} with all charging lost", to_flat)
    floor = say("at its floor after {}", to_floor) if to_floor.value else "already below its floor"
    return say("{}, flat after {} with all charging lost", floor, to_flat)
