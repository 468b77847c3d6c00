"""The search for the charges of a ladder: tables are made, and kept in some passages."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from powersim.planning.ladder_kept import kept
from powersim.planning.ladder_needs import days_of
from powersim.planning.ladder_table import LadderTable, seeming_needs, table_of
from powersim.simulation.verdict import too_often

if TYPE_CHECKING:
    from powersim.planning.ladder_rungs import Rungs
    from powersim.planning.ladder_steps import LadderStep

#: Passages that the charges are found in, beside those that the ladder is simulated in.
SEARCH_MEMBERS = 60
#: Shortest step of that search. [h]
SEARCH_STEP_h = 1.0
#: Shares of those in which a day's charge is enough, of which the best is taken. Whoever reads
#: again tomorrow need not be sure today.
CAUTION = (0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0)
#: For how many days a rung must do before all that may be given up is, tried likewise. [days]
AHEAD_DAYS = (2.0, 5.0, 10.0, np.inf)
#: What an evening without a load costs, by its group (our judgement).
_COSTS = {"comfort": 1.0, "useful": 3.0, "essential": 9.0}
#: Share of the work before the tables are kept. [-]
_DAYS = 0.7


def searched(
    rungs: Rungs,
    steps: Sequence[LadderStep],
    *,
    risk_frac: float,
    tell: Callable[[float], object],
) -> LadderTable:
    """The table that keeps best, and gives up least for it.

    Parameters
    ----------
    rungs : Rungs
        The boat, in passages that no answer is told in.
    steps : sequence of LadderStep
        In order.
    risk_frac : float
        Share of the passages that may fail. [-]
    tell : callable
        Called with the share that is done.
    """
    days = days_of(rungs, progress=lambda done_frac: tell(_DAYS * done_frac))
    tables = [
        table_of(rungs, seeming, cautious_frac=frac, ahead_days=ahead_days)
        for ahead_days in AHEAD_DAYS
        for seeming in [seeming_needs(rungs, days, steps, ahead_days=ahead_days)]
        for frac in CAUTION
    ]
    tables += [_essential_kept(table, steps) for table in tables]
    # Where that leaves less darkness, all of it from the first hour; never for the floor's sake.
    tables.append(replace(tables[-1], least_soc=np.full_like(tables[-1].least_soc, np.inf)))
    tried = kept(rungs, tables, progress=lambda done_frac: tell(_DAYS + (1.0 - _DAYS) * done_frac))

    def cost(place: int) -> tuple[float, bool, float, float]:
        one = tried[place]
        given = sum(
            _COSTS[step.group] * float(one.evenings(at).mean()) for at, step in enumerate(steps)
        )
        return (
            _too_many(one.dark, risk_frac),
            place == len(tables) - 1,
            _too_many(one.below_floor, risk_frac),
            given,
        )

    return tables[min(range(len(tables)), key=cost)]


def _essential_kept(table: LadderTable, steps: Sequence[LadderStep]) -> LadderTable:
    """The same with what is essential never given up: a bank that is misread may ask for it."""
    least_soc = table.least_soc.copy()
    least_soc[:, [step.essential for step in steps]] = -np.inf
    return replace(table, least_soc=least_soc)


def _too_many(where: Any, risk_frac: float) -> float:
    """The share of the members where something is, in steps of a twentieth; 0 where it may be."""
    frac = float(where.mean())
    return round(20.0 * frac) / 20.0 if too_often(frac, risk_frac) else 0.0
