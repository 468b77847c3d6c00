"""What can be given up at sea to save charge: which loads, in which order, and what each takes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
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
    """One load that is given up.

    Attributes
    ----------
    load : Load
        As it is until then.
    place : int
        Which of the passage's loads it is.
    group : str
        One of dropping.SWITCHED_OFF.
    charge_Ah_per_day : float
        What giving it up saves at the bank's nominal voltage, on the mean to landfall. [Ah/day]
    """

    load: Load
    place: int
    group: str
    charge_Ah_per_day: float

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
    found = [
        LadderStep(load=load, place=place, group=group_of(load), charge_Ah_per_day=float(taken_Ah))
        for place, (load, taken_Ah) in enumerate(zip(passage.loads, charge_Ah_per_day, strict=True))
        if taken_Ah > 0.0 and not load.protected and load.states & _AT_SEA
    ]
    found.sort(key=_rank)
    least_Ah = LEAST_FRAC * all_Ah
    return Steps(
        worth=tuple(step for step in found if step.charge_Ah_per_day >= least_Ah),
        little=tuple(step for step in found if step.charge_Ah_per_day < least_Ah),
        all_Ah_per_day=all_Ah,
    )


def _rank(step: LadderStep) -> tuple[int, bool, float]:
    speaks = step.load.role == "comms"
    return SWITCHED_OFF.index(step.group), speaks, -step.charge_Ah_per_day


def given_up(passage: Passage, steps: Sequence[LadderStep]) -> Iterable[Passage]:
    """The passage with nothing given up, and after each of the steps.

    Parameters
    ----------
    passage : Passage
        As it is before the first step.
    steps : sequence of LadderStep
        In order.

    Yields
    ------
    Passage
        One more than there are steps; what is given up has a count of 0.
    """
    loads = list(passage.loads)
    yield passage
    for step in steps:
        loads[step.place] = replace(loads[step.place], count=0)
        yield replace(passage, loads=tuple(loads))
