"""What the card says first: whether the passage holds, and the rule to keep only if it does."""

from __future__ import annotations

import shlex
from dataclasses import dataclass
from typing import TYPE_CHECKING

from powersim.planning.panel_values import keep_V
from powersim.planning.rule_candidates import least_start
from powersim.records import GALE_kn
from powersim.report.kinds import CHANCE, SHARE, VOLTS, joined, say
from powersim.report.quoted import quoted
from powersim.report.rule_view import rule_view
from powersim.report.verdict_view import verdict_view, word_of
from powersim.report.view import Text
from powersim.report.what_next import FOLDER
from powersim.simulation.plant import has_charging_alternator

if TYPE_CHECKING:
    from pathlib import Path

    from powersim.simulation.result import SimulationResult

#: What stands beside a passage of which nothing is known but that it holds in average weather.
AVERAGE_ALONE = "Print the card of 200 simulated passages before you trust it."


@dataclass(frozen=True, slots=True, kw_only=True)
class CardVerdict:
    """The head of the card.

    Attributes
    ----------
    holds : bool
        Whether the passage does.
    chance : tuple of Text
        Of how many simulated passages how many fail, and of what; other warnings.
    largest : tuple of Text
        In the largest letters: the rule if it holds, or else that it fails.
    lines : tuple of Text
        The whole of the rule; of one that fails what to do in its place, and last which one it was.
    """

    holds: bool
    chance: tuple[Text, ...]
    largest: tuple[Text, ...]
    lines: tuple[Text, ...]


def card_verdict(result: SimulationResult) -> CardVerdict:
    """The head of the card of a simulated passage.

    Parameters
    ----------
    result : Result
        Of the simulation.
    """
    view = verdict_view(result.summary, folder=_folder(result.passage.folder))
    rule = rule_view(result)
    others = [text for text in rule.warnings if str(text) not in map(str, view.warning)]
    average = [AVERAGE_ALONE] if view.holds and result.ensemble is None else []
    chance = (_said(result, view), *average, *_gales(result.summary), *others)
    if view.holds:
        return CardVerdict(holds=True, chance=chance, largest=rule.headline, lines=rule.lines)
    what, do_not = _what(result)
    return CardVerdict(
        holds=False,
        chance=chance,
        largest=(f"{what} FAILS{_how_often(result)}.", do_not),
        lines=(*_instead(result, view), say("What was tried: {}", joined(rule.headline))),
    )


def _gales(summary) -> list[Text]:
    """What a card must not keep to itself: that its answer has no bad weather in it."""
    wind = summary["sky"]["strong_wind"]
    if wind is None or summary["sky"]["heavy_weather"] is not None:
        return []
    gale = quoted(summary, "sky.strong_wind.gale_frac", CHANCE)
    return [say(f"No bad weather is counted ({{}} of time above {GALE_kn:.0f} kn).", gale)]


def _folder(path: Path | None) -> str:
    """The passage's folder as it is typed by whoever stands beside it, or in it."""
    return FOLDER if path is None else shlex.quote(path.name or ".")


def _said(result, view):
    between = ":" if result.ensemble is not None else ""
    return say(f"{word_of(view.holds)}{between} {{}}.", view.why)


def _what(result) -> tuple[str, str]:
    """What it is that fails, and what not to do with it."""
    if result.passage.engine_plan is not None:
        return "THIS TIMETABLE", "Do not sail by it."
    boat = result.passage.boat
    if boat.charging.by_engine and has_charging_alternator(boat):
        return "THIS RULE", "Do not sail by it."
    return "THIS BOAT", "Do not leave like this."


def _how_often(result) -> str:
    if result.ensemble is None:
        return " in average weather"
    verdict = result.verdict
    return f" in {round(verdict.fails.frac * verdict.members)} of {verdict.members} passages"


def _instead(result, view):
    """What to do, in the harbour and at sea: nobody is left with a rule that fails and no other."""
    boat = result.passage.boat
    engine = has_charging_alternator(boat) and boat.engine is not None
    yield say("Before you leave: {}. Then print this card again.", view.next)
    yield "At sea: switch off early, in the order on this card."
    if engine:
        least = SHARE(least_start(boat))
        volts = keep_V(result.prepared, boat)
        level = say("{} ({})", VOLTS(volts), least) if volts is not None else least
        yield say("At {} or less charge at any hour, and as long as it takes.", level)
