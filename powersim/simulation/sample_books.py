"""Books in full, step by step, for the first of many members."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from powersim.errors import BalanceError
from powersim.kernel.flows import Flows
from powersim.kernel.state import State, Switches
from powersim.simulation.books import books_of
from powersim.simulation.carry import Batch

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools
    from powersim.simulation.member_signals import EnsembleForcing


#: Steps that are checked together: of a few members many take hardly longer than few.
_LEAST_STEPS = 1500


class SampleBooks:
    """The first members of a run, carried through once more with every flow kept.

    Parameters
    ----------
    forcing : EnsembleForcing
        All members of the run.
    batch : Batch
        The run, before its first step.
    count : int
        How many members.
    switches : Switches, optional
        Of the run.
    """

    def __init__(
        self,
        forcing: EnsembleForcing,
        batch: Batch,
        *,
        count: int,
        switches: Switches | None = None,
    ) -> None:
        self.count = min(count, forcing.members)
        self.forcing, self.batch = forcing, batch
        self.switches = switches or Switches()
        self._checked = 0
        self._alone = Batch(
            plant=forcing.first(self.count).plant,
            state=self._of_few(batch.state),
            step_h=forcing.prepared.track.step_h,
            switches=self.switches,
        )

    def check(self, until: int) -> None:
        """Check the books of the steps through which the run has gone, once they are many.

        Parameters
        ----------
        until : int
            The step before which the run stands; where that is the end, what is left is checked.

        Raises
        ------
        BalanceError
            If the books do not close, or a member does not come to where it came in the run.
        """
        if until - self._checked < _LEAST_STEPS and until < self.forcing.prepared.track.n_steps:
            return
        steps, self._checked = slice(self._checked, until), until
        before = self._of_few(self._alone.state)
        sample = self.forcing.sample(steps, self.count)
        flows = self._alone.through(sample.signals, series=Flows._fields)
        books_of(Flows(**flows), state=before, prepared=sample, switches=self.switches)
        there = self._of_few(self.batch.state)
        for name, here, value in zip(State._fields, self._alone.state, there, strict=True):
            if not np.array_equal(here, value):
                raise BalanceError(
                    f"{name} of the first members after step {until} is {value} among all "
                    f"of them, and {here} by themselves"
                )

    def _of_few(self, state: State[Array, Bools]) -> State[Array, Bools]:
        return State._make(np.asarray(values)[: self.count].copy() for values in state)
