"""The lights that the rules of the road ask of each boat state at night, as a table.

International Regulations for Preventing Collisions at Sea, 1972, as amended. Running the engine in
neutral to charge does not make a vessel power-driven (Rule 3(b), from memory: propelled by
machinery), so charging changes nothing here. A boat under way that is neither under sail nor under
engine has no rule of her own; she is taken as a sailing vessel, whose sidelights and sternlight say
that she is under way (common practice, no source). The easier rules for boats under 7 m, 25(d),
23(d)(ii) and 30(e), and restricted visibility by day, 20(c), are left out.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from powersim.records.states import STATES

if TYPE_CHECKING:
    from powersim.records.load import Load


@dataclass(frozen=True, slots=True, kw_only=True)
class LightRule:
    """What one boat state must show from sunset to sunrise.

    Attributes
    ----------
    state : str
        One of BOAT_STATES.
    role : str
        Role of the load that does it; one of ROLES.
    rules : str
        The rules' numbers.
    shows : str
        What the rule asks for.
    """

    state: str
    role: str
    rules: str
    shows: str


_RULES = {
    rule.state: rule
    for rule in (
        LightRule(
            state="sailing",
            role="sailing lights",
            rules="Rules 20(b), 25(a) and 25(b)",
            shows="sidelights and a sternlight, or under 20 m all three in one lantern at the "
            "masthead",
        ),
        LightRule(
            state="motoring",
            role="power lights",
            rules="Rules 20(b), 23(a) and 23(d)",
            shows="a masthead (steaming) light, sidelights and a sternlight, or under 12 m an "
            "all-round white light and sidelights",
        ),
        LightRule(
            state="anchored",
            role="anchor light",
            rules="Rules 20(b) and 30(b)",
            shows="one all-round white light where it can best be seen",
        ),
    )
}
#: One rule a boat state; alongside, nothing is asked. A boat that is hove-to or drifts is under way
#: (Rule 3(i)), so she shows what she shows under sail, and no anchor light.
LIGHT_RULES = {
    name: replace(_RULES[state.as_if or name], state=name)
    for name, state in STATES.items()
    if (state.as_if or name) in _RULES
}
LIGHT_ROLES = tuple(rule.role for rule in _RULES.values())


def shines_all_night(load: Load) -> bool:
    """Whether a load burns from sunset to sunrise without a gap, in the states it is used in.

    Parameters
    ----------
    load : Load
        With its hours and its states.

    Returns
    -------
    bool
        True also where it burns day and night.
    """
    window = load.window
    dark_covered = window.kind in ("always", "night") or (0.0, 24.0) in window.spans_h
    always_on = load.on_frac == 1.0 or load.time_on_h_per_day == 24.0
    return load.count > 0 and dark_covered and always_on and load.temperature_rule is None


def lights_missing(loads: Iterable[Load], *, state: str) -> LightRule | None:
    """The rule that a boat state breaks for want of a light, if any.

    Parameters
    ----------
    loads : iterable of Load
        All loads aboard.
    state : str
        One of BOAT_STATES.

    Returns
    -------
    LightRule or None
        None when some load of the right role shines all night in that state.
    """
    rule = LIGHT_RULES.get(state)
    shown = rule is None or any(
        load.role == rule.role and state in load.states and shines_all_night(load) for load in loads
    )
    return None if shown else rule


def lights_not_allowed(loads: Iterable[Load], *, state: str) -> tuple[Load, ...]:
    """Navigation lights that are used in a state which asks for others.

    Parameters
    ----------
    loads : iterable of Load
        All loads aboard.
    state : str
        One of BOAT_STATES.

    Returns
    -------
    tuple of Load
        Those with a light's role, but not the one of this state.

    Notes
    -----
    Rule 20(b), from memory: no other lights that can be mistaken for these. The lantern at the
    masthead of Rule 25(b) has no place in Rule 23, so it is not for a boat under engine.
    """
    rule = LIGHT_RULES.get(state)
    right = None if rule is None else rule.role
    return tuple(
        load
        for load in loads
        if load.role in LIGHT_ROLES
        and load.role != right
        and state in load.states
        and load.count > 0
    )
