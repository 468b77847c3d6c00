"""A charging rule for each choice of sizes, since the boat's own rule may not suit it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from powersim.planning.panel_values import PanelValues, keep_V, panel_values
from powersim.planning.parallel import in_parallel
from powersim.planning.plan import VALIDATION_MEMBERS
from powersim.planning.rule_search import search_for
from powersim.planning.size_choices import Choice, boat_with
from powersim.planning.size_point import Study
from powersim.records import Boat, ChargingRule
from powersim.simulation.plant import has_charging_alternator
from powersim.simulation.prepare import prepare


@dataclass(frozen=True, slots=True, kw_only=True)
class Replanned:
    """A choice with the rule of least diesel that was found for it.

    Attributes
    ----------
    choice : Choice
        The sizes.
    boat : Boat
        The boat with these sizes, still with her own rule.
    rule : ChargingRule
        The rule that was found.
    panel : PanelValues or None
        The rule as the panel shows it; None where the engine does not charge.
    keep_V : float or None
        Voltage of the least charge to keep, as in `panel_values.keep_V`. [V]
    holds : bool
        Whether the rule keeps all limits in enough of the validation members.
    fails_frac, floor_frac : float
        Share of those in which it fails, and in which the floor is broken. [-]
    dark_h, below_floor_h : float
        Mean time without electronics, and below the floor once that counts. [h]
    counted_from_h : float
        When the floor begins to count, as in `rule_limits.RuleLimits`. [h]
    charging_h, charging_L : float
        Mean time that the engine charges at rest, and mean diesel for the bank. [h], [L]
    validation_members : int
        Number of validation members, none of which the search has seen.
    """

    choice: Choice
    boat: Boat
    rule: ChargingRule
    panel: PanelValues | None
    keep_V: float | None
    holds: bool
    fails_frac: float
    floor_frac: float
    dark_h: float
    below_floor_h: float
    counted_from_h: float
    charging_h: float
    charging_L: float
    validation_members: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleStudy:
    """What the searches for all choices have in common.

    Attributes
    ----------
    study : Study
        The passage, and the members of the search.
    risk_frac : float
        Share of the members in which a limit may be broken. [-]
    validation_members : int
        Number of other members, for the validation.
    """

    study: Study
    risk_frac: float
    validation_members: int = VALIDATION_MEMBERS


def replanned(asked: RuleStudy, choice: Choice) -> Replanned:
    """Search a rule for one choice. BalanceError says that some books do not close."""
    study, validation_members = asked.study, asked.validation_members
    boat = boat_with(study.boats, choice)
    passage = replace(study.passage, boat=boat)
    prepared = prepare(passage, step_h=study.step_h)
    limits, _, found = search_for(
        passage,
        prepared,
        members=study.members,
        validation_members=validation_members,
        seed=study.seed,
        risk_frac=asked.risk_frac,
    )
    runs_engine = found.rule.by_engine and has_charging_alternator(boat)
    return Replanned(
        choice=choice,
        boat=boat,
        rule=found.rule,
        panel=panel_values(boat, found.rule, prepared) if runs_engine else None,
        keep_V=keep_V(prepared, boat),
        holds=found.holds,
        fails_frac=found.fails_frac,
        floor_frac=found.verdict.floor.frac,
        dark_h=float(found.validated.dark_h.mean()),
        below_floor_h=float(found.validated.below_floor_h.mean()),
        counted_from_h=limits.counted_from_h,
        charging_h=float(found.validated.charging_h.mean()),
        charging_L=float(found.validated.charging_L.mean()),
        validation_members=validation_members,
    )


def replan(asked: RuleStudy, choices: Sequence[Choice], **where: Any) -> Iterator[Replanned]:
    """Search a rule for each of some choices.

    Parameters
    ----------
    asked : RuleStudy
        What all searches have in common.
    choices : sequence of Choice
        The sizes.
    **where
        Jobs, backend and scheduler, as `parallel.in_parallel` takes them.

    Yields
    ------
    Replanned
        Choices with their rules, in the order in which they are done.
    """
    yield from in_parallel(replanned, asked, choices, **where)
