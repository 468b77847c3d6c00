"""Banks carried side by side until each is flat: every line of a table with all of its members."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from powersim.kernel.state import State, Switches
from powersim.planning.seas import MeanSky
from powersim.simulation.carry import Batch
from powersim.simulation.ensemble import blocks
from powersim.simulation.flat import Laid
from powersim.simulation.weathers import Weathers

#: Banks carried in one go: enough to make arrays worth their while, few enough for a small memory.
AT_ONCE = 4000


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """How long one bank lasts, for each member.

    Attributes
    ----------
    sea : MeanSky or Weathers
        What it meets.
    state : State
        As it begins; arrays shaped (members,).
    switches : Switches
        What works and what is wanted, the same for all members.
    """

    sea: MeanSky | Weathers
    state: State
    switches: Switches


class Lanes:
    """Banks of one kind side by side, each in a lane of its own until it is flat.

    Parameters
    ----------
    floor_soc : float
        [-]

    Attributes
    ----------
    floor_h, flat_h : ndarray, shape (joined,)
        Time from the moment a lane joined until its bank is first below the floor or flat, and
        flat; infinite as long as it is not. [h]
    """

    def __init__(self, *, floor_soc):
        self.floor_soc = floor_soc
        self.floor_h, self.flat_h = np.empty(0), np.empty(0)
        self._seas = []
        self._open = None

    @property
    def open(self) -> int:
        """How many lanes are not flat yet."""
        return 0 if self._open is None else len(self._open.ticket)

    def join(self, question, *, step) -> slice:
        """Let every member of a question join as a step begins.

        Parameters
        ----------
        question : Question
            On a plant that is that of all others, but for its rule.
        step : int

        Returns
        -------
        slice
            Where its members are found in `floor_h` and `flat_h`.
        """
        sea, members = question.sea, question.sea.members
        if all(sea is not known for known in self._seas):
            self._seas.append(sea)
        place = next(index for index, known in enumerate(self._seas) if known is sea)
        tickets = slice(len(self.floor_h), len(self.floor_h) + members)
        self.floor_h = np.concatenate([self.floor_h, np.full(members, np.inf)])
        self.flat_h = np.concatenate([self.flat_h, np.full(members, np.inf)])
        switches = question.switches
        joining = _Open(
            ticket=np.arange(tickets.start, tickets.stop),
            sea=np.full(members, place),
            member=np.arange(members),
            first=np.full(members, step),
            state=State(*(_wide(value, members) for value in question.state)),
            switches=Switches(
                *(_wide(value, members) for value in switches._replace(groups=0.0))
            )._replace(groups=tuple(_wide(share, members) for share in switches.groups)),
            levels=tuple(_wide(level, members) for level in _levels(sea.plant.rule)),
        )
        self._open = joining if self._open is None else _joined(self._open, joining)
        return tickets

    def through(self, steps):
        """Carry all open lanes through a stretch of steps.

        Parameters
        ----------
        steps : slice
        """
        lanes = self._open
        plant, step_h = self._seas[0].plant, self._seas[0].prepared.track.step_h
        start_soc, stop_soc = lanes.levels
        laid = Laid(*(sea.signals(steps) for sea in self._seas))
        batch = Batch(
            plant=replace(plant, rule=replace(plant.rule, start_soc=start_soc, stop_soc=stop_soc)),
            state=lanes.state,
            step_h=step_h,
            switches=lanes.switches,
            floor_soc=self.floor_soc,
            until_dark=True,
            source_of=np.array(laid.begins)[lanes.sea] + lanes.member,
        )
        batch.through(laid)
        told = batch.told
        since_h = (steps.start - lanes.first) * step_h
        # A bank that goes dark by its voltage or by cold is past its floor, whatever it holds.
        floor_h = since_h + np.minimum(told["floor_h"], told["flat_h"])
        self.floor_h[lanes.ticket] = np.minimum(self.floor_h[lanes.ticket], floor_h)
        self.flat_h[lanes.ticket] = since_h + told["flat_h"]
        self._open = _kept(replace(lanes, state=batch.state), np.isinf(told["flat_h"]))

    def close(self, tickets):
        """Carry some lanes no further.

        Parameters
        ----------
        tickets : slice
            As `join` gave them.
        """
        lanes = self._open
        self._open = _kept(lanes, (lanes.ticket < tickets.start) | (lanes.ticket >= tickets.stop))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Open:
    """The lanes that are not flat, every array shaped (open,)."""

    ticket: np.ndarray
    sea: np.ndarray
    member: np.ndarray
    first: np.ndarray
    state: State
    switches: Switches
    levels: tuple[np.ndarray, ...]


def lasting(questions, *, first, until, floor_soc, at_once=AT_ONCE, progress=None):
    """How long the bank lasts, for each of many questions that begin together.

    Parameters
    ----------
    questions : iterable of Question
        Taken as they are needed, so that only those under way need memory.
    first, until : int
        The step that all begin with, and the step before which they end.
    floor_soc : float
        [-]
    at_once : int
        Banks carried in one go, or those of a single question.
    progress : callable, optional
        Called with how many questions are answered, parts of them counted.

    Returns
    -------
    list of tuple of two ndarray, shape (members,)
        Hours to the floor and to flat, of each question in turn; infinite where neither comes.
    """
    found, answered = {}, 0
    for batch in _batches(questions, at_once):
        lanes = Lanes(floor_soc=floor_soc)
        tickets = {place: lanes.join(one, step=first) for place, one in batch}
        for steps in blocks(until, step_h=batch[0][1].sea.prepared.track.step_h, first=first):
            if not lanes.open:
                break
            lanes.through(steps)
            if progress is not None:
                progress(answered + len(batch) * (steps.stop - first) / (until - first))
        answered += len(batch)
        for place, ticket in tickets.items():
            found[place] = lanes.floor_h[ticket], lanes.flat_h[ticket]
    return [found[place] for place in range(len(found))]


def _batches(questions, at_once):
    """Questions on one and the same plant together, each with its place, in batches."""
    waiting = {}
    for place, question in enumerate(questions):
        # The rule is each member's own: by how wrongly it reads its bank.
        plant = replace(question.sea.plant, rule=None)
        batch = waiting.setdefault(plant, [])
        if batch and (len(batch) + 1) * question.sea.members > at_once:
            yield waiting.pop(plant)
            batch = waiting.setdefault(plant, [])
        batch.append((place, question))
    yield from waiting.values()


def _wide(value, members):
    return np.broadcast_to(value, members)


def _levels(rule):
    return rule.start_soc, rule.stop_soc


def _each(change, *lanes) -> _Open:
    """Lanes with every array made from those of others."""

    def of(values):
        if isinstance(values[0], tuple):
            made = [of(parts) for parts in zip(*values, strict=True)]
            return type(values[0])(*made) if hasattr(values[0], "_fields") else tuple(made)
        return change(values)

    return _Open(
        **{field.name: of([getattr(one, field.name) for one in lanes]) for field in fields(_Open)}
    )


def _joined(lanes, more) -> _Open:
    return _each(np.concatenate, lanes, more)


def _kept(lanes, keep) -> _Open:
    return lanes if keep.all() else _each(lambda arrays: arrays[0][keep], lanes)
