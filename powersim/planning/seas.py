"""A passage in the mean sky or in many weathers, in one shape for whoever carries banks through."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from powersim.simulation import prepare as preparing
from powersim.simulation import weathers as weathering
from powersim.simulation.carry import Batch
from powersim.simulation.ensemble import members_state
from powersim.simulation.plant import Plant
from powersim.simulation.prepare import Prepared
from powersim.simulation.state import start_state
from powersim.simulation.weathers import Weathers


@dataclass(frozen=True, slots=True, kw_only=True)
class MeanSky:
    """The mean sky, in the shape of `Weathers` with a single member.

    Attributes
    ----------
    prepared : Prepared
    members : int
        Always 1.
    """

    prepared: Prepared
    members: int = 1

    @property
    def plant(self) -> Plant:
        """The boat as the kernel sees it."""
        return self.prepared.plant

    @property
    def reading_error_frac(self):
        """The bank is read without error. (1,) [-]"""
        return np.zeros(1)

    def signals(self, steps):
        """The kernel's signals of some steps, as Weathers has them."""
        return self.prepared.signals.between(steps.start, steps.stop)


@dataclass(frozen=True, slots=True, kw_only=True)
class Seas:
    """How passages are tried: in which weathers, at which step, held for how long after landfall.

    Attributes
    ----------
    members : int or None
        How many weathers; None for the mean sky.
    seed : int
        Of the random numbers: member 7 meets the same weather in every passage.
    step_h : float
        Length of a step. [h]
    hold_h : float
        Time to lie at the last waypoint after landfall. [h]
    """

    members: int | None
    seed: int
    step_h: float
    hold_h: float = 0.0

    def of(self, passage) -> MeanSky | Weathers:
        """One passage, worked out.

        Parameters
        ----------
        passage : Passage

        Returns
        -------
        MeanSky or Weathers

        Raises
        ------
        InputError
            If a weather file of the passage does not cover the boat and may not be left out.
        """
        prepared = preparing.prepare(passage, step_h=self.step_h, hold_h=self.hold_h)
        if self.members is None:
            return MeanSky(prepared=prepared)
        return weathering.weathers_of(passage, prepared, members=self.members, seed=self.seed)


def with_loads(sea, passage) -> MeanSky | Weathers:
    """The same sea for a passage with other loads on the same boat.

    Parameters
    ----------
    sea : MeanSky or Weathers
    passage : Passage
        With its loads in the same lines; one that is left ashore has a count of 0.

    Returns
    -------
    MeanSky or Weathers
    """
    if isinstance(sea, MeanSky):
        return replace(sea, prepared=preparing.with_loads(sea.prepared, passage))
    return weathering.with_loads(sea, passage)


def changed(sea, passage) -> MeanSky | Weathers:
    """The same sea for a passage of which anything has changed; what is the same is taken over.

    Parameters
    ----------
    sea : MeanSky or Weathers
    passage : Passage

    Returns
    -------
    MeanSky or Weathers

    Raises
    ------
    InputError
        If a weather file of the passage does not cover the boat and may not be left out.
    """
    before = sea.prepared
    prepared = preparing.prepare(
        passage, step_h=before.track.step_h, hold_h=before.hold_h, like=before
    )
    if isinstance(sea, MeanSky):
        return MeanSky(prepared=prepared)
    return weathering.weathers_of(passage, prepared, members=sea.members, seed=sea.seed, like=sea)


def told(sea, values):
    """What a record holds of values that may differ between members.

    Parameters
    ----------
    sea : MeanSky or Weathers
    values : float or ndarray, shape (members,) or one that becomes it

    Returns
    -------
    float or ndarray, shape (members,)
        A float in the mean sky.
    """
    if isinstance(sea, MeanSky):
        return float(np.asarray(values, dtype=float).reshape(()))
    return np.array(np.broadcast_to(values, sea.members), dtype=float)


def departing(sea, *, soc):
    """The state of every member at departure, rested at one state of charge.

    Parameters
    ----------
    sea : MeanSky or Weathers
    soc : float
        [-]

    Returns
    -------
    State
        Of plain floats for a single member, which are quickest; else of arrays (members,).
    """
    return members_state(sea, soc=soc) if sea.members > 1 else start_state(sea.plant, soc=soc)


def carried(sea, state, steps):
    """The state after some steps with everything working.

    Parameters
    ----------
    sea : MeanSky or Weathers
    state : State
        Before them.
    steps : slice

    Returns
    -------
    State
    """
    batch = Batch(plant=sea.plant, state=state, step_h=sea.prepared.track.step_h)
    batch.through(sea.signals(steps))
    return batch.state
