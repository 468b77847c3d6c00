"""Boats that differ from member to member: what each really has of what the files say."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from powersim.kernel.plant import Plant
from powersim.kernel.state import Switches
from powersim.records import Battery
from powersim.records.brief import brief
from powersim.simulation.ensemble_forcing import EnsembleForcing
from powersim.simulation.factors import (
    Factors,
    switches_of,
    with_factors,
)
from powersim.simulation.prepared import Prepared
from powersim.simulation.state import start_state

if TYPE_CHECKING:
    from powersim.kernel.state import BatchState
    from powersim.records.arrays import Array, Floats, Ints
    from powersim.simulation.reading import Misreading
    from powersim.simulation.signals import Signals


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Aboard:
    """What is aboard as a run begins: floats, or arrays shaped (members,).

    Attributes
    ----------
    soc : float or ndarray
        State of charge. [-]
    factors : Factors
        Multiples of what the files say.
    burnt_L : float or ndarray
        Diesel gone of what the boat's record has aboard, below 0 for more. [L]
    """

    soc: Floats
    factors: Factors = field(default_factory=Factors)
    burnt_L: Floats = 0.0

    __repr__ = brief

    def each(self, change: Callable[[Array], Array]) -> Aboard:
        """The same for others of its members.

        Parameters
        ----------
        change : callable
            From one array shaped (members,) to another; floats stay as they are.

        Returns
        -------
        Aboard
            Changed alike.
        """

        def of(value: Floats) -> Floats:
            return change(np.asarray(value)) if np.ndim(value) else value

        return Aboard(
            soc=of(self.soc), factors=Factors._make(map(of, self.factors)), burnt_L=of(self.burnt_L)
        )

    def plant(self, plant: Plant) -> Plant:
        """The plant of the files as it really is.

        Parameters
        ----------
        plant : Plant
            As the files have it.

        Returns
        -------
        Plant
            With another capacity and another burn.
        """
        return with_factors(plant, self.factors)

    def switches(self, *, engine: bool = True) -> Switches:
        """The kernel's switches for these loads, this sun and this alternator.

        Parameters
        ----------
        engine : bool
            Whether the engine can be run.

        Returns
        -------
        Switches
            Factors for loads, panels and alternator.
        """
        return switches_of(self.factors, engine=engine)

    def state(self, plant: Plant, *, members: int) -> BatchState:
        """The state as the run begins, rested, with arrays shaped (members,).

        Parameters
        ----------
        plant : Plant
            As `plant` has it.
        members : int
            How many members.

        Returns
        -------
        State
            With the diesel that is gone.
        """
        state = start_state(plant, soc=np.broadcast_to(self.soc, members))
        return state._replace(burnt_L=np.broadcast_to(self.burnt_L, members) + 0.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ForcingAboard:
    """Members, each met by a boat of its own; to be tried like Members.

    Attributes
    ----------
    forcing : EnsembleForcing
        The members.
    aboard : Aboard
        Of arrays shaped (members,).
    """

    forcing: EnsembleForcing
    aboard: Aboard

    @property
    def members(self) -> int:
        """How many."""
        return self.forcing.members

    @property
    def seed(self) -> int:
        """Of the random numbers."""
        return self.forcing.seed

    @property
    def prepared(self) -> Prepared:
        """The passage in average weather, as the files have it."""
        return self.forcing.prepared

    @property
    def plant(self) -> Plant:
        """The boat as the files have it; `aboard` makes it what it is."""
        return self.forcing.plant

    @property
    def misread(self) -> Misreading:
        """How wrongly each member reads its bank."""
        return self.forcing.misread

    def signals(self, steps: slice) -> Signals:
        """The kernel's signals of some steps, as Members has them.

        Parameters
        ----------
        steps : slice
            Of the passage.

        Returns
        -------
        Signals
            With the members last.
        """
        return self.forcing.signals(steps)

    def between(self, first: int, last: int) -> ForcingAboard:
        """Some members alone.

        Parameters
        ----------
        first, last : int
            Members, counted from 0 as in a slice.

        Returns
        -------
        ForcingAboard
            With views of the arrays.
        """
        return self.chosen(slice(first, last))

    def chosen(self, some: slice | Ints) -> ForcingAboard:
        """Some members alone, as `EnsembleForcing.chosen` has it.

        Parameters
        ----------
        some : slice or ndarray of int
            Which members, in any order.

        Returns
        -------
        ForcingAboard
            In the order in which they were named.
        """
        return replace(
            self,
            forcing=self.forcing.chosen(some),
            aboard=self.aboard.each(lambda values: values[some]),
        )


def aboard_of(sea: object, battery: Battery) -> Aboard:
    """What is aboard of the boats that meet some members.

    Parameters
    ----------
    sea : MeanSky, EnsembleForcing or ForcingAboard
        Only the last knows of what is aboard.
    battery : Battery
        For its charge at departure, where all boats are as the files have them.

    Returns
    -------
    Aboard
        Of arrays only where boats differ.
    """
    if isinstance(sea, ForcingAboard):
        return sea.aboard
    return Aboard(soc=battery.soc_at_departure)
