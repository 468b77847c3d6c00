"""The best table on paper for a passage, and how often somebody fails who goes by it.

Tables are made from a charge that is wanted at the next dawn and a shortest run. They are searched
in members of their own, as rules are, and judged in those that `simulate` shows.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from powersim.planning.paper_days import by_paper, days_of, gains_soc
from powersim.planning.paper_table import PaperTable, charging_of, dawn_h, paper_table
from powersim.planning.policy_evaluation import PolicyEvaluation, evaluate_policies
from powersim.planning.rule_candidates import least_start
from powersim.planning.rule_limits import RuleLimits, failing, holds
from powersim.planning.rule_offers import verdict_on
from powersim.planning.rule_search import limits_from
from powersim.records import ChargingRule, Passage
from powersim.records.brief import brief
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.plant import has_charging_alternator
from powersim.simulation.prepare import prepare
from powersim.simulation.verdict import Verdict

if TYPE_CHECKING:
    from powersim.simulation.prepared import Prepared

#: Members in which tables are judged, the first ones, and in which they are searched.
JUDGED_IN, SEARCHED_IN = 1000, 200
#: Charges to want at the next dawn: the highest, and how far they are apart. [-]
MOST_WANTED_SOC, _WANTED_STEP_SOC = 0.96, 0.03
#: Shortest runs that are tried, besides the boat's own. [h]
LEAST_RUNS_h = (1.0, 1.5, 2.0)
#: How many tables are judged, and how many steps higher one may be wanted that fails after all.
_JUDGED, _HIGHER = 3, 4
_SEARCHED = 0.4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PaperWay:
    """A table on paper, and how good it is.

    Attributes
    ----------
    passage : Passage
        As given.
    prepared : Prepared
        The same, prepared.
    limits : RuleLimits
        What has to be kept.
    table : PaperTable
        The cheapest that holds, or the one that fails least.
    judged : PolicyEvaluation
        What it comes to.
    verdict : Verdict
        How often it fails.
    own : PolicyEvaluation
        The boat's own rule in the same members.
    own_verdict : Verdict
        How often that fails.
    """

    passage: Passage
    prepared: Prepared
    limits: RuleLimits
    table: PaperTable
    judged: PolicyEvaluation
    verdict: Verdict
    own: PolicyEvaluation
    own_verdict: Verdict

    __repr__ = brief

    @property
    def passage_days(self) -> float:
        """How long the passage is. [days]"""
        track = self.prepared.track
        return track.n_steps * track.step_h / 24.0


def paper_way(
    passage: Passage,
    *,
    seed: int,
    risk_frac: float,
    step_h: float,
    judged_in: int = JUDGED_IN,
    searched_in: int = SEARCHED_IN,
    progress: Callable[[float], object] | None = None,
) -> PaperWay:
    """Search a table, and judge it.

    Parameters
    ----------
    passage : Passage
        Without an engine plan, of a boat whose engine charges.
    seed : int
        Of all members.
    risk_frac : float
        Share of the members in which a limit may be broken. [-]
    step_h : float
        Step of the simulation. [h]
    judged_in, searched_in : int
        Members of the judgement, and others of the search.
    progress : callable, optional
        Called now and then with the share of the work that is done.

    Raises
    ------
    ValueError
        If the engine has nothing to charge with, or there is an engine plan.
    BalanceError
        If any books do not close.
    """
    boat = passage.boat
    if not has_charging_alternator(boat):
        raise ValueError("there is no alternator that the engine could charge with")
    if passage.engine_plan is not None:
        raise ValueError("a passage with an engine plan has no table to search for")
    tell = progress or (lambda done_frac: None)
    prepared = prepare(passage, step_h=step_h)
    drawn = draw_ensemble(passage, prepared, members=judged_in + searched_in, seed=seed)
    judging, searching = drawn.between(0, judged_in), drawn.between(judged_in, drawn.members)
    limits = limits_from(boat, judging, risk_frac=risk_frac)
    from_h = limits.counted_from_h
    gains = gains_soc(searching, days_of(prepared, dawn_h(boat)))
    charging = charging_of(boat, prepared, gains)

    def made(wanted_soc: float, least_h: float) -> PaperTable:
        return paper_table(boat, prepared, charging, wanted_soc=wanted_soc, least_h=least_h)

    lowest_soc = least_start(boat) + _WANTED_STEP_SOC
    wanted = np.round(np.arange(lowest_soc, MOST_WANTED_SOC + 1e-9, _WANTED_STEP_SOC), 4)
    tried = [
        (float(soc), least_h) for least_h in _least_runs_h(boat.charging) for soc in wanted
    ] or [(MOST_WANTED_SOC, boat.charging.longest_h)]
    tables = list(dict.fromkeys(made(*one) for one in tried))
    found = by_paper(
        boat, searching, tables, counted_from_h=from_h, progress=lambda done: tell(_SEARCHED * done)
    )
    best = _few(found, limits)
    judged = list[tuple[PaperTable, PolicyEvaluation]]()
    for number, place in enumerate(best):
        table = tables[place]
        for _ in range(_HIGHER + 1):
            judged.append((table, by_paper(boat, judging, [table], counted_from_h=from_h)))
            higher_soc = table.wanted_soc + _WANTED_STEP_SOC
            if _surely_holds(judged[-1][1], limits) or higher_soc > MOST_WANTED_SOC:
                break
            table = made(higher_soc, table.least_h)
        tell(_SEARCHED + (0.95 - _SEARCHED) * (number + 1.0) / len(best))
    table, evaluation = min(judged, key=lambda one: _order(one[1], limits))
    own = evaluate_policies(boat, judging, [boat.charging], counted_from_h=from_h)
    tell(1.0)
    return PaperWay(
        passage=passage,
        prepared=prepared,
        limits=limits,
        table=table,
        judged=evaluation,
        verdict=verdict_on(evaluation, 0, limits, seed=seed),
        own=own,
        own_verdict=verdict_on(own, 0, limits, seed=seed),
    )


def _least_runs_h(rule: ChargingRule) -> tuple[float, ...]:
    """Shortest runs within the bounds of the boat's own rule. [h]"""
    fitting = tuple(h for h in LEAST_RUNS_h if rule.shortest_h <= h <= rule.longest_h)
    return fitting or (rule.longest_h,)


def _few(found: PolicyEvaluation, limits: RuleLimits) -> list[int]:
    """Places of the tables that are worth judging: the cheapest of those that fail seldom enough.

    Where none does, the one that fails least.
    """
    fails = failing(found, limits).any.sum(axis=1)
    cost_L = found.cost_L.mean(axis=1)
    holding = np.flatnonzero(holds(found, limits))
    if not len(holding):
        return [int(np.lexsort((cost_L, fails))[0])]
    return holding[np.argsort(cost_L[holding])][:_JUDGED].tolist()


def _surely_holds(judged: PolicyEvaluation, limits: RuleLimits) -> bool:
    told = verdict_on(judged, 0, limits, seed=None)
    return told.holds and told.sure


def _order(judged: PolicyEvaluation, limits: RuleLimits) -> tuple[bool, bool, float]:
    """One that surely holds first, then one that holds, then by costs or by how often it fails."""
    holding = bool(holds(judged, limits)[0])
    cost = float(judged.cost_L.mean() if holding else failing(judged, limits).any.mean())
    return not _surely_holds(judged, limits), not holding, cost
