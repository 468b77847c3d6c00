"""The states that a boat may be in, one entry each: all that hangs on a state is a field of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class BoatState:
    """One state of the boat.

    Attributes
    ----------
    name : str
        In loads.csv and in results.
    words : str
        How the boat lies or goes, after "at night" in a sentence.
    stops : tuple of str
        How a stop in route.csv says it; empty for a state that comes of itself under way.
    as_if : str or None
        The state whose loads and lights hold here unless the sailor says otherwise.
    resting_roles : tuple of str
        Roles of loads that rest here even so, unless their line names the state.
    heeled : bool
        Whether she keeps the heel and the tack of the route's line, sails up.
    under_way : bool
        As the collision regulations have it: neither at anchor nor made fast (Rule 3(i), from
        memory), so that she may drift.
    """

    name: str
    words: str
    stops: tuple[str, ...] = ()
    as_if: str | None = None
    resting_roles: tuple[str, ...] = ()
    heeled: bool = False
    under_way: bool = True


#: In the order of every table. A new state is one more entry; `records.lights` has what it shows.
STATES = {
    state.name: state
    for state in (
        BoatState(name="sailing", words="under sail", heeled=True),
        BoatState(name="motoring", words="under engine"),
        # The helm is lashed: no pilot steers a boat that makes no way.
        BoatState(
            name="hove-to",
            words="hove-to",
            stops=("hove-to", "hove to"),
            as_if="sailing",
            resting_roles=("pilot",),
            heeled=True,
        ),
        # No sail up: lying ahull, to a drogue or to a sea anchor.
        BoatState(
            name="drifting",
            words="adrift",
            stops=("drifting", "adrift"),
            as_if="sailing",
            resting_roles=("pilot",),
        ),
        BoatState(
            name="anchored",
            words="at anchor",
            stops=("anchored", "at anchor"),
            under_way=False,
        ),
        BoatState(name="berthed", words="alongside", stops=("berthed",), under_way=False),
    )
}
BOAT_STATES = tuple(STATES)
#: Those in which a boat may spend a stop.
STOP_STATES = tuple(state.name for state in STATES.values() if state.stops)


def states_meant(
    named: Iterable[str], *, role: str | None = None, barred: Iterable[str] = ()
) -> frozenset[str]:
    """Every state in which a load is used, from those that its line names.

    Parameters
    ----------
    named : iterable of str
        States that the line names.
    role : str or None
        The load's.
    barred : iterable of str
        States that the line excludes.

    Returns
    -------
    frozenset of str
        Those named, and those that go by one of them; none of those barred.

    Examples
    --------
    >>> sorted(states_meant({"sailing"}))
    ['drifting', 'hove-to', 'sailing']
    >>> sorted(states_meant({"sailing"}, role="pilot"))
    ['sailing']
    """
    named = set(named)
    implied = {
        state.name
        for state in STATES.values()
        if state.as_if in named and role not in state.resting_roles
    }
    return frozenset((named | implied) - set(barred))
