"""Whether a passage holds, and what is looked for first: for the screen, the page and the card."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from powersim.report import rounding
from powersim.report.kinds import (
    COUNT,
    DAYS,
    HOURS,
    SHARE,
    TENTHS_OF_PERCENT,
    Kind,
    Quantity,
    Words,
    count_of,
    joined,
    of_passages,
    say,
)
from powersim.report.quoted import quoted
from powersim.report.verdict_figures import AVERAGE, charge_told, figures_of
from powersim.report.view import KeyValues, Text
from powersim.report.what_next import FOLDER, what_next

if TYPE_CHECKING:
    from powersim.simulation.ensemble_weeks import EnsembleWeeks

#: What average weather lacks, on the verdict's own line.
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
        Lowest charge, engine, motoring, fuel, how long the bank lasts by itself, and gales; on a
        boat without an engine the first and the last two.
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
    short, why = (_in_ensemble if "ensemble" in summary else _in_average)(summary)
    return VerdictView(
        holds=summary["holds"],
        short=short,
        why=joined([why, *_too_cold(summary)], "; "),
        next=what_next(summary, folder=folder),
        figures=figures_of(summary, weeks=weeks, bank=bank),
    )


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
            else say(
                "as she leaves, at {}", charge_told(summary, "average.charge.soc_at_departure")
            )
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
    leaves = charge_told(summary, "average.charge.soc_at_departure")
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
