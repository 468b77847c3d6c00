"""What the commands answer about a passage, as records: days left, the budget, the rule, a dip."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any, Literal

from powersim.api.asked import passage_of, ready_of
from powersim.defaults import MEMBERS, PLAN_MEMBERS, RISK_FRAC, SEED, STEP_h

if TYPE_CHECKING:
    from powersim.planning.budget import Budget
    from powersim.planning.endurance_table import EnduranceTable
    from powersim.planning.ladder import Ladder
    from powersim.planning.paper import PaperWay
    from powersim.planning.plan import Plan
    from powersim.records import Passage
    from powersim.simulation.prepared_passage import PreparedPassage
    from powersim.simulation.result import SimulationResult

#: What stands for the moment at which losing all charging would hurt most.
_WORST: Literal["worst"] = "worst"


def endurance(
    passage: Passage | PreparedPassage[Any] | SimulationResult,
    *,
    from_date: str | datetime | None = None,
    from_h: float | Literal["worst"] = 0.0,
    without: Sequence[str] = (),
    beyond: bool = False,
    step_h: float = STEP_h,
    members: int = MEMBERS,
    seed: int = SEED,
    costs: bool = True,
    progress: Callable[[float], object] | None = None,
) -> EnduranceTable:
    """Days until the bank is at its floor, and until it is flat, with this or that lost.

    Parameters
    ----------
    passage : Passage, PreparedPassage or Result
        What has been prepared or simulated keeps its step.
    from_date : str or datetime, optional
        Count from this moment of the passage, such as "2026-09-12", or from the "worst".
    from_h : float or "worst"
        The same as hours after departure, where no date is given. [h]
    without : sequence of str
        What else is lost together, in one more line: names of failures, loads, or roles of loads.
    beyond : bool
        Do not stop at landfall: hold the boat where she arrives for 60 days.
    step_h : float
        Step of the simulation; a whole number of them makes an hour. [h]
    members : int
        In how many simulated passages each line is told; 1 is average weather.
    seed : int
        Which ones: one seed draws the same on any machine.
    costs : bool
        Whether to tell what each load costs and how long the diesel lasts too; the lines alone
        take half of the time.
    progress : callable, optional
        Called now and then with the share of the work that is done.

    Returns
    -------
    EnduranceTable
        Of floats in average weather, else of arrays shaped (members,).

    Raises
    ------
    ValueError
        If from_h lies before departure or not before landfall, or members is below 1.
    InputError
        If from_date does not lie within the passage, or `without` names what is not aboard.
    """
    from powersim.planning.endurance import endurance as endurance_of

    ready = ready_of(passage, step_h=step_h)
    return endurance_of(
        ready,
        from_h=from_h if from_date is None else _from_h(from_date, ready),
        members=members,
        seed=seed,
        without=without,
        beyond=beyond,
        costs=costs,
        progress=progress,
    )


def ladder(
    passage: Passage | PreparedPassage[Any] | SimulationResult,
    *,
    from_date: str | datetime | None = None,
    from_h: float | Literal["worst"] = 0.0,
    without: Sequence[str] | None = None,
    step_h: float = STEP_h,
    members: int = MEMBERS,
    seed: int = SEED,
    risk_frac: float = RISK_FRAC,
    progress: Callable[[float], object] | None = None,
) -> Ladder:
    """What to give up at sea, in which order, and at which charge.

    Parameters
    ----------
    passage : Passage, PreparedPassage or Result
        What has been prepared or simulated keeps its step.
    from_date : str or datetime, optional
        When something is lost, such as "2026-09-16" or "day 12", or at the "worst" moment.
    from_h : float or "worst"
        The same as hours after departure, where no date is given. [h]
    without : sequence of str, optional
        What is lost together then: names of failures, loads, or roles of loads; "nothing" for
        nothing. The engine of a boat that has one, if left out.
    step_h : float
        Step of the simulation; a whole number of them makes an hour. [h]
    members : int
        In how many simulated passages the ladder is tried; it is found in others.
    seed : int
        Which ones: one seed draws the same on any machine.
    risk_frac : float
        Share of the simulated passages that may go dark, or below the floor. [-]
    progress : callable, optional
        Called now and then with the share of the work that is done.

    Returns
    -------
    Ladder
        `.holds` tells whether everything protected and essential stays on by it.

    Raises
    ------
    ValueError
        If from_h lies before departure or not before landfall.
    InputError
        If from_date does not lie within the passage, or `without` names what is not aboard.
    """
    from powersim.planning.ladder import ladder as ladder_of

    ready = ready_of(passage, step_h=step_h)
    return ladder_of(
        ready,
        from_h=from_h if from_date is None else _from_h(from_date, ready),
        without=without,
        members=members,
        seed=seed,
        risk_frac=risk_frac,
        progress=progress,
    )


def _from_h(
    from_date: str | datetime, ready: PreparedPassage[Any] | SimulationResult
) -> float | Literal["worst"]:
    """Hours after departure, or the word for the worst moment."""
    from powersim.inputs.moments import moment_of

    if isinstance(from_date, str) and from_date.strip().casefold() == _WORST:
        return _WORST
    depart_utc, arrival_h = ready.passage.depart_utc, ready.prepared.track.arrival_h
    moment = moment_of(from_date, ready.passage, arrival_h=arrival_h, option="from", also=_WORST)
    return (moment - depart_utc).total_seconds() / 3600.0


def budget(
    passage: Passage | PreparedPassage[Any] | SimulationResult,
    *,
    dates: Sequence[str | datetime] = (),
) -> Budget:
    """What each load takes from the bank in a day, in Ah and Wh.

    Parameters
    ----------
    passage : Passage, PreparedPassage or Result
        What has been prepared or simulated keeps its step.
    dates : sequence of str or datetime
        Days of the passage, such as "2026-09-12"; days along the route if left out.

    Returns
    -------
    Budget
        Days of the passage, and a whole day in each state of the boat.

    Raises
    ------
    InputError
        If a date cannot be read or does not lie within the passage.
    """
    from powersim.inputs.moments import moment_of
    from powersim.planning.budget import budget_of

    ready = ready_of(passage, step_h=STEP_h)
    arrival_h = ready.prepared.track.arrival_h
    moments = [moment_of(each, ready.passage, arrival_h=arrival_h, option="date") for each in dates]
    return budget_of(
        ready.passage,
        ready.prepared,
        dates_utc_s=[moment.timestamp() for moment in moments],
    )


def paper(
    passage: Passage | PreparedPassage[Any] | SimulationResult,
    *,
    members: int = 1000,
    step_h: float = STEP_h,
    seed: int = SEED,
    risk_frac: float = RISK_FRAC,
    progress: Callable[[float], object] | None = None,
) -> PaperWay:
    """A table to charge by without a computer, and how good it is.

    Parameters
    ----------
    passage : Passage, PreparedPassage or Result
        Without an engine plan, of a boat whose engine charges.
    members : int
        In how many simulated passages the table is judged; it is searched in 200 others.
    step_h : float
        Step of the simulation. [h]
    seed : int
        Which weather.
    risk_frac : float
        Share of the simulated passages that may fail. [-]
    progress : callable, optional
        Called now and then with the share of the work that is done.

    Returns
    -------
    PaperWay
        The table, its verdict, and the boat's own rule beside it.

    Raises
    ------
    ValueError
        If the engine has nothing to charge with, or there is an engine plan.
    InputError
        If a weather file of the passage does not cover the boat and may not be left out.
    BalanceError
        If any books do not close.
    """
    from powersim.planning.paper import paper_way

    return paper_way(
        passage_of(passage),
        seed=seed,
        risk_frac=risk_frac,
        step_h=step_h,
        judged_in=members,
        progress=progress,
    )


def plan(
    passage: Passage | PreparedPassage[Any] | SimulationResult,
    *,
    step_h: float = STEP_h,
    members: int = PLAN_MEMBERS,
    seed: int = SEED,
    risk_frac: float = RISK_FRAC,
    progress: Callable[[float], object] | None = None,
) -> Plan:
    """When to run the engine: a rule to follow with the computer off.

    Parameters
    ----------
    passage : Passage, PreparedPassage or Result
        Without an engine plan: the rule is what is asked for.
    step_h : float
        Step of the simulation; a whole number of them makes an hour. [h]
    members : int
        Simulated passages that the rule is searched in; it is tried in 1000 others.
    seed : int
        Which ones: one seed draws the same on any machine.
    risk_frac : float
        Share of the simulated passages in which a limit may be broken. [-]
    progress : callable, optional
        Called now and then with the share of the work that is done.

    Returns
    -------
    Plan
        `.rule` can be followed, whether or not it holds: `.found.holds` tells that.

    Raises
    ------
    ValueError
        If the passage has an engine plan.
    InputError
        If a weather file of the passage does not cover the boat and may not be left out.
    """
    from powersim.planning.plan import plan as plan_of

    return plan_of(
        passage_of(passage),
        members=members,
        seed=seed,
        risk_frac=risk_frac,
        step_h=step_h,
        progress=progress,
    )
