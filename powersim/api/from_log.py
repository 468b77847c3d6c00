"""The log of a passage against the plan, and what comes of the rest of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from os import PathLike
from typing import TYPE_CHECKING, Any

from powersim.api.asked import passage_of
from powersim.api.beside import Beside, beside_of
from powersim.api.log_read import Sounding, checked_log, log_is_there, read_for
from powersim.defaults import MEMBERS, RISK_FRAC, SEED, UNDERWAY_MEMBERS, STEP_h
from powersim.errors import InputError, Problem
from powersim.records.brief import brief

if TYPE_CHECKING:
    from powersim.api.from_logger import Logged
    from powersim.logbook.days_before import DaysBefore
    from powersim.logbook.forecast import PassageForecast
    from powersim.logbook.posterior import Now, Posterior
    from powersim.logbook.readings import CheckedLog
    from powersim.logbook.trial import SeaTrial
    from powersim.planning.ladder import Ladder
    from powersim.planning.new_rule import NewRule
    from powersim.planning.sessions_left import SessionTable
    from powersim.records import Forecast, Passage
    from powersim.simulation.prepared_passage import PreparedPassage
    from powersim.simulation.result import SimulationResult

#: Share of the whole work that is done with the posterior, the forecast, and the ladder. [-]
_POSTERIOR, _FORECAST, _LADDER = 0.35, 0.45, 0.60


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Underway:
    """What a log shows, and what comes of it.

    Attributes
    ----------
    log : CheckedLog
        Its readings, and what was set aside of it.
    posterior : Posterior
        What explains it, and what bank and tank hold now.
    forecast : PassageForecast or None
        The rest of the passage; None where she has arrived.
    new_rule : NewRule or None
        For what is left of the passage; None where none was searched.
    sessions : SessionTable or None
        What a message costs, and how many today's bank has in it; None where she has arrived.
    ladder : Ladder or None
        What to give up if the engine were lost now; None where it was not searched, and where a
        port is near (planning.ports).
    beside : Beside
        A sea trial and a logger's series, where there are such.
    before : DaysBefore or None
        What a log that was kept before leaving is taken for; None for any other.
    """

    log: CheckedLog
    posterior: Posterior
    forecast: PassageForecast | None = None
    new_rule: NewRule | None = None
    sessions: SessionTable | None = None
    ladder: Ladder | None = None
    beside: Beside = field(default_factory=Beside)
    before: DaysBefore | None = None

    __repr__ = brief


def underway(
    passage: Passage | PreparedPassage[Any] | SimulationResult,
    *,
    log: str | PathLike[str] | None = None,
    lines: Sequence[str] = (),
    trial: str | PathLike[str] | SeaTrial | None = None,
    logger: str | PathLike[str] | Logged | None = None,
    logger_columns: Mapping[str, str] | None = None,
    logger_clock: float | str = 0.0,
    now: str | datetime | None = None,
    forecast: str | PathLike[str] | None = None,
    no_plan: bool = False,
    step_h: float = STEP_h,
    members: int = UNDERWAY_MEMBERS,
    seed: int = SEED,
    risk_frac: float = RISK_FRAC,
    progress: Callable[[float], object] | None = None,
) -> Underway:
    """Compare the log with the plan, and simulate the rest of the passage from the last fix.

    Parameters
    ----------
    passage : Passage, PreparedPassage or Result
        As it was planned.
    log : str or path, optional
        The log; log.csv in the passage's folder if left out. It is never written to. Where there is
        none, the dawns of a logger's series will do.
    lines : sequence of str
        Entries as lines of a short message (docs/reference/log-line.md), beside those of the log,
        which there need not be then.
    trial : str, path or SeaTrial, optional
        Readings taken as loads were switched; trial.csv in the folder if left out, where it is
        there.
    logger : str, path or Logged, optional
        Volts and amperes of a logger; logger.csv in the folder if left out, where it is there.
    logger_columns : mapping of str to str, optional
        "time", "voltage", "current" and so on to the logger's headings, where they do not tell.
    logger_clock : float or str
        How far the logger's clock is ahead of UTC; or "ship". [h]
    now : str or datetime, optional
        Taken for now, where the computer's clock is wrong, such as "2026-09-15 12:00".
    forecast : str or path, optional
        A GRIB file, which counts from now on; the passage's own if left out.
    no_plan : bool
        Search no new rule, which takes half of the time.
    step_h : float
        Step of the simulation; a whole number of them makes an hour. [h]
    members : int
        Simulated passages.
    seed : int
        Which ones: one seed draws the same on any machine.
    risk_frac : float
        Share of the simulated passages in which a limit of the new rule may be broken. [-]
    progress : callable, optional
        Called now and then with the share of the work that is done.

    Returns
    -------
    Underway
        With the log as it was read, what it says, and what is to come.

    Raises
    ------
    InputError
        If no entry of the log can be used, a trial or a logger's file that is named cannot be read,
        or a weather file cannot be read or does not cover the boat and may not be left out.
    ValueError
        If no log is named and the passage was not read from a folder.
    """
    from powersim.logbook.days_before import days_before

    planned = passage_of(passage)
    told: dict[str, Any] = {
        "trial": trial,
        "logger_columns": logger_columns,
        "logger_clock": logger_clock,
        "now": now,
    }
    kept = None
    if log is None and not lines and not log_is_there(planned):
        beside = beside_of(planned, logger=logger, **told)
        kept = None if beside.logged is None else beside.logged.as_log
    if kept is None:
        kept = read_for(planned, log, lines)
    before = days_before(planned, kept)
    planned = planned if before is None else before.passage
    beside = beside_of(planned, logger=logger, **told)
    file, left_out = _forecast_of(planned, forecast)
    checked, sounding = checked_log(planned, log=kept, now=now)
    beside = _as_metered(beside, checked, planned)
    found = _answer(
        planned,
        checked,
        beside,
        sounding=sounding,
        forecast=file,
        left_out=left_out,
        no_plan=no_plan,
        step_h=step_h,
        members=members,
        seed=seed,
        risk_frac=risk_frac,
        tell=progress or (lambda done_frac: None),
    )
    return replace(found, beside=beside, before=before)


def _as_metered(beside: Beside, log: CheckedLog, passage: Passage) -> Beside:
    """Of a logger, what the bank gained only where the log has for how long the engine ran."""
    metered = sum(one.entry.engine_h is not None for one in log.readings)
    if beside.logged is None or passage.boat.engine is None or metered > 1:
        return beside
    kept = beside.logged.evidence.of_loads_and_sun()
    return replace(beside, logged=replace(beside.logged, evidence=kept))


def _forecast_of(
    passage: Passage, file: str | PathLike[str] | None
) -> tuple[Forecast | None, tuple[Problem, ...]]:
    """The forecast that counts from now on, and why another one is left out."""
    if file is None:
        return passage.forecast, passage.left_out
    from powersim.inputs.grib import read_forecast

    try:
        return read_forecast(file), passage.left_out
    except InputError as error:
        if not passage.or_climatology:
            raise InputError(error.problems, or_climatology=True) from None
        return None, (*passage.left_out, *error.problems)


def _answer(
    passage: Passage,
    log: CheckedLog,
    beside: Beside,
    *,
    sounding: Sounding | None,
    forecast: Forecast | None,
    left_out: tuple[Problem, ...],
    no_plan: bool,
    step_h: float,
    members: int,
    seed: int,
    risk_frac: float,
    tell: Callable[[float], object],
) -> Underway:
    """What explains the log, the rest of the passage, and the new rule; None for what is not."""
    from powersim.logbook.forecast import forecast_forcing, forecast_of, rest_of
    from powersim.logbook.posterior import posterior_of
    from powersim.logbook.trial_day import factors_of
    from powersim.planning.new_rule import SEARCHED, new_rule
    from powersim.planning.rule_search import SEARCH_STEP_h
    from powersim.planning.sessions_ahead import sessions_ahead
    from powersim.simulation.plant import has_charging_alternator

    searches = not no_plan and has_charging_alternator(passage.boat)

    def part(first: float, last: float) -> Callable[[float], object]:
        whole = 1.0 if searches else _FORECAST if no_plan else _LADDER
        return lambda done_frac: tell((first + (last - first) * done_frac) / whole)

    posterior = posterior_of(
        passage,
        log,
        members=members,
        seed=seed,
        sounding=sounding,
        logger=None if beside.logged is None else beside.logged.evidence,
        trial=None if beside.trial is None else factors_of(beside.trial),
        progress=part(0.0, _POSTERIOR),
    )
    if rest_of(posterior) is None:
        return Underway(log=log, posterior=posterior)
    to_come = forecast_of(
        posterior,
        seed=seed,
        step_h=step_h,
        forecast=forecast,
        left_out=left_out,
        progress=part(_POSTERIOR, _FORECAST),
    )
    ahead = Underway(
        log=log, posterior=posterior, forecast=to_come, sessions=sessions_ahead(to_come.forcing)
    )
    if not no_plan and not _port_is_near(to_come):
        given_up = ladder_now(
            to_come.passage,
            posterior.now,
            lost=("engine",) if passage.boat.engine is not None else (),
            members=min(members, MEMBERS),
            seed=seed,
            step_h=step_h,
            risk_frac=risk_frac,
            tell=part(_FORECAST, _LADDER),
        )
        ahead = replace(ahead, ladder=given_up)
    if not searches:
        return ahead
    forcing = forecast_forcing(
        to_come.passage,
        posterior.now,
        members=min(SEARCHED, members),
        first=members,
        seed=seed,
        step_h=max(step_h, SEARCH_STEP_h),
    )
    rule = new_rule(
        to_come.passage,
        forcing,
        to_come.forcing,
        risk_frac=risk_frac,
        progress=part(_LADDER, 1.0),
    )
    return replace(ahead, new_rule=rule)


def _port_is_near(to_come: PassageForecast) -> bool:
    from powersim.planning.ports import NEAR_DAYS, next_port

    return next_port(to_come.prepared.track, first=0).days <= NEAR_DAYS


def ladder_now(
    rest: Passage,
    now: Now,
    *,
    lost: Sequence[str],
    members: int,
    seed: int,
    step_h: float,
    risk_frac: float,
    tell: Callable[[float], object],
) -> Ladder:
    """What to give up for the rest of a passage if something were lost now.

    Parameters
    ----------
    rest : Passage
        As a forecast has it.
    now : Now
        What bank and tank hold.
    lost : sequence of str
        What that is, as for `ladder`; none for nothing.
    members, seed : int
        As for `underway`.
    step_h : float
        As for `underway`. [h]
    risk_frac : float
        As for `underway`. [-]
    tell : callable
        Called with the share of the work that is done.

    Returns
    -------
    Ladder
        From the last entry of the log on.
    """
    from powersim.logbook.forecast import forecast_forcing
    from powersim.planning.cases import lost_together
    from powersim.planning.ladder import ladder_aboard
    from powersim.planning.ladder_search import SEARCH_MEMBERS, SEARCH_STEP_h
    from powersim.simulation.prepare import prepare

    case = lost_together(lost, rest, prepare(rest, step_h=SEARCH_STEP_h))
    told, others = (
        forecast_forcing(case.passage, now, members=count, first=first, seed=seed, step_h=length_h)
        for count, first, length_h in (
            (members, 0, step_h),
            (SEARCH_MEMBERS, members, max(step_h, SEARCH_STEP_h)),
        )
    )
    return ladder_aboard(case, told, others, risk_frac=risk_frac, progress=tell)
