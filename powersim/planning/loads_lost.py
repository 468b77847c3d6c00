"""Loads that fail: what speaks, navigates, keeps watch or steers, and what is left without it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from powersim.planning.heard_by import HeardBy, heard_by
from powersim.records import STATES
from powersim.records.brief import brief

if TYPE_CHECKING:
    from powersim.planning.dropping import Dropping, LoadGain
    from powersim.records import Load, Passage

#: Roles of loads whose loss is told, in that order.
ROLES = ("comms", "vhf", "lookout", "navigation", "pilot")
_AT_SEA = frozenset(state.name for state in STATES.values() if state.under_way)


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadLost:
    """One load that fails.

    Attributes
    ----------
    load : Load
        Which.
    gain : LoadGain or None
        What the bank gains by it; None where it takes nothing.
    also : tuple of str
        Loads that cannot be used without it.
    left : HeardBy
        What is left to be heard and seen by.
    same : tuple of str
        Loads of the same role that are left for the same states of the boat: a pilot under engine
        is the one under sail.
    """

    load: Load
    gain: LoadGain | None
    also: tuple[str, ...]
    left: HeardBy
    same: tuple[str, ...]

    __repr__ = brief


def loads_lost(passage: Passage, dropping: Dropping) -> tuple[LoadLost, ...]:
    """Every load of some roles lost in turn, role by role.

    Parameters
    ----------
    passage : Passage
        With all of them.
    dropping : Dropping
        What leaving each load off gains.
    """
    gains = {gain.load: gain for gain in dropping.gains}
    found = []
    for role in ROLES:
        for load in passage.loads:
            if load.role == role and load.count and load.states & _AT_SEA:
                also = _needing(load, passage)
                gone = {load.known_as, *(one.known_as for one in also)}
                rest = replace(
                    passage,
                    loads=tuple(
                        replace(one, count=0) if one.known_as in gone else one
                        for one in passage.loads
                    ),
                )
                found.append(
                    LoadLost(
                        load=load,
                        gain=gains.get(load.name),
                        also=tuple(one.name for one in also),
                        left=heard_by(rest),
                        same=_like(load, rest),
                    )
                )
    return tuple(found)


def _needing(lost: Load, passage: Passage) -> list[Load]:
    """Loads that name it: for their sessions, or as what they are done by."""
    return [
        load
        for load in passage.loads
        if load.count and load.known_as != lost.known_as and _needs(load, lost)
    ]


def _needs(load: Load, lost: Load) -> bool:
    beside = () if load.session is None else load.session.beside
    named = {" ".join(name.split()).casefold() for name in beside}
    by_name = load.role == lost.role == "comms" and lost.known_as in load.known_as
    return lost.known_as in named or by_name


def _like(lost: Load, passage: Passage) -> tuple[str, ...]:
    """Loads of the same role that are used when that one was."""
    return tuple(
        dict.fromkeys(
            load.name
            for load in passage.loads
            if load.role == lost.role and load.count and load.states & lost.states & _AT_SEA
        )
    )
