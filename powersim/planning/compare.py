"""Boats, dates and values side by side: every choice simulated in the same members."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from powersim.errors import InputError
from powersim.planning.cases import ALL_LOADS
from powersim.planning.days_left import days_left_at_worst
from powersim.planning.failures import NO_CHARGING
from powersim.planning.measures import measured
from powersim.planning.parallel import in_parallel
from powersim.planning.tried import Tried, tried
from powersim.records import Passage
from powersim.records.brief import brief
from powersim.simulation.cold import cold_of
from powersim.simulation.cores import cores
from powersim.simulation.ensemble_summary import verdict_on

if TYPE_CHECKING:
    from powersim.errors import Problem
    from powersim.records.arrays import Array
    from powersim.simulation.verdict import Verdict

#: Fields of a passage that can be large, and are sent once for all choices that share them.
_WEATHER = ("forecast", "irradiance")
#: Pieces of work for each process, so that none is idle for long at the end.
_PIECES_EACH = 8
#: How many processes are counted on where that is not known: on a cluster.
_MANY = 16
#: So few choices are done here, by threads, before other processes have started.
_FEW = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One of the passages that are compared.

    Attributes
    ----------
    passage : Passage
        As it is simulated.
    name : str
        What it is called: the folder as typed, or as the notebook has it.
    told : tuple of str
        What of it is not as its files say, in words; the departure is not among them.
    cautions : tuple of str
        What these changes are warned of, a sentence each.
    needed_is_off : bool
        Whether a light, a lookout or a pump is left off, so that nobody is to be offered it.
    """

    passage: Passage
    name: str
    told: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    needed_is_off: bool = False

    __repr__ = brief

    @property
    def words(self) -> str:
        """What sets it apart, departure included, for a message."""
        leaves = f"leaving {self.passage.depart_utc:%Y-%m-%d %H:%M} UTC"
        return ", ".join((self.name, leaves, *self.told))


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """What all choices have in common; small enough to be sent to other processes.

    Attributes
    ----------
    members, seed : int
        How many members, and which.
    step_h : float
        Length of a step. [h]
    risk_frac : float
        Share of the members that may fail. [-]
    weather : tuple
        Forecasts and measured light of the choices, each once.
    """

    members: int
    seed: int
    step_h: float
    risk_frac: float
    weather: tuple[Any, ...] = ()

    __repr__ = brief


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lost:
    """How long the bank lasts with all charging lost at the worst moment, and all loads on.

    Attributes
    ----------
    at_utc : datetime
        That moment.
    floor_days, flat_days : ndarray, shape (members,)
        Until the bank is at its floor, and until everything is dark; infinite where landfall comes
        first. [days]
    """

    at_utc: datetime
    floor_days: Array
    flat_days: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outcome:
    """What one choice comes to.

    Attributes
    ----------
    verdict : Verdict
        Whether it holds.
    landfall_utc : datetime
        When the passage ends.
    measured : dict of str to ndarray, shape (members,)
        By the ids of `measures.MEASURES`.
    lost : Lost
        What is left if all charging is lost.
    too_cold_h : float
        Time in which the bank takes no charge for cold, in average weather. [h]
    left_out : tuple of Problem
        Weather files that it was simulated without.
    """

    verdict: Verdict
    landfall_utc: datetime
    measured: Mapping[str, Array]
    lost: Lost
    too_cold_h: float = 0.0
    left_out: tuple[Problem, ...] = ()

    __repr__ = brief


def outcome_of(study: Study, choice: Choice) -> Outcome:
    """Simulate one choice.

    It is the same whatever was simulated before, and in whatever process. InputError names the
    choice that a weather file does not cover; BalanceError says that books do not close.
    """
    passage = choice.passage
    try:
        found = tried(
            passage,
            members=study.members,
            seed=study.seed,
            step_h=study.step_h,
            risk_frac=study.risk_frac,
        )
    except InputError as error:
        raise of_choice(error, choice) from error
    prepared, boat = found.ready.prepared, passage.boat
    track = prepared.track
    cold = cold_of(prepared.sky.bank_C, battery=boat.battery, track=track)
    return Outcome(
        verdict=verdict_on(found.ensemble, fuel=boat.fuel, risk_frac=study.risk_frac),
        landfall_utc=_utc(track.start_utc_s + 3600.0 * track.arrival_h),
        measured=measured(found.ensemble, boat),
        lost=_lost(found),
        too_cold_h=cold["too_cold_h"],
        left_out=tuple(prepared.left_out),
    )


def of_choice(error: InputError, choice: Choice) -> InputError:
    """The same problems, each with the choice that has it.

    Parameters
    ----------
    error : InputError
        Of one choice.
    choice : Choice
        Which.
    """
    named = f"in the choice {choice.words}"
    return InputError([replace(one, text=f"{one.text} ({named})") for one in error.problems])


def _lost(found: Tried) -> Lost:
    ensemble = found.ensemble
    worst = days_left_at_worst(found.ready, members=ensemble.members, seed=ensemble.seed)
    line = worst.line(NO_CHARGING, ALL_LOADS)
    return Lost(
        at_utc=_utc(ensemble.start_utc_s + 3600.0 * worst.from_h),
        floor_days=np.asarray(line.days_to_floor),
        flat_days=np.asarray(line.days_to_flat),
    )


def _utc(utc_s: float) -> datetime:
    return datetime.fromtimestamp(float(utc_s), UTC)


def outcomes(
    study: Study, choices: Sequence[Choice], *, jobs: int | None = None, **where: Any
) -> Iterator[tuple[int, Outcome]]:
    """Simulate every choice.

    Parameters
    ----------
    study : Study
        What they have in common.
    choices : sequence of Choice
        In any order: those with a departure in common are simulated one after the other.
    jobs : int or None
        Processes at once on this machine; None for one a core.
    **where
        Backend and scheduler, as `parallel.in_parallel` takes them.

    Yields
    ------
    (int, Outcome)
        The place of each among the choices, in the order in which they are done.

    Raises
    ------
    InputError
        If a weather file does not cover one of them, unless it may be left out.
    PowersimError
        If the cluster cannot be reached, or a process ends before its work.
    BalanceError
        If any member's books do not close.
    """
    weather, works = _packed(choices)
    shared = replace(study, weather=weather)
    hands = jobs if where.get("backend", "local") == "local" else _MANY
    pieces = _pieces(works, hands=hands)
    for done in in_parallel(_outcomes_of, shared, pieces, jobs=jobs, **where):
        yield from done


class _Work(NamedTuple):
    """A choice without its weather files, and their places in `Study.weather`."""

    place: int
    choice: Choice
    weather: tuple[int, ...]


def _outcomes_of(study: Study, piece: Sequence[_Work]) -> list[tuple[int, Outcome]]:
    return [(work.place, outcome_of(study, _unpacked(study, work))) for work in piece]


def _pieces(works: Sequence[_Work], *, hands: int | None) -> list[tuple[_Work, ...]]:
    """Choices in pieces of work, in the order of routes and departures.

    So neighbours share their sky where they leave together, and many of its hours where one leaves
    a week later.
    """
    ordered = tuple(sorted(works, key=_sky))
    if hands is None and len(works) <= _FEW:
        return [ordered]
    most = math.ceil(len(works) / (_PIECES_EACH * (hands or cores())))
    return [ordered[at : at + most] for at in range(0, len(ordered), most)]


def _sky(work: _Work) -> tuple[str, str]:
    """What choices of one track have in common."""
    passage = work.choice.passage
    return str(passage.folder or work.choice.name), passage.depart_utc.isoformat()


def _packed(choices: Sequence[Choice]) -> tuple[tuple[Any, ...], list[_Work]]:
    """Weather files, each once, and the choices without them."""
    weather: list[Any] = [None]
    works = []
    for place, choice in enumerate(choices):
        held = []
        for name in _WEATHER:
            file = getattr(choice.passage, name)
            at = next((at for at, one in enumerate(weather) if one is file), len(weather))
            weather[at:] = weather[at:] or [file]
            held.append(at)
        bare = replace(choice.passage, forecast=None, irradiance=None)
        works.append(_Work(place, replace(choice, passage=bare), tuple(held)))
    return tuple(weather), works


def _unpacked(study: Study, work: _Work) -> Choice:
    files = {name: study.weather[at] for name, at in zip(_WEATHER, work.weather, strict=True)}
    return replace(work.choice, passage=replace(work.choice.passage, **files))
