"""The signals of some members, laid out for the kernel block by block, and a cache of them."""

from __future__ import annotations

from collections import OrderedDict
from typing import TYPE_CHECKING

from powersim.simulation.ensemble import blocks
from powersim.simulation.flat import Laid

if TYPE_CHECKING:
    import numpy as np

    from powersim.simulation.aboard import ForcingAboard
    from powersim.simulation.mean_sky import MeanSky
    from powersim.simulation.member_signals import EnsembleForcing

#: Days of a block: enough steps at once for the kernel's call to be cheap. [days]
BLOCK_DAYS = 4
#: Room for all blocks that are kept, and about what a member takes in a step. [byte]
ROOM, A_MEMBER_STEP = 64 * 2**20, 100


class SignalBlocks:
    """The signals of some members in blocks of so many days, laid out once for many rules.

    With `keep` the blocks stay in memory, where all of them take about `size` bytes.
    """

    def __init__(
        self,
        forcing: EnsembleForcing | ForcingAboard | MeanSky,
        *,
        keep: bool = True,
        days: int = BLOCK_DAYS,
    ) -> None:
        self.forcing, self.keep, self.days = forcing, keep, days
        track = forcing.prepared.track
        self.step_h, self.n_steps = track.step_h, track.n_steps
        self.size = A_MEMBER_STEP * forcing.members * track.n_steps
        self._kept: dict[int, Laid] = {}

    @property
    def members(self) -> int:
        """The number of members."""
        return self.forcing.members

    @property
    def steps(self) -> list[slice]:
        """The steps of each block."""
        return blocks(self.n_steps, step_h=self.step_h, days=self.days)

    def laid(self, steps: slice) -> Laid:
        """The block of these steps."""
        laid = self._kept.get(steps.start)
        if laid is None:
            laid = Laid(self.forcing.signals(steps))
            if self.keep:
                self._kept[steps.start] = laid
        return laid


class SignalCache:
    """The blocks of several sets of members, as many as there is room for, the latest ones."""

    def __init__(self) -> None:
        self._sets: OrderedDict[bytes, SignalBlocks] = OrderedDict()

    def of(self, forcing: EnsembleForcing | ForcingAboard, places: np.ndarray) -> SignalBlocks:
        """The blocks of some of the members."""
        key = places.tobytes()
        if key not in self._sets:
            found = SignalBlocks(forcing.chosen(places))
            if found.size > ROOM:
                found.keep = False
                return found
            self._sets[key] = found
        self._sets.move_to_end(key)
        while sum(one.size for one in self._sets.values()) > ROOM:
            self._sets.popitem(last=False)
        return self._sets[key]
