"""What `underway` prints of the rule for the rest of the passage."""

from __future__ import annotations

from typing import TYPE_CHECKING

from powersim.planning.rule_limits import fails_frac, holds
from powersim.report import rounding
from powersim.report.plan_text import costs, kept, rule
from powersim.report.plan_verdict import verdict
from powersim.report.rounding import percent
from powersim.report.text import join, key_values, paragraph, title

if TYPE_CHECKING:
    from powersim.planning.new_rule import NewRule

NO_ALTERNATOR = (
    "There is no alternator that the engine could charge with, so no rule was searched for."
)
_USE_LESS = "Use less, or find {fuel} or a place to charge on the way; then reckon again."


def new_rule_text(new: NewRule | None, *, keep: str = "", engine: bool = True) -> str:
    """The new rule beside the boat's own.

    Parameters
    ----------
    new : NewRule or None
        None where the engine has nothing to charge with.
    engine : bool
        Whether there is one: else there is nothing to be said.
    keep : str
        The rule as lines of boat.toml.

    Returns
    -------
    str
        At most 80 columns wide.
    """
    if not engine:
        return ""
    head = title("The new rule from here")
    if new is None:
        return join(head, paragraph(NO_ALTERNATOR))
    return join(
        head,
        paragraph(
            f"Searched in {new.members} simulated passages and checked in the "
            f"{new.validation_members} above, with what the log leaves open in each of them. Its "
            "levels are per cent of what the bank really holds."
        ),
        key_values(verdict(new)),
        rule(new),
        costs(new),
        paragraph(beside_own(new)),
        kept(keep if new.found.holds else ""),
    )


def beside_own(new: NewRule) -> str:
    """Whether it is worth changing from the boat's own rule."""
    fuel = new.passage.boat.fuel_word
    if not new.found.holds:
        least = "the rule of boat.toml" if new.is_own else "this rule"
        return (
            f"Of all that were tried {least} comes nearest: go by it until you can do better. "
            f"{_USE_LESS.format(fuel=fuel)}"
        )
    if not holds(new.own, new.limits)[0]:
        own_frac = float(fails_frac(new.own, new.limits)[0])
        return f"Change to it: the rule of boat.toml fails in {percent(own_frac)} of them."
    more_L = float(new.own.charging_L.mean() - new.found.validated.charging_L.mean())
    if more_L <= 0.0:
        return f"Keep the rule of boat.toml: it holds too, and takes no more {fuel}."
    return f"The rule of boat.toml holds too, for {rounding.litres(more_L)} more {fuel}."
