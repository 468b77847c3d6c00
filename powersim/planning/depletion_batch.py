"""Banks simulated side by side until each is flat: all lines of a table, in all members."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from powersim.kernel.plant import Plant
from powersim.kernel.state import State, Switches
from powersim.simulation.carry import Batch
from powersim.simulation.ensemble import blocks
from powersim.simulation.ensemble_forcing import EnsembleForcing
from powersim.simulation.flat import Laid
from powersim.simulation.mean_sky import MeanSky

#: Banks simulated at once: enough for arrays to pay, few enough for a small memory.
AT_ONCE = 4000


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """How long does one bank last, in each member?

    Attributes
    ----------
    forcing : MeanSky or EnsembleForcing
        The members.
    state : State
        The state at the beginning, of arrays shaped (members,).
    switches : Switches
        What works and which loads are on, the same for all members.
    """

    forcing: MeanSky | EnsembleForcing
    state: State
    switches: Switches


class DepletionBatch:
    """Banks on one plant, simulated side by side, each until it is flat.

    Attributes
    ----------
    floor_soc : float
        Charge that counts as the floor. [-]
    floor_h, flat_h : ndarray, shape (joined,)
        Time from joining until a bank is below the floor or flat, and until it is flat; infinite
        as long as it is not. [h]
    """

    def __init__(self, *, floor_soc: float) -> None:
        self.floor_soc = floor_soc
        self.floor_h, self.flat_h = np.empty(0), np.empty(0)
        self._forcings: list[MeanSky | EnsembleForcing] = []
        self._open: _Open | None = None

    @property
    def open(self) -> int:
        """How many banks are not flat yet."""
        return 0 if self._open is None else len(self._open.ticket)

    def join(self, question: Question, *, step: int) -> slice:
        """Let every member of a question join as a step begins.

        Its plant must be that of all others, but for the rule. The slice says where its members
        stand in `floor_h` and `flat_h`.
        """
        forcing, members = question.forcing, question.forcing.members
        if all(forcing is not known for known in self._forcings):
            self._forcings.append(forcing)
        place = next(index for index, known in enumerate(self._forcings) if known is forcing)
        tickets = slice(len(self.floor_h), len(self.floor_h) + members)
        self.floor_h = np.concatenate([self.floor_h, np.full(members, np.inf)])
        self.flat_h = np.concatenate([self.flat_h, np.full(members, np.inf)])
        joining = _Open(
            ticket=np.arange(tickets.start, tickets.stop),
            forcing=np.full(members, place),
            member=np.arange(members),
            first=np.full(members, step),
            state=State._make(_wide(question.state, members)),
            switches=Switches._make(_wide(question.switches, members)),
            levels=_wide(_levels(forcing.plant.rule), members),
        )
        self._open = joining if self._open is None else _joined(self._open, joining)
        return tickets

    def through(self, steps: slice) -> None:
        """Simulate some steps of all banks that are not flat."""
        banks = self._open
        assert banks is not None, "banks have joined"
        plant, step_h = self._forcings[0].plant, self._forcings[0].prepared.track.step_h
        levels: dict[str, Any] = dict(zip(("start_soc", "stop_soc"), banks.levels, strict=True))
        laid = Laid(*(forcing.signals(steps) for forcing in self._forcings))
        batch = Batch(
            plant=replace(plant, rule=replace(plant.rule, **levels)),
            state=banks.state,
            step_h=step_h,
            switches=banks.switches,
            floor_soc=self.floor_soc,
            until_dark=True,
            source_of=np.array(laid.begins)[banks.forcing] + banks.member,
        )
        batch.through(laid)
        told = batch.told
        since_h = (steps.start - banks.first) * step_h
        # A bank that goes dark by its voltage or by cold is past its floor, whatever it holds.
        floor_h = since_h + np.minimum(told["floor_h"], told["flat_h"])
        self.floor_h[banks.ticket] = np.minimum(self.floor_h[banks.ticket], floor_h)
        self.flat_h[banks.ticket] = since_h + told["flat_h"]
        self._open = _kept(replace(banks, state=batch.state), np.isinf(told["flat_h"]))

    def close(self, tickets: slice) -> None:
        """Simulate some banks no further."""
        banks = self._open
        assert banks is not None, "banks have joined"
        self._open = _kept(banks, (banks.ticket < tickets.start) | (banks.ticket >= tickets.stop))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Open:
    """The banks that are not flat, every array shaped (open,)."""

    ticket: np.ndarray
    forcing: np.ndarray
    member: np.ndarray
    first: np.ndarray
    state: State
    switches: Switches
    levels: tuple[np.ndarray, ...]


def depletion_times_h(
    questions: Iterable[Question],
    *,
    first: int,
    until: int,
    floor_soc: float,
    at_once: int = AT_ONCE,
    progress: Callable | None = None,
) -> list[tuple[np.ndarray, np.ndarray]]:
    """Hours to the floor and to flat for each question, of arrays shaped (members,). [h]

    All begin with the step `first` and end before `until`; what does not come by then is infinite.
    Questions are taken as they are needed, so that only `at_once` banks, or those of a single
    question, take memory. `progress` is called with the number answered, parts counted.
    """
    found, answered = {}, 0
    for batch in _batches(questions, at_once):
        banks = DepletionBatch(floor_soc=floor_soc)
        tickets = {place: banks.join(one, step=first) for place, one in batch}
        for steps in blocks(until, step_h=batch[0][1].forcing.prepared.track.step_h, first=first):
            if not banks.open:
                break
            banks.through(steps)
            if progress is not None:
                progress(answered + len(batch) * (steps.stop - first) / (until - first))
        answered += len(batch)
        for place, ticket in tickets.items():
            found[place] = banks.floor_h[ticket], banks.flat_h[ticket]
    return [found[place] for place in range(len(found))]


def _batches(questions, at_once):
    """Questions in batches of one plant each, every question with its place."""
    waiting: dict[Plant, list] = {}
    for place, question in enumerate(questions):
        # The rule is each member's own: by how wrongly it reads its bank.
        plant = replace(question.forcing.plant, rule=None)
        batch = waiting.setdefault(plant, [])
        if batch and (len(batch) + 1) * question.forcing.members > at_once:
            yield waiting.pop(plant)
            batch = waiting.setdefault(plant, [])
        batch.append((place, question))
    yield from waiting.values()


def _wide(value, members):
    """A number for each member, whatever tuples it stands in."""
    if isinstance(value, tuple):
        return tuple(_wide(one, members) for one in value)
    return np.broadcast_to(value, members)


def _levels(rule):
    return rule.start_soc, rule.stop_soc


def _each(change, *banks) -> _Open:
    """Banks with every array made from the same arrays of others."""

    def of(values):
        if isinstance(values[0], tuple):
            made = [of(parts) for parts in zip(*values, strict=True)]
            return type(values[0])(*made) if hasattr(values[0], "_fields") else tuple(made)
        return change(values)

    return _Open(
        **{field.name: of([getattr(one, field.name) for one in banks]) for field in fields(_Open)}
    )


def _joined(banks, more) -> _Open:
    return _each(np.concatenate, banks, more)


def _kept(banks, keep) -> _Open:
    return banks if keep.all() else _each(lambda arrays: arrays[0][keep], banks)
