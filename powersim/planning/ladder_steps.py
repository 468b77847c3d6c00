"""What can be given up at sea to save charge: which loads, in which order, and what each takes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from powersim.physics.demand import group_of
from powersim.planning.dropping import SWITCHED_OFF
from powersim.records import STATES, Load
from powersim.records.brief import brief

if TYPE_CHECKING:
    from powersim.records import Passage
    from powersim.records.arrays import Array

#: A load that takes less than this share of all is not worth giving up (our judgement). [-]
LEAST_FRAC = 0.02
#: States in which the ladder is climbed: a load that is used in port alone is none of its steps.
_AT_SEA = frozenset(state.name for state in STATES.values() if state.under_way)


@dataclass(frozen=True, slots=True, kw_only=True)
class LadderStep:
    """One load that is given up, or used half as often.

    Attributes
    ----------
    load : Load
        As it is aboard.
    place : int
        Which of the passage's loads it is.
    group : str
        One of dropping.SWITCHED_OFF.
    charge_Ah_per_day : float
        What the step saves at the bank's nominal voltage, on the mean to landfall. [Ah/day]
    halved : bool
        Whether its sessions come half as often, and do not end.
    kept_for : tuple of str
        Loads for whose sessions it stays on all the same.
    """

    load: Load
    place: int
    group: str
    charge_Ah_per_day: float
    halved: bool = False
    kept_for: tuple[str, ...] = ()

    __repr__ = brief

    @property
    def essential(self) -> bool:
        """Whether it is given up only so that not everything goes dark."""
        return self.group == "essential"


@dataclass(frozen=True, slots=True, kw_only=True)
class Steps:
    """What is given up, in order, and what is not worth it.

    Attributes
    ----------
    worth : tuple of LadderStep
        First to last.
    little : tuple of LadderStep
        Those that take next to nothing, in the same order.
    all_Ah_per_day : float
        What all loads take, protected ones too. [Ah/day]
    """

    worth: tuple[LadderStep, ...]
    little: tuple[LadderStep, ...]
    all_Ah_per_day: float

    __repr__ = brief


def steps_of(passage: Passage, charge_Ah_per_day: Array) -> Steps:
    """The order in which loads are given up.

    Comfort first, then useful, then essential loads; within each what takes most, and what the
    boat speaks with last. Protected loads (records.PROTECTED_ROLES) are never among them.

    Parameters
    ----------
    passage : Passage
        With the loads that are left aboard; one with a count of 0 is gone.
    charge_Ah_per_day : ndarray, shape (loads,)
        What each takes. [Ah/day]

    Returns
    -------
    Steps
        Of those that are used at sea.
    """
    all_Ah = float(sum(charge_Ah_per_day))
    least_Ah = LEAST_FRAC * all_Ah
    found: list[LadderStep] = []
    for place, (load, taken_Ah) in enumerate(zip(passage.loads, charge_Ah_per_day, strict=True)):
        if not taken_Ah > 0.0 or load.protected or not load.states & _AT_SEA:
            continue
        step = LadderStep(
            load=load, place=place, group=group_of(load), charge_Ah_per_day=float(taken_Ah)
        )
        half = replace(step, charge_Ah_per_day=0.5 * step.charge_Ah_per_day, halved=True)
        often = load.session is not None and load.session.per_day >= 2.0
        if often and half.charge_Ah_per_day >= least_Ah:
            found += [half, replace(half, halved=False)]
        else:
            found.append(step)
    found.sort(key=_rank)
    worth = [step for step in found if step.charge_Ah_per_day >= least_Ah]
    return Steps(
        worth=tuple(_with_company(worth, passage)),
        little=tuple(step for step in found if step.charge_Ah_per_day < least_Ah),
        all_Ah_per_day=all_Ah,
    )


def _rank(step: LadderStep) -> tuple[int, bool, bool, bool, float]:
    speaks = step.load.role == "comms"
    return (
        SWITCHED_OFF.index(step.group),
        speaks,
        speaks and not step.halved,
        speaks and not step.halved and reports(step.load),
        -step.charge_Ah_per_day - step.halved * 1e-9,
    )


def reports(load: Load) -> bool:
    """Whether a load tells others where the boat is: by its name, or by what its sessions are.

    Parameters
    ----------
    load : Load
        Of the role comms.
    """
    session = load.session
    said = f"{load.known_as} {'' if session is None else session.words.casefold()}"
    return any(word in said for word in ("message", "report", "position", "track"))


def _with_company(steps: Sequence[LadderStep], passage: Passage) -> Iterator[LadderStep]:
    """The steps, each with those for whose sessions it stays on when it is taken."""
    gone: set[int] = set()
    for step in steps:
        if not step.halved:
            gone.add(step.place)
        kept_for = [
            load.name
            for place, load in enumerate(passage.loads)
            if load.count and place not in gone and step.load.known_as in _beside(load)
        ]
        yield replace(step, kept_for=tuple(kept_for))


def _beside(load: Load) -> list[str]:
    """What the loads and supplies are known as that a load's sessions switch on."""
    if load.session is None:
        return []
    return [" ".join(name.split()).casefold() for name in load.session.beside]


def given_up(passage: Passage, steps: Sequence[LadderStep]) -> Iterator[Passage]:
    """The passage with nothing given up, and after each of the steps.

    What is given up has a count of 0. A load that another's sessions still want has no hours of its
    own, until they are given up too.

    Parameters
    ----------
    passage : Passage
        As it is before the first step.
    steps : sequence of LadderStep
        In order.

    Yields
    ------
    Passage
        One more than there are steps.
    """
    loads = list(passage.loads)
    yield passage
    for step in steps:
        load = loads[step.place]
        if step.halved:
            assert load.session is not None, "sessions are halved"
            session = replace(load.session, per_day=0.5 * load.session.per_day)
            loads[step.place] = replace(load, session=session)
        elif step.kept_for:
            loads[step.place] = replace(load, states=frozenset())
        else:
            loads[step.place] = replace(load, count=0)
        yield replace(passage, loads=tuple(loads))
