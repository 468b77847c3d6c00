"""What a comparison shows: which choices hold, how each differs, and which cannot be told apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from powersim.planning.measures import MEASURES, measure_of
from powersim.records.brief import brief
from powersim.simulation.differences import Difference, paired_mean

if TYPE_CHECKING:
    from powersim.planning.compare import Choice, Outcome, Study

_FAILS = "fails"


@dataclass(frozen=True, kw_only=True, eq=False)
class Compared:
    """All choices, simulated.

    Attributes
    ----------
    study : Study
        In how many members, and what may fail.
    choices : tuple of Choice
        The first is what the others are told against.
    outcomes : tuple of Outcome
        What each comes to.
    """

    study: Study
    choices: tuple[Choice, ...]
    outcomes: tuple[Outcome, ...]

    __repr__ = brief

    @property
    def holding(self) -> tuple[int, ...]:
        """Places of the choices that hold."""
        return tuple(at for at, one in enumerate(self.outcomes) if one.verdict.holds)

    @cached_property
    def differences(self) -> tuple[dict[str, Difference], ...]:
        """How each choice differs from the first, by the ids of `measures.MEASURES`.

        What one of the two has nothing of, such as fuel, is left out.
        """
        first = self.outcomes[0].measured
        return tuple(
            {
                measure.id: measure.difference(first[measure.id], one.measured[measure.id])
                for measure in MEASURES
                if measure.id in first and measure.id in one.measured
            }
            for one in self.outcomes
        )

    @cached_property
    def lasts(self) -> tuple[Difference | None, ...]:
        """How much longer than that of the first each bank lasts, all charging lost. [days]

        None where in some members one of the two lasts to landfall, and nothing is known beyond.
        """
        first = self.outcomes[0].lost.flat_days
        return tuple(
            paired_mean(first, days)
            if np.isfinite(first).all() and np.isfinite(days).all()
            else None
            for days in (one.lost.flat_days for one in self.outcomes)
        )

    @cached_property
    def least(self) -> tuple[int, ...]:
        """Places of the choices that fail in the fewest members."""
        shares = [one.verdict.fails.frac for one in self.outcomes]
        return tuple(at for at, share in enumerate(shares) if share == min(shares))

    @cached_property
    def not_told_apart(self) -> tuple[int, ...]:
        """Places of the choices that fail no more often than the best, as far as can be shown.

        Those of `least` are among them. All are looked at together, so intervals are wider
        than of one difference alone: the best of many is also the luckiest.
        """
        fails = [one.measured[_FAILS] for one in self.outcomes]
        best = fails[self.least[0]]
        measure, among = measure_of(_FAILS), max(1, len(fails) - 1)
        return tuple(
            at
            for at, each in enumerate(fails)
            if at in self.least or not measure.difference(best, each, among=among).shows
        )


def compared(study: Study, choices: Sequence[Choice], found: dict[int, Outcome]) -> Compared:
    """Put outcomes in the order of their choices.

    Parameters
    ----------
    study : Study
        What they have in common.
    choices : sequence of Choice
        As they were asked.
    found : dict of int to Outcome
        By the place of their choices.
    """
    return Compared(
        study=study,
        choices=tuple(choices),
        outcomes=tuple(found[at] for at in range(len(choices))),
    )
