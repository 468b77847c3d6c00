"""The search for the charges of a ladder: tables are made, and kept in some passages."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from powersim.planning.ladder_kept import kept
from powersim.planning.ladder_needs import days_of
from powersim.planning.ladder_table import LadderTable, seeming_needs, table_of
from powersim.simulation.verdict import too_often

if TYPE_CHECKING:
    from powersim.planning.ladder_rungs import Rungs
    from powersim.planning.ladder_steps import LadderStep
    from powersim.records.arrays import Array, Bools

#: Passages that the charges are found in, beside those that the ladder is simulated in.
SEARCH_MEMBERS = 100
#: Shortest step of that search. [h]
SEARCH_STEP_h = 1.0
#: Shares of those in which a day's charge is enough, of which the best is taken. Whoever reads
#: again tomorrow need not be sure today.
CAUTION = (0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0)
#: For how many days a rung must do before all that may be given up is, tried likewise. [days]
AHEAD_DAYS = (2.0, 5.0, 10.0, np.inf)
#: What an evening without a load costs, by its group (our judgement).
_COSTS = {"comfort": 1.0, "useful": 3.0, "essential": 9.0}
#: Shares of the risk that may fail in the search, by darkness and by the floor: the best of many
#: tables looks better where it was chosen than it is.
_DARK_ROOM, _FLOOR_ROOM = 0.25, 0.5
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
    essential = np.array([step.essential for step in steps], dtype=bool)
    # First all that is not essential, for the floor; then what is, for the dark alone.
    spare = _best(
        rungs,
        [at_no_charge(tables[0]), *(_with(table, essential, -np.inf) for table in tables)],
        steps,
        risk_frac=risk_frac,
        for_floor=True,
        tell=lambda done_frac: tell(_DAYS + 0.5 * (1.0 - _DAYS) * done_frac),
    )
    if not essential.any():
        return spare
    both = [_with(spare, essential, table.least_soc[:, essential]) for table in tables]
    # Where that leaves less darkness, all of it from the first hour.
    return _best(
        rungs,
        [spare, *both, all_at_once(spare)],
        steps,
        risk_frac=risk_frac,
        for_floor=False,
        tell=lambda done_frac: tell(0.5 * (1.0 + _DAYS) + 0.5 * (1.0 - _DAYS) * done_frac),
    )


def all_at_once(table: LadderTable) -> LadderTable:
    """The same with every step taken at any charge.

    Parameters
    ----------
    table : LadderTable
        For its rows.
    """
    return replace(table, least_soc=np.full_like(table.least_soc, np.inf))


def at_no_charge(table: LadderTable) -> LadderTable:
    """The same with no step ever taken.

    Parameters
    ----------
    table : LadderTable
        For its rows.
    """
    return replace(table, least_soc=np.full_like(table.least_soc, -np.inf))


def _with(table: LadderTable, columns: Array, least_soc: Array | float) -> LadderTable:
    """A table with other figures for some of its steps; no later step is asked for sooner."""
    changed = table.least_soc.copy()
    changed[:, columns] = least_soc
    return replace(table, least_soc=np.minimum.accumulate(changed, axis=1))


def _best(
    rungs: Rungs,
    tables: Sequence[LadderTable],
    steps: Sequence[LadderStep],
    *,
    risk_frac: float,
    for_floor: bool,
    tell: Callable[[float], object],
) -> LadderTable:
    """The table that goes dark least often, then breaks the floor least, then gives up least."""
    tried = kept(rungs, tables, progress=tell)

    def cost(place: int) -> tuple[float, float, float]:
        one = tried[place]
        given = sum(
            _COSTS[step.group] * float(one.evenings(at).mean()) for at, step in enumerate(steps)
        )
        floor = _too_many(one.below_floor, _FLOOR_ROOM * risk_frac) if for_floor else 0.0
        return _too_many(one.dark, _DARK_ROOM * risk_frac), floor, given

    return tables[min(range(len(tables)), key=cost)]


def _too_many(where: Bools, may_frac: float) -> float:
    """The share of the members where something is, up to twentieths; 0 where it may be."""
    frac = float(where.mean())
    return math.ceil(20.0 * frac) / 20.0 if too_often(frac, may_frac) else 0.0
