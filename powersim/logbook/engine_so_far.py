"""When the engine was in gear and when it charged so far, as the log's meters have it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from powersim.records import Passage
from powersim.records.brief import brief
from powersim.simulation.plant import has_charging_alternator
from powersim.simulation.run import run
from powersim.simulation.state import start_state

if TYPE_CHECKING:
    from powersim.logbook.readings import Reading
    from powersim.simulation.prepared import Prepared

#: Hours in gear that are this close to the meter's gain count as all of it. [h]
_WITHIN_h = 1.0
#: Runs to expect in a day even where the plan has none, and their least length; judgement.
LEAST_RUNS_PER_DAY, LEAST_RUN_h = 0.2, 1.0
#: How often in a day she may motor although neither passage nor calms ask for it, and for how long
#: it may then last; judgement.
UNFORESEEN_PER_DAY, UNFORESEEN_h = 0.01, 12.0
#: Step that spreads any number of draws evenly, and a shift from one spell to the next.
_GOLDEN, _SHIFT = 0.6180339887498949, 97


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EngineSoFar:
    """What the engine did until now.

    Attributes
    ----------
    charging : ndarray, shape (n, members or 1)
        Share of each step in which it charged at rest. [-]
    motoring : ndarray, shape (n, members or 1)
        Share of each step in gear. [-]
    told : bool
        Whether it comes from the log's hour meter; if not, it is as planned.
    gear_told : bool
        Whether the log has hours in gear too; if not, they differ from member to member.
    """

    charging: np.ndarray
    motoring: np.ndarray
    told: bool
    gear_told: bool = False

    __repr__ = brief

    def chosen(self, some: np.ndarray | slice) -> EngineSoFar:
        """The same for some members alone."""
        return replace(self, charging=self.charging[:, some], motoring=self.motoring[:, some])


def side_by_side(engines: Sequence[EngineSoFar]) -> EngineSoFar:
    """The engines of some logs in one, along the members."""
    return EngineSoFar(
        charging=np.hstack([one.charging for one in engines]),
        motoring=np.hstack([one.motoring for one in engines]),
        told=all(one.told for one in engines),
        gear_told=all(one.gear_told for one in engines),
    )


def engine_as_planned(passage: Passage, prepared: Prepared, *, n_steps: int) -> np.ndarray:
    """Share of each step in which the boat's own rule charges in the mean sky, shape (n, 1)."""
    signals, plant = prepared.signals.between(0, n_steps), prepared.plant
    state = start_state(plant, soc=passage.boat.battery.soc_at_departure)
    return run(signals, plant=plant, state=state)[0].charging


def engine_from_log(
    readings: Sequence[Reading],
    passage: Passage,
    prepared: Prepared,
    *,
    planned: np.ndarray,
    motoring: np.ndarray,
) -> EngineSoFar:
    """What the engine did, by the log's hour meter and its hours in gear.

    `motoring` is the share of each step in gear by the passage and each member's calms. Where the
    log has hours in gear, they are those. Elsewhere, between two readings of the meter, the engine
    was in gear for that time, or less if the meter gained less, and how many of the meter's hours
    that were differs between members. It charged for the rest of the gain. The log does not say
    when: it is at the times of the timetable, else right after the bank is read for the rule, if it
    is read at set times, else from the first hour that boat.toml allows, when the bank is lowest,
    and on all days alike. Outside of the readings, and without any, all is as
    planned.
    """
    n_steps, step_h = len(motoring), prepared.track.step_h
    motoring = motoring.copy()
    geared = [(one.at_h, gear_h) for one in readings if (gear_h := one.entry.gear_h) is not None]
    known = _in_gear_as_logged(motoring, geared, step_h=step_h)
    charging = np.repeat(1.0 * planned, motoring.shape[1], axis=1) * (motoring < 1.0)
    metered = [
        (one.at_h, engine_h) for one in readings if (engine_h := one.entry.engine_h) is not None
    ]
    gear_told = bool(known.any())
    if len(metered) < 2:
        return EngineSoFar(charging=charging, motoring=motoring, told=False, gear_told=gear_told)
    able = has_charging_alternator(passage.boat)
    signals = prepared.signals
    ordered, allowed = signals.ordered[:n_steps, 0], signals.may_run[:n_steps, 0]
    since_read = _since_read(signals.reads[:n_steps, 0])
    carried_h = np.zeros(motoring.shape[1])
    runs_per_h, run_h = _usual_runs(planned[:, 0], step_h)
    for turn, (before, after) in enumerate(pairwise(metered)):
        first, last = (min(round(at_h / step_h), n_steps) for at_h, _ in (before, after))
        gained_h = after[1] - before[1] + carried_h
        if last <= first:  # two readings within one step: the next pair has what was gained
            carried_h = gained_h
            continue
        here = slice(first, last)
        open_steps = first + np.flatnonzero(~known[here])
        left_h = gained_h - motoring[first + np.flatnonzero(known[here])].sum(axis=0) * step_h
        if open_steps.size:
            ran_h = np.maximum(left_h, 0.0)
            calms = _calms_that_fit(
                motoring[open_steps],
                ran_h,
                step_h=step_h,
                runs_per_h=runs_per_h,
                run_h=run_h,
                turn=turn,
            )
            in_gear_h = calms.sum(axis=0) * step_h
            motoring[open_steps] = calms * np.minimum(ran_h / np.maximum(in_gear_h, 1e-9), 1.0)
            left_h = left_h - np.minimum(in_gear_h, ran_h)
        room = np.maximum(1.0 - motoring[here], 0.0)  # nothing charges at rest in gear
        steps = np.clip(left_h / step_h, 0.0, room.sum(axis=0)) if able else 0.0 * left_h
        carried_h = left_h - steps * step_h if able else 0.0 * left_h
        turns = _turns(ordered[here], allowed[here], since_read[here])
        order = turns.argsort(kind="stable")[:, None]
        charging[here] = _filled(room, order, steps)
    return EngineSoFar(charging=charging, motoring=motoring, told=True, gear_told=gear_told)


def _in_gear_as_logged(motoring, geared, *, step_h):
    """Put the hours in gear of the log into `motoring`; True where it has any, shape (n,)."""
    n_steps = len(motoring)
    known = np.zeros(n_steps, dtype=bool)
    carried_h = 0.0
    for turn, (before, after) in enumerate(pairwise(geared)):
        first, last = (min(round(at_h / step_h), n_steps) for at_h, _ in (before, after))
        gained_h = after[1] - before[1] + carried_h
        if last > first:  # else both within one step: the next pair has what was gained
            in_gear_h = min(gained_h, (last - first) * step_h)
            known[first:last] = True
            motoring[first:last] = _in_gear_for(
                motoring[first:last], in_gear_h, step_h=step_h, turn=turn
            )
            gained_h -= in_gear_h
        carried_h = gained_h
    return known


def _in_gear_for(motoring, in_gear_h, *, step_h, turn):
    """Shares in gear of a spell that come to so many hours in each member, shape (n, members).

    The log says how long, and not when: members whose passage and calms come near to it are drawn
    most often (evenly, as in `_calms_that_fit`). What they have too much is taken off by shares;
    what they lack is motored without a break, at another time in each.
    """
    n_steps, members = motoring.shape
    places = (np.arange(members) + turn * _SHIFT) * _GOLDEN % 1.0
    own_h = motoring.sum(axis=0) * step_h
    weight = np.cumsum(1.0 / (1.0 + ((own_h - in_gear_h) / _WITHIN_h) ** 2))
    drawn = np.searchsorted(weight, weight[-1] * places)
    motoring, own_h = motoring[:, drawn], own_h[drawn]
    motoring = motoring * np.minimum(in_gear_h / np.maximum(own_h, 1e-9), 1.0)
    lacks = np.maximum(in_gear_h - own_h, 0.0) / step_h
    begins = (n_steps * (places + _GOLDEN) % n_steps).astype(int)
    order = (begins + np.arange(n_steps)[:, None]) % n_steps
    return motoring + _filled(np.maximum(1.0 - motoring, 0.0), order, lacks)


def _filled(room, order, steps):
    """What comes into each step, shape (n, members), where the first in `order` fill up first.

    `room` is what goes into each, `order` which step has which turn, `steps` how much comes.
    """
    order = np.broadcast_to(order, room.shape)
    in_turn = np.take_along_axis(room, order, axis=0)
    into = np.clip(steps - (in_turn.cumsum(axis=0) - in_turn), 0.0, in_turn)
    found = np.empty_like(room)
    np.put_along_axis(found, order, into, axis=0)
    return found


def _usual_runs(planned, step_h):
    """How many runs an hour the plan has, and how long they last. [1/h], [h]"""
    runs = int(np.diff((planned > 0.0).astype(int), prepend=0).clip(0).sum())
    per_h = max(runs / (len(planned) * step_h), LEAST_RUNS_PER_DAY / 24.0)
    return per_h, max(float(planned.sum()) * step_h / max(runs, 1), LEAST_RUN_h)


def _calms_that_fit(motoring, gained_h, *, step_h, runs_per_h, run_h, turn):
    """Shares in gear that agree with the meter's gain, shape (n, members): importance resampling.

    What a member's motoring leaves of the gain was charging. That is none, with the probability
    that no run falls into the spell, else about as long as the plan's runs (a gamma density of
    shape 2). A calm that lasted longer than the gain was motored in part, any part being equally
    likely, so it counts by an hour's share of the spell. So does motoring that no member has, with
    a small probability. Members are drawn by these weights, evenly (by the golden ratio, so that
    the first few stand for all).
    """
    spell_h, members = len(motoring) * step_h, np.arange(motoring.shape[1])
    unforeseen = np.full((len(motoring), 1), min(gained_h.mean() / spell_h, 1.0))
    chance = 1.0 - np.exp(-UNFORESEEN_PER_DAY * spell_h / 24.0)
    motoring = np.hstack([motoring, unforeseen])
    charged_h = np.append(gained_h, gained_h.mean()) - motoring.sum(axis=0) * step_h
    runs = runs_per_h * spell_h
    none, mean_h = np.exp(-runs), run_h * max(runs, 1.0)
    part = none * min(_WITHIN_h / spell_h, 1.0)
    by_run = (1.0 - none) * np.maximum(charged_h, 0.0) * (2.0 / mean_h) ** 2
    weight = by_run * np.exp(-2.0 * np.maximum(charged_h, 0.0) / mean_h)
    weight = np.where(np.abs(charged_h) < 0.5 * _WITHIN_h, none, weight)
    weight = np.where(charged_h <= -0.5 * _WITHIN_h, part, weight)
    weight[-1] = none * chance * min(_WITHIN_h / UNFORESEEN_h, 1.0) * len(members)
    weight = np.cumsum(weight)
    drawn = weight[-1] * ((members + turn * _SHIFT) * _GOLDEN % 1.0)
    return motoring[:, np.searchsorted(weight, drawn)]


def _since_read(reads):
    """Steps since the rule had the bank read last, shape (n,); infinite before that."""
    steps = np.arange(len(reads))
    last = np.maximum.accumulate(np.where(reads > 0, steps, -1))
    return np.where(last >= 0, steps - last, np.inf)


def _turns(ordered, allowed, since_read):
    """Order in which steps fill with charging, shape (n,); -inf for before all others.

    The timetable's steps come first. Then, of a rule that has the bank read at set times, those
    right after a reading; else the first that is allowed on each day, the second on each day and so
    on.
    """
    if np.isfinite(since_read).any():
        turns = np.minimum(since_read, len(allowed)) + np.arange(len(allowed)) / len(allowed)
        return np.where(ordered > 0.0, -np.inf, np.where(allowed, turns, np.inf))
    edges = np.flatnonzero(np.diff(np.concatenate([[0], allowed.astype(int), [0]])))
    spells = edges.reshape(-1, 2)
    turns = np.full(len(allowed), float(len(allowed)))
    for day, (begin, end) in enumerate(spells):
        turns[begin:end] = np.arange(end - begin) + day / len(spells)
    return np.where(ordered > 0.0, -np.inf, turns)
