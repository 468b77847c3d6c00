"""Average weather in the shape of an ensemble of one member."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from powersim.kernel.plant import Plant
from powersim.simulation.prepared import Prepared
from powersim.simulation.reading import Misreading, read_exactly

if TYPE_CHECKING:
    from powersim.simulation.signals import Signals


@dataclass(frozen=True, slots=True, kw_only=True)
class MeanSky:
    """The mean sky, in the shape of `EnsembleForcing` with a single member.

    Attributes
    ----------
    prepared : Prepared
        The passage in average weather.
    members : int
        One.
    """

    prepared: Prepared
    members: int = 1

    @property
    def plant(self) -> Plant:
        """The boat's gear as the kernel takes it."""
        return self.prepared.plant

    @property
    def misread(self) -> Misreading:
        """How wrongly the bank is read: not at all."""
        return read_exactly(1)

    def signals(self, steps: slice) -> Signals:
        """The kernel's signals for some steps, as `EnsembleForcing` gives them.

        Parameters
        ----------
        steps : slice
            Of the passage.

        Returns
        -------
        Signals
            Of one member.
        """
        return self.prepared.signals.between(steps.start, steps.stop)
