"""What is on beside a load while its sessions last: each such load is one of its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

from powersim.records.load import Load


@dataclass(frozen=True, slots=True, kw_only=True)
class Companion(Load):
    """A load as another's sessions switch it on, beside its own hours.

    Its draw and its supply are its own; when it is on, and with what it is switched off, are those
    of the sessions.

    Attributes
    ----------
    base : str
        What the load is known as whose hours these are.
    for_load : str
        What the load is known as whose sessions they are.
    """

    base: str
    for_load: str

    @property
    def known_as(self) -> str:
        """What the load is known as that draws: it is one thing, and errs by one luck."""
        return self.base


def drawn_loads(loads: Sequence[Load]) -> tuple[Load, ...]:
    """The loads, and behind them each that is on beside another's sessions.

    Parameters
    ----------
    loads : sequence of Load
        As they are listed.

    Returns
    -------
    tuple of Load
        The list itself first, then a Companion for every load that a session names. One whose
        load, or whose session, is not aboard has a count of 0.
    """
    by_name = {load.known_as: load for load in loads}
    companions = [
        _beside(load, by_name[name])
        for load in loads
        if load.session is not None
        for name in dict.fromkeys(_known(one) for one in load.session.beside)
        if name in by_name and name != load.known_as
    ]
    return (*loads, *companions)


def hangs_on(load: Load) -> frozenset[str]:
    """The supplies that are on for a load: its own, and those that its sessions name.

    Parameters
    ----------
    load : Load
        With the names as boat.toml has them; other names among them do no harm.
    """
    named = () if load.session is None else load.session.beside
    return frozenset((load.supply, *named))


def _beside(load: Load, base: Load) -> Companion:
    own = {field.name: getattr(base, field.name) for field in fields(Load)}
    own |= {
        "name": f"{base.name}, for {load.name}",
        "standby_A": 0.0,
        "standby_W": 0.0,
        "count": base.count if load.count else 0,
        "temperature_rule": None,
        "note": "",
    }
    for taken in ("states", "window", "role", "priority"):
        own[taken] = getattr(load, taken)
    assert load.session is not None, "companions come of sessions"
    own |= {"on_frac": None, "on_h_per_day": load.session.on_h_per_day, "session": None}
    return Companion(**own, base=base.known_as, for_load=load.known_as)


def _known(name: str) -> str:
    return " ".join(name.split()).casefold()
