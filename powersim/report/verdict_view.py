"""Whether a passage holds, and what is looked for first: for the screen, the page and the card."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from powersim.report import rounding
from powersim.report.kinds import (
    COUNT,
    DAYS,
    HOURS,
    LASTS,
    LITRES,
    MINUTES,
    MOMENT,
    POSITION,
    SHARE,
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

AVERAGE = "in average weather"


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
    figures : tuple of (str, Text)
        Lowest charge, engine, fuel and how long the bank lasts by itself; on a boat without an
        engine the first and the last.
    """

    holds: bool
    short: Words
    why: Words
    figures: tuple[tuple[str, Text], ...]

    @property
    def sections(self) -> tuple[KeyValues]:
        """All of it."""
        return (KeyValues(((word_of(self.holds), self.why), *self.figures)),)

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


def verdict_view(summary: dict) -> VerdictView:
    """The verdict on a simulated passage.

    Parameters
    ----------
    summary : dict
        Of the simulation.
    """
    ensemble = "ensemble" in summary
    fuel = summary["fuel"]["kind"]
    short, why = (_in_ensemble if ensemble else _in_average)(summary)
    figures = [
        ("lowest", _lowest(summary)),
        ("engine", _engine(summary)),
        (fuel, (_fuel_in_ensemble if ensemble else _fuel)(summary)),
        ("bank", _bank(summary)),
    ]
    return VerdictView(
        holds=summary["holds"],
        short=short,
        why=joined([why, *_too_cold(summary)], "; "),
        figures=tuple(
            (name, text) for name, text in figures if fuel is not None or name in ("lowest", "bank")
        ),
    )


def _charge(summary, key: str) -> Quantity:
    """A state of charge, told from the floor."""
    return quoted(summary, key, charge_beside(summary["charge"]["floor_soc"]))


def _in_average(summary) -> tuple[Words, Words]:
    charge, fuel = summary["charge"], summary["fuel"]
    short = say("{} {}.", word_of(summary["holds"]), AVERAGE)
    floor = quoted(summary, "charge.floor_soc", SHARE)
    if summary["holds"]:
        return short, say("{}: {}", AVERAGE, _holds(summary))
    reasons = []
    if charge["floor_broken"]:
        when = (
            say("after {}", _spell(24.0 * charge["days_to_floor"]))
            if charge["days_to_floor"]
            else say("as she leaves, at {}", _charge(summary, "charge.soc_at_departure"))
        )
        below = _spell(charge["below_floor_h"])
        reasons.append(say("charge is below its floor of {} {}, for {} in all", floor, when, below))
    if charge["dark_h"]:
        reasons.append(say("everything is dark for {}", quoted(summary, "charge.dark_h", HOURS)))
    if fuel["wanted_and_not_there_L"]:
        reasons.append(say("the {} runs out", fuel["kind"]))
    elif fuel["reserve_broken"]:
        reasons.append(say("the {} falls below its reserve", fuel["kind"]))
    return short, say("{}: {}", AVERAGE, joined(reasons, "; "))


def _holds(summary) -> Words:
    fuel = summary["fuel"]
    beside = say(", {} above reserve", fuel["kind"]) if fuel["aboard_L"] else ""
    return say("charge above its floor of {}{}", quoted(summary, "charge.floor_soc", SHARE), beside)


def _spell(time_h) -> Quantity:
    """A time that is never told as nothing."""
    return DAYS(max(time_h, 1.0 / 60.0) / 24.0)


def _in_ensemble(summary) -> tuple[Words, Words]:
    told = summary["ensemble"]
    frac, risk_frac = told["fails"]["frac"], told["risk_frac"]
    how_often = of_passages(told["members"], frac, "fails", "fail", "ensemble.fails.frac")
    short = say("{}: {}.", word_of(summary["holds"]), how_often)
    if not frac:
        return short, say("{}: {}", how_often, _holds(summary))
    beside = Kind(lambda share: rounding.apart(share, risk_frac, form=rounding.percent))
    chance = say("{}; your risk is {}", beside(frac), SHARE(risk_frac))
    return short, say("{} ({}): {}", how_often, chance, joined(_reasons(summary), ", "))


def _reasons(summary) -> Iterator[Words]:
    """What is broken, and in how many of the passages."""
    told, charge = summary["ensemble"], summary["charge"]
    fuel = summary["fuel"]["kind"]

    def count(kind):
        return count_of(told["members"])(told[kind]["frac"], f"ensemble.{kind}.frac")

    if told["floor_broken"]["frac"]:
        yield say(
            "charge falls below its floor of {} in {}",
            *(quoted(summary, "charge.floor_soc", SHARE), count("floor_broken")),
        )
        if charge["soc_at_departure"] < charge["floor_soc"]:
            yield say(
                "for she leaves at {}, and from the second day on in {}",
                *(_charge(summary, "charge.soc_at_departure"), count("floor_broken_later")),
            )
    if told["flat"]["frac"]:
        yield say("everything goes dark in {}", count("flat"))
    if told["reserve_broken"]["frac"]:
        yield say("the {} falls below its reserve in {}", fuel, count("reserve_broken"))


def _too_cold(summary) -> list[Words]:
    """Where the passage fails and the bank cannot be charged for cold, that too."""
    if summary["holds"] or not summary["cold"]["too_cold_h"]:
        return []
    hours = quoted(summary, "cold.too_cold_h", HOURS)
    return [say("the bank is too cold to be charged for {}", hours)]


def _lowest(summary) -> Words:
    at = summary["charge"]["lowest_soc_at"]
    lowest = say(
        "{} on {}, {}; {}",
        _charge(summary, "charge.lowest_soc"),
        MOMENT((datetime.fromisoformat(at["time_utc"]), at["ship_offset_h"])),
        POSITION((at["lat_deg"], at["lon_deg"])),
        quoted(summary, "charge.lowest_V", VOLTS),
    )
    if "ensemble" not in summary:
        return lowest
    return say("median {}; {} {}", quoted(summary, "ensemble.lowest_soc", SHARE), AVERAGE, lowest)


def _engine(summary) -> Words:
    told = summary.get("ensemble")
    if told and not told["charging_h"]["p90"] and not told["charging_runs"]["p90"]:
        return say("hardly ever run for charging: in no more than 1 in 10")
    if not told and not summary["engine"]["charging_runs"]:
        return say("never run for charging")
    whose = "ensemble" if told else "engine"
    return say(
        "{}{} and {} for charging; {}",
        "median " if told else "",
        quoted(summary, f"{whose}.charging_h", HOURS),
        quoted(summary, f"{whose}.charging_L", LITRES),
        _now(summary),
    )


def _now(summary) -> Words:
    """How long the engine charges a day in the first week."""
    now = quoted(summary, "engine.charging_min_per_day_now", MINUTES)
    if not now.value:
        return say("none in the first week")
    return say("now, in the first week, {} a day", now)


def _fuel(summary) -> Words:
    fuel = summary["fuel"]
    if not fuel["aboard_L"]:
        return say("none aboard")
    above_L = fuel["left_above_reserve_L"]
    return say(
        "{} left at landfall, {} {} the reserve of {}",
        quoted(summary, "fuel.left_L", LITRES),
        LITRES(abs(above_L)),
        "above" if above_L >= 0 else "BELOW",
        quoted(summary, "fuel.reserve_L", LITRES),
    )


def _fuel_in_ensemble(summary) -> Words:
    told = summary["ensemble"]
    if not summary["fuel"]["aboard_L"]:
        return say("none aboard")
    broken_frac = told["reserve_broken"]["frac"]
    count = count_of(told["members"])(broken_frac or 1.0)
    often = say("{} of {}", count, COUNT(told["members"])) if str(count) != "all" else count
    return say(
        "median {} left at landfall; {} the reserve of {} in {}",
        quoted(summary, "ensemble.fuel_left_L", LITRES),
        "BELOW" if broken_frac else "above",
        quoted(summary, "fuel.reserve_L", LITRES),
        often,
    )


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
