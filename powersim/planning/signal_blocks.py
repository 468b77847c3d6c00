"""Members laid out for the kernel stretch by stretch, and kept while there is room for them."""

from __future__ import annotations

from collections import OrderedDict
from typing import TYPE_CHECKING

from powersim.simulation.ensemble import blocks
from powersim.simulation.flat import Laid

if TYPE_CHECKING:
    import numpy as np

    from powersim.simulation.aboard import ForcingAboard
    from powersim.simulation.member_signals import EnsembleForcing

#: Days of a stretch: enough steps at once to make calling for them worth while. [days]
BLOCK_DAYS = 4
#: Room for what is laid out, and about what a member takes in a step. [byte]
ROOM, A_MEMBER_STEP = 64 * 2**20, 100


class SignalBlocks:
    """A passage in some members, laid out once for all rules that are tried in them.

    Parameters
    ----------
    forcing : EnsembleForcing, ForcingAboard or MeanSky
    keep : bool
        Whether to keep what is laid out, for those that come after.
    days : int
        Of a stretch.

    Attributes
    ----------
    size : int
        About what it takes when all of it is kept. [byte]
    """

    def __init__(self, forcing, *, keep=True, days=BLOCK_DAYS):
        self.forcing, self.keep, self.days = forcing, keep, days
        track = forcing.prepared.track
        self.step_h, self.n_steps = track.step_h, track.n_steps
        self.size = A_MEMBER_STEP * forcing.members * track.n_steps
        self._kept: dict[int, Laid] = {}

    @property
    def members(self) -> int:
        """How many members."""
        return self.forcing.members

    @property
    def steps(self) -> list[slice]:
        """The passage cut into signal_blocks."""
        return blocks(self.n_steps, step_h=self.step_h, days=self.days)

    def laid(self, steps: slice) -> Laid:
        """One of them."""
        laid = self._kept.get(steps.start)
        if laid is None:
            laid = Laid(self.forcing.signals(steps))
            if self.keep:
                self._kept[steps.start] = laid
        return laid


class SignalCache:
    """SignalBlocks of several sets of members, those that were asked for last."""

    def __init__(self):
        self._sets: OrderedDict[bytes, SignalBlocks] = OrderedDict()

    def of(self, forcing: EnsembleForcing | ForcingAboard, places: np.ndarray) -> SignalBlocks:
        """Those of some members of some members."""
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
