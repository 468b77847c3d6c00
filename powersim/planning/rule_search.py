"""The search for the charging rule of least diesel that keeps the limits in enough weathers.

Every trial is the real simulation. For each kind of rule the lowest start that is safe is sought,
at first in a few weathers, then for the best kinds and their kin in all of them (narrowing.py). The
levels of the best are rounded to whole per cent and judged in weathers that the search has not seen
(judging.py): a rule that is chosen among many looks better than it is in those that it was chosen
by. Which is the best, and the least bad where none holds, is rule_ranking.py's word.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import NamedTuple

from powersim.planning.bench import Bench
from powersim.planning.first_day import counted_from_h
from powersim.planning.judging import judged, needs_no_engine
from powersim.planning.narrowing import families, passages_about
from powersim.planning.rule_candidates import never
from powersim.planning.rule_limits import Limits, limits_of, worst_frac
from powersim.planning.rule_ranking import in_order
from powersim.planning.trials import Tried
from powersim.records import ChargingRule
from powersim.simulation.plant import has_charging_alternator
from powersim.simulation.prepare import prepare
from powersim.simulation.weathers import Weathers, weathers_of

#: Shortest step that is searched at: rules are judged at the step that is asked for. [h]
SEARCH_STEP_h = 0.5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Found:
    """The rule that the search returns.

    Attributes
    ----------
    rule : ChargingRule
        Levels in whole per cent.
    judged : Tried
        The rule alone, in weathers that the search has not seen.
    worst_frac : float
        Share of those in which it fails. [-]
    holds : bool
        Whether that is within the risk. If not, no rule that was tried holds, and this one is the
        least bad.
    rules_tried : int
        How many the search has tried.
    """

    rule: ChargingRule
    judged: Tried
    worst_frac: float
    holds: bool
    rules_tried: int


class Searched(NamedTuple):
    """A search, and what it was made in: all weathers, and those of them that it was judged in."""

    limits: Limits
    weathers: Weathers
    judging: Weathers
    found: Found


def search_for(
    passage,
    prepared,
    *,
    members: int,
    judges: int,
    seed: int,
    risk_frac: float,
    progress: Callable | None = None,
) -> Searched:
    """Draw weathers for a passage, search its rule in the first, and judge it in the others.

    Parameters
    ----------
    passage : Passage
    prepared : Prepared
        The same in the mean sky.
    members, judges : int
        Weathers to search in, and others to judge in.
    seed : int
        Which weathers.
    risk_frac : float
        Share of the weathers in which a limit may be broken. [-]
    progress : callable, optional
        Called now and then with the share that is done.

    Returns
    -------
    Searched
    """
    weathers = weathers_of(passage, prepared, members=members + judges, seed=seed)
    judging = weathers.between(members, members + judges)
    limits = limits_from(passage.boat, judging, risk_frac=risk_frac)
    if prepared.track.step_h < SEARCH_STEP_h:
        coarser = prepare(passage, step_h=SEARCH_STEP_h)
        few = weathers_of(passage, coarser, members=members, seed=seed)
    else:
        few = weathers.between(0, members)
    found = search(passage.boat, few, judging, limits, progress=progress)
    return Searched(limits, weathers, judging, found)


def limits_from(boat, weathers, *, risk_frac: float) -> Limits:
    """The limits that a boat's files set, and from when on the floor counts in some weathers.

    Parameters
    ----------
    boat : Boat
    weathers : Weathers or WeathersAboard
        That rules are judged in.
    risk_frac : float
        Share of the weathers in which a limit may be broken. [-]

    Returns
    -------
    Limits
    """
    limits = limits_of(boat, risk_frac=risk_frac)
    return replace(limits, counted_from_h=counted_from_h(boat, weathers, limits))


def search(boat, weathers, judges, limits: Limits, *, progress: Callable | None = None) -> Found:
    """The rule of least expected diesel that keeps the limits; the least bad if none does.

    Parameters
    ----------
    boat : Boat
        Her charging rule says in which hours the engine may run, how short and how long, and how
        often the bank must be full. Where nothing holds it is judged too.
    weathers : Weathers
        To search in.
    judges : Weathers
        Other weathers of the same passage, to judge in.
    limits : Limits
    progress : callable, optional
        Called now and then with the share that is done.

    Returns
    -------
    Found
    """
    tell = progress or (lambda done_frac: None)
    done, track = 0.0, judges.prepared.track
    expected = passages_about(boat, track, members=weathers.members) + 4 * judges.members

    def count(passages):
        nonlocal done
        done += passages
        tell(min(done / expected, 0.99))

    bench = Bench(boat, judges, limits, progress=count)
    searched = Bench(boat, weathers, limits, progress=count)
    if not has_charging_alternator(boat) or needs_no_engine(bench):
        tried = bench.tried([never(boat)])
    else:
        tried = judged(bench, families(searched, track))
    tell(1.0)
    return _found(tried, limits, rules_tried=searched.rules_tried + bench.rules_tried)


def _found(tried: Tried, limits: Limits, *, rules_tried: int) -> Found:
    """What the judged rules come to."""
    (place,) = in_order(tried, limits, count=1)
    frac = float(worst_frac(tried, limits)[place])
    return Found(
        rule=tried.rules[place],
        judged=tried.only(place),
        worst_frac=frac,
        holds=frac <= limits.risk_frac,
        rules_tried=rules_tried,
    )
