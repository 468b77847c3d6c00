"""A charging rule of its own for a choice of sizes, where the boat's own rule may not suit it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from powersim.planning.panel_values import PanelValues, keep_V, panel_values
from powersim.planning.parallel import in_parallel
from powersim.planning.plan import VALIDATION_MEMBERS
from powersim.planning.rule_limits import broken
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
    boat : Boat
        Of the choice, still with the rule that it was tried with.
    rule : ChargingRule
    panel : PanelValues or None
        The rule in what the panel shows; None where the engine is left alone.
    keep_V : float or None
        The least charge to keep, as `panel_values.keep_V` has it. [V]
    holds : bool
        Whether each limit is kept in enough of the members that it was judged in.
    fails_frac, floor_frac : float
        Share of those in which floor or reserve is broken, and the floor alone. [-]
    dark_h, below_floor_h : float
        Time without electronics, and below the floor from when on it counts, mean over them. [h]
    counted_from_h : float
        From when on the floor counts, as `rule_limits.Limits` has it. [h]
    charging_h, charging_L : float
        Engine at rest to charge, and diesel for the bank, mean over them. [h], [L]
    validation_members : int
        How many members it was judged in, none of which the search has seen.
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
    """What a rule is sought with.

    Attributes
    ----------
    study : Study
        Its members are those of the search.
    risk_frac : float
        Share of the members in which a limit may be broken. [-]
    validation_members : int
        Other members, to judge in.
    """

    study: Study
    risk_frac: float
    validation_members: int = VALIDATION_MEMBERS


def replanned(asked: RuleStudy, choice: Choice) -> Replanned:
    """Search a rule for one choice.

    Raises
    ------
    BalanceError
        If any books do not close.
    """
    study, validation_members = asked.study, asked.validation_members
    boat = boat_with(study.boats, choice)
    passage = replace(study.passage, boat=boat)
    prepared = prepare(passage, step_h=study.step_h)
    limits, _, _, found = search_for(
        passage,
        prepared,
        members=study.members,
        validation_members=validation_members,
        seed=study.seed,
        risk_frac=asked.risk_frac,
    )
    failed = broken(found.validated, limits)
    runs_engine = found.rule.by_engine and has_charging_alternator(boat)
    return Replanned(
        choice=choice,
        boat=boat,
        rule=found.rule,
        panel=panel_values(boat, found.rule, prepared) if runs_engine else None,
        keep_V=keep_V(prepared, boat),
        holds=found.holds,
        fails_frac=float((failed["floor"] | failed["reserve"]).mean()),
        floor_frac=float(failed["floor"].mean()),
        dark_h=float(found.validated.dark_h.mean()),
        below_floor_h=float(found.validated.below_floor_h.mean()),
        counted_from_h=limits.counted_from_h,
        charging_h=float(found.validated.charging_h.mean()),
        charging_L=float(found.validated.charging_L.mean()),
        validation_members=validation_members,
    )


def replan(asked: RuleStudy, choices: Sequence[Choice], **where) -> Iterator[Replanned]:
    """Search a rule for each of some choices.

    Parameters
    ----------
    **where
        Jobs, backend and scheduler, as `parallel.in_parallel` takes them.

    Yields
    ------
    Replanned
        As they are done, which may be in any order.
    """
    yield from in_parallel(replanned, asked, choices, **where)
