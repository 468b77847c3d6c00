"""Whether a passage holds, and what is looked for first: for the screen, the page and the card."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from powersim.report import rounding
from powersim.report.kinds import (
    BY_WATCH,
    COUNT,
    DAYS,
    HOURS,
    KNOTS,
    LASTS,
    LITRES,
    MOMENT,
    POSITION,
    SHARE,
    TENTHS_OF_PERCENT,
    VOLTS,
    Kind,
    Quantity,
    Words,
    charge_beside,
    count_of,
    joined,
    of_passages,
    say,
)
from powersim.report.quoted import quoted
from powersim.report.view import KeyValues, Text
from powersim.report.week_runs import week_runs_of
from powersim.report.what_next import FOLDER, what_next

if TYPE_CHECKING:
    from powersim.simulation.ensemble_weeks import EnsembleWeeks

AVERAGE = "in average weather alone"
#: What it lacks, on the verdict's own line.
_LACKS = "no grey week, no calm"
#: How many passages settle most doubts.
_MANY = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictView:
    """The verdict, and the figures beside it.

    Attributes
    ----------
    holds : bool
        Whether the passage does.
    short : Words
        One sentence: the word, and in which weather, or of how many simulated passages how many
        fail.
    why : Words
        The same without the word, and with what is broken, and how often.
    next : Words or None
        What to do where it fails.
    figures : tuple of (str, Text)
        Lowest charge, engine, motoring, fuel and how long the bank lasts by itself; on a boat
        without an engine the first and the last.
    """

    holds: bool
    short: Words
    why: Words
    next: Words | None
    figures: tuple[tuple[str, Text], ...]

    @property
    def sections(self) -> tuple[KeyValues]:
        """All of it."""
        then = () if self.next is None else (("next", self.next),)
        return (KeyValues(((word_of(self.holds), self.why), *then, *self.figures)),)

    @property
    def warning(self) -> tuple[Words, ...]:
        """What stands before a rule by which the passage fails; nothing where it holds."""
        return () if self.holds else (self.short,)


def word_of(holds: bool) -> str:
    """The verdict in one word.

    Parameters
    ----------
    holds : bool
        Whether the passage does.
    """
    return "HOLDS" if holds else "FAILS"


def verdict_view(
    summary: dict,
    *,
    folder: str = FOLDER,
    weeks: EnsembleWeeks | None = None,
    bank: Words | None = None,
) -> VerdictView:
    """The verdict on a simulated passage.

    Parameters
    ----------
    summary : dict
        Of the simulation.
    folder : str
        The passage's, as it is typed in a command.
    weeks : EnsembleWeeks, optional
        What the simulated passages ran the engine for, week by week.
    bank : Words, optional
        How long the bank lasts by itself; from departure in average weather if left out.
    """
    fuel = summary["average"]["fuel"]["kind"]
    if "ensemble" in summary:
        short, why = _in_ensemble(summary)
        figures = [
            ("lowest", _lowest_in_ensemble(summary)),
            ("engine", _engine_in_ensemble(summary, weeks)),
            ("motoring", motoring_told(summary)),
            (fuel, _fuel_in_ensemble(summary)),
        ]
    else:
        short, why = _in_average(summary)
        figures = [
            ("lowest", _lowest(summary)),
            ("engine", _engine(summary)),
            (fuel, _fuel(summary)),
        ]
    figures.append(("bank", _bank(summary) if bank is None else bank))
    return VerdictView(
        holds=summary["holds"],
        short=short,
        why=joined([why, *_too_cold(summary)], "; "),
        next=what_next(summary, folder=folder),
        figures=tuple(
            (name, text)
            for name, text in figures
            if text is not None and (fuel is not None or name in ("lowest", "bank"))
        ),
    )


def _charge(summary, key: str) -> Quantity:
    """A state of charge, told from the floor."""
    return quoted(summary, key, charge_beside(summary["average"]["charge"]["floor_soc"]))


def _floor(summary) -> Quantity:
    return quoted(summary, "average.charge.floor_soc", SHARE)


def _in_average(summary) -> tuple[Words, Words]:
    charge, fuel = summary["average"]["charge"], summary["average"]["fuel"]
    alone = say("{} ({})", AVERAGE, _LACKS)
    short = say("{} {}: {}.", word_of(summary["holds"]), AVERAGE, _LACKS)
    if summary["holds"]:
        return short, say("{}: {}", alone, joined([_holds(summary), *_excused(summary)], "; "))
    reasons = []
    if summary["verdict"]["floor"]["frac"] and charge["floor_broken"]:
        when = (
            say("after {}", _spell(24.0 * charge["days_to_floor"]))
            if charge["days_to_floor"]
            else say("as she leaves, at {}", _charge(summary, "average.charge.soc_at_departure"))
        )
        below = _spell(charge["below_floor_h"])
        reasons.append(
            say("charge is below its floor of {} {}, for {} in all", _floor(summary), when, below)
        )
    if charge["dark_h"]:
        hours = quoted(summary, "average.charge.dark_h", HOURS)
        reasons.append(say("everything is dark for {}", hours))
    if fuel["wanted_and_not_there_L"]:
        reasons.append(say("the {} runs out", fuel["kind"]))
    elif fuel["reserve_broken"]:
        reasons.append(say("the {} falls below its reserve", fuel["kind"]))
    return short, say("{}: {}", alone, joined(reasons, "; "))


def _holds(summary) -> Words:
    fuel = summary["average"]["fuel"]
    beside = say(", {} above reserve", fuel["kind"]) if fuel["aboard_L"] else ""
    return say("charge above its floor of {}{}", _floor(summary), beside)


def _excused(summary) -> list[Words]:
    """Where the bank leaves so low that its first day does not count, that."""
    if not summary["verdict"]["counted_from_h"]:
        return []
    leaves = _charge(summary, "average.charge.soc_at_departure")
    return [say("she leaves at {}, and her floor counts from the second day on", leaves)]


def _spell(time_h) -> Quantity:
    """A time that is never told as nothing."""
    return DAYS(max(time_h, 1.0 / 60.0) / 24.0)


def _in_ensemble(summary) -> tuple[Words, Words]:
    told = summary["verdict"]
    frac, risk_frac = told["fails"]["frac"], told["risk_frac"]
    how_often = of_passages(told["members"], frac, "fails", "fail", "verdict.fails.frac")
    short = say("{}: {}.", word_of(summary["holds"]), how_often)
    if frac:
        beside = Kind(lambda share: rounding.apart(share, risk_frac, form=rounding.percent))
        chance = say("{}; your risk is {}", beside(frac), SHARE(risk_frac))
        why = say("{} ({}): {}", how_often, chance, joined(_reasons(summary), ", "))
    else:
        why = say("{}: {}", how_often, _holds(summary))
    return short, joined([why, *_excused(summary), *too_close(summary)], "; ")


def _reasons(summary) -> Iterator[Words]:
    """What is broken, and in how many of the passages."""
    told = summary["verdict"]
    fuel = summary["average"]["fuel"]["kind"]

    def count(kind):
        return count_of(told["members"])(told[kind]["frac"], f"verdict.{kind}.frac")

    if told["floor"]["frac"]:
        yield say("charge falls below its floor of {} in {}", _floor(summary), count("floor"))
    if told["dark"]["frac"]:
        yield say("everything goes dark in {}", count("dark"))
    if told["reserve"]["frac"]:
        yield say("the {} falls below its reserve in {}", fuel, count("reserve"))


def too_close(summary: dict) -> list[Words]:
    """Where more passages may say otherwise, that; nothing where they would not.

    Parameters
    ----------
    summary : dict
        Of a simulation in many members.
    """
    told = summary["verdict"]
    if told["sure"]:
        return []
    least, most = (
        TENTHS_OF_PERCENT(told["fails"][key], f"verdict.fails.{key}")
        for key in ("least_frac", "most_frac")
    )
    more = f"; '--members {_MANY}' tells more" if told["members"] < _MANY else ""
    members = COUNT(told["members"])
    return [say("too close to call with {}: between {} and {}{}", members, least, most, more)]


def _too_cold(summary) -> list[Words]:
    """Where the passage fails and the bank cannot be charged for cold, that too."""
    if summary["holds"] or not summary["cold"]["too_cold_h"]:
        return []
    hours = quoted(summary, "cold.too_cold_h", HOURS)
    return [say("the bank is too cold to be charged for {}", hours)]


def _lowest(summary) -> Words:
    at = summary["average"]["charge"]["lowest_soc_at"]
    return say(
        "{} on {}, {}; {}",
        _charge(summary, "average.charge.lowest_soc"),
        MOMENT((datetime.fromisoformat(at["time_utc"]), at["ship_offset_h"])),
        POSITION((at["lat_deg"], at["lon_deg"])),
        quoted(summary, "average.charge.lowest_V", VOLTS),
    )


def _lowest_in_ensemble(summary) -> Words:
    return say(
        "median {}; {} {}",
        quoted(summary, "ensemble.lowest_soc", SHARE),
        f"{rounding.one_in(summary['verdict']['risk_frac'])} below",
        _charge(summary, "ensemble.lowest_soc.at_risk"),
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
