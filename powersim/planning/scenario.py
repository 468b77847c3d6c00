"""A passage in the mean sky or in many members, in one shape for whatever simulates banks in it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from powersim.kernel.state import State
from powersim.records import Passage
from powersim.simulation import ensemble_forcing as drawing
from powersim.simulation import prepare as preparing
from powersim.simulation.carry import Batch
from powersim.simulation.ensemble import blocks, members_state
from powersim.simulation.ensemble_forcing import EnsembleForcing
from powersim.simulation.mean_sky import MeanSky
from powersim.simulation.state import start_state

if TYPE_CHECKING:
    from powersim.kernel.state import BatchState
    from powersim.simulation.prepared_passage import PreparedPassage
    from powersim.simulation.result import SimulationResult


#: Members in which the worst moment is searched and the cost of each load is told: the first ones.
FEW = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    """How a passage is simulated: in which members, at which step, and how long after landfall.

    Attributes
    ----------
    members : int or None
        Number of members; None for the mean sky.
    seed : int
        Seed of the random numbers: member 7 has the same weather in every passage.
    step_h : float
        Length of a step. [h]
    hold_h : float
        Time at the last waypoint after landfall. [h]
    """

    members: int | None
    seed: int
    step_h: float
    hold_h: float = 0.0

    def of(self, passage: Passage) -> MeanSky | EnsembleForcing:
        """Prepare a passage and draw its members.

        InputError says that a weather file does not cover the boat and may not be left out.
        """
        prepared = preparing.prepare(passage, step_h=self.step_h, hold_h=self.hold_h)
        if self.members is None:
            return MeanSky(prepared=prepared)
        return drawing.draw_ensemble(passage, prepared, members=self.members, seed=self.seed)


def with_loads(forcing: MeanSky | EnsembleForcing, passage: Passage) -> MeanSky | EnsembleForcing:
    """The same members for a passage that differs in its loads alone.

    Its loads stand in the same lines; one that is left ashore has a count of 0.
    """
    if isinstance(forcing, MeanSky):
        return replace(forcing, prepared=preparing.with_loads(forcing.prepared, passage))
    return drawing.with_loads(forcing, passage)


def changed(forcing: MeanSky | EnsembleForcing, passage: Passage) -> MeanSky | EnsembleForcing:
    """The same members for a passage that differs in anything; what is the same is taken over.

    InputError says that a weather file does not cover the boat and may not be left out.
    """
    before = forcing.prepared
    prepared = preparing.prepare(
        passage, step_h=before.track.step_h, hold_h=before.hold_h, like=before
    )
    if isinstance(forcing, MeanSky):
        return MeanSky(prepared=prepared)
    return drawing.draw_ensemble(
        passage, prepared, members=forcing.members, seed=forcing.seed, like=forcing
    )


def first_of(forcing: MeanSky | EnsembleForcing, count: int) -> MeanSky | EnsembleForcing:
    """The first members alone, or all where there are no more."""
    if isinstance(forcing, MeanSky) or forcing.members <= count:
        return forcing
    return forcing.first(count)


def state_of_first(state: BatchState, *, members: int, count: int) -> BatchState:
    """The state of the first of some members, or of all where there are no more."""
    if members <= count:
        return state
    return State(*(np.broadcast_to(one, members)[:count] for one in state))


def scalar_if_single(
    forcing: MeanSky | EnsembleForcing, values: float | np.ndarray
) -> float | np.ndarray:
    """Values as records hold them: a float in the mean sky, else an array shaped (members,)."""
    if isinstance(forcing, MeanSky):
        return float(np.asarray(values, dtype=float).reshape(()))
    return np.array(np.broadcast_to(values, forcing.members), dtype=float)


def departure_state(forcing: MeanSky | EnsembleForcing, *, soc: float) -> BatchState:
    """The state at departure, rested at one state of charge.

    It has plain floats for a single member, which are quickest, else arrays shaped (members,).
    """
    return (
        members_state(forcing, soc=soc)
        if forcing.members > 1
        else start_state(forcing.plant, soc=soc)
    )


def carried(forcing: MeanSky | EnsembleForcing, state: BatchState, steps: slice) -> BatchState:
    """The state after some steps in which everything works."""
    batch = Batch(plant=forcing.plant, state=state, step_h=forcing.prepared.track.step_h)
    batch.through(forcing.signals(steps))
    return batch.state


def state_at(
    forcing: MeanSky | EnsembleForcing,
    step: int,
    *,
    soc: float,
    progress: Callable[[float], Any] | None = None,
) -> BatchState:
    """The state as a step begins, with everything working since departure at a state of charge.

    `progress` is called with the share of the steps that is done.
    """
    state = departure_state(forcing, soc=soc)
    for steps in blocks(step, step_h=forcing.prepared.track.step_h):
        state = carried(forcing, state, steps)
        if progress is not None:
            progress(steps.stop / step)
    return state


def forcing_of(
    result: SimulationResult | PreparedPassage[Any], *, members: int, seed: int
) -> MeanSky | EnsembleForcing:
    """The members of a passage that has been worked out; one is the mean sky.

    Those that it was prepared with are taken over.
    """
    if members == 1:
        return MeanSky(prepared=result.prepared)
    known = getattr(result, "forcing", None)
    if known is not None and (known.members, known.seed) == (members, seed):
        return known
    return drawing.draw_ensemble(result.passage, result.prepared, members=members, seed=seed)


def first_step_from(moment_h: float, step_h: float) -> int:
    """The first step that begins at a moment of the passage or after it."""
    return math.ceil(moment_h / step_h - 1e-9)
