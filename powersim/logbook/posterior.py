"""A log compared with its passage: the factors that explain it, and what bank and tank hold now."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from powersim.errors import Problem
from powersim.logbook.engine_so_far import (
    EngineSoFar,
    engine_as_planned,
    engine_from_log,
    side_by_side,
)
from powersim.logbook.estimate import Estimate
from powersim.logbook.fit import N_FACTORS, LogFit, factors_with_sky, fit
from powersim.logbook.hindcast import (
    History,
    hindcast_as_planned,
    hindcast_of,
    simulated,
    steps_until,
    with_sun,
)
from powersim.logbook.load_shares import LoadsFound, loads_found
from powersim.logbook.observations import Observation, observations_of
from powersim.logbook.priors import Priors, priors_of
from powersim.logbook.readings import CheckedLog
from powersim.logbook.sun_so_far import CountedDays, offered_of, sky_sd, sun_of
from powersim.records import Passage
from powersim.records.brief import brief
from powersim.records.units_aboard import aboard
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.factors import Factors
from powersim.simulation.prepare import prepare
from powersim.simulation.prepared import Prepared

if TYPE_CHECKING:
    from powersim.logbook.logger_evidence import LoggerEvidence

#: Step of the simulated past, which is run some fifty times. [h]
STEP_h = 0.5
#: Least members of the past: fewer draws are not enough for a line in six unknowns.
LEAST_DRAWS = 60
#: Members over which the past is averaged where one history stands for all.
_FEW = 12
#: A low reading that was not believed is told of for so long before the last entry. [h]
_LATELY_h = 48.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Now:
    """Draws of what bank and tank hold at the last entry, one for each member.

    Attributes
    ----------
    soc : ndarray, shape (members,)
        State of charge. [-]
    left_L : ndarray, shape (members,)
        Fuel in tank and cans, with the unusable. [L]
    factors : Factors
        Factors of arrays shaped (members,), drawn from the posterior.
    """

    soc: np.ndarray
    left_L: np.ndarray
    factors: Factors

    __repr__ = brief


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Posterior:
    """A log compared with its passage.

    Attributes
    ----------
    passage : Passage
        The whole passage, as planned.
    prepared : Prepared
        The same passage at the steps of the simulated past.
    log : CheckedLog
        The entries that do not contradict.
    left_out : tuple of Problem
        Readings that no factors explain together with all the others.
    reads_lower : bool
        Whether one of these, of the last two days, says that the bank holds less than all others
        do: then the bank may well be as low as that.
    observations : tuple of Observation
        The readings that count.
    until_h : float
        Time of the last entry since departure. [h]
    planned : History
        The plan so far: the boat's own rule in the mean sky.
    engine : EngineSoFar
        What the engine did in each member; the meter does not say how many of its hours were in
        gear.
    best : History
        The past with the best factors, as the mean over members.
    priors : Priors
        What was assumed of the factors before the log.
    estimate : Estimate
        What the log says of the factors.
    misfit : float
        How far readings of the worst source lie off what explains them best, as a multiple of how
        far they should. [-]
    now : Now
        What bank and tank hold at the last entry.
    bought_L : float
        Diesel taken aboard since departure. [L]
    late : int
        Figures of a logger that are later than the last entry of the log, and do not count.
    """

    passage: Passage
    prepared: Prepared
    log: CheckedLog
    left_out: tuple[Problem, ...]
    reads_lower: bool
    observations: tuple[Observation, ...]
    until_h: float
    planned: History
    engine: EngineSoFar
    best: History
    priors: Priors
    estimate: Estimate
    misfit: float
    now: Now
    bought_L: float
    late: int = 0

    __repr__ = brief

    @property
    def factors(self) -> Factors:
        """The best factors, as floats. [-]"""
        return Factors(*(float(one) for one in np.exp(self.estimate.log_factor)))

    @property
    def loads(self) -> LoadsFound:
        """What each load draws, given all of them together."""
        estimate = self.estimate
        return loads_found(
            self.priors.loads, log_factor=float(estimate.log_factor[0]), sd=float(estimate.sd[0])
        )

    @property
    def charging_h(self) -> float:
        """Mean of the hours for which the engine charged at rest so far. [h]"""
        return float(self.engine.charging.mean(axis=1).sum()) * self.prepared.track.step_h


def posterior_of(
    passage: Passage, log: CheckedLog, *, logger: LoggerEvidence | None = None, **how
) -> Posterior:
    """Find the factors that explain a log, and what bank and tank hold now.

    Parameters
    ----------
    passage : Passage
        The whole passage, as planned.
    log : CheckedLog
        A log with at least one reading.
    logger : LoggerEvidence, optional
        What a logger says; what is later than the last entry of the log does not count.
    **how
        As in `posteriors_of`.

    Raises
    ------
    ValueError
        If the log has no reading.
    """
    return posteriors_of(passage, [log], loggers=[logger], **how)[0]


def posteriors_of(
    passage: Passage,
    logs: Sequence[CheckedLog],
    *,
    members: int,
    seed: int,
    sounding: Callable | None = None,
    step_h: float = STEP_h,
    loggers: Sequence[LoggerEvidence | None] = (),
    trial: Mapping[str, tuple[float, float]] | None = None,
    progress: Callable | None = None,
) -> list[Posterior]:
    """The same for several logs of one passage, side by side and each as if it were alone.

    The logs end at about the same time. `members` is the number of draws from each posterior, and
    of members of the past if it is at least LEAST_DRAWS. `sounding(depth_m)` gives litres and their
    standard deviation. `loggers` has one for each log, or none at all. `trial` has loads that were
    measured, as in `loads_prior`. `progress` is called with the share of the work that is done.
    ValueError says that a log has no reading.
    """
    if not all(log.readings for log in logs):
        raise ValueError("a log without readings tells nothing")
    tell = progress or (lambda done_frac: None)
    prepared = _prepared_until(passage, max(log.readings[-1].at_h for log in logs), step_h)
    n_steps = max(steps_until(prepared, log.readings[-1].at_h) for log in logs)
    forcing = draw_ensemble(passage, prepared, members=max(members, LEAST_DRAWS), seed=seed)
    forcing = replace(forcing, factors=np.ones_like(forcing.factors))
    engines = _engines(passage, logs, forcing, n_steps)
    offered = offered_of(forcing, n_steps=n_steps)
    sun_frac = sun_of(offered)
    days = [CountedDays(log.readings, offered, step_h=step_h) for log in logs]
    priors = priors_of(passage, prepared, trial=trial)
    prior_sd = np.append(priors.array, sky_sd(sun_frac))
    prior_mean = np.append(np.array(priors.mean), 0.0)
    as_known = np.repeat(prior_mean[:, None], len(logs), axis=1)
    nominal = _mean_history(passage, forcing, engines, days, as_known, sun_frac)
    fits, besides = (
        [],
        [
            _until_now(one, log)
            for one, log in zip(loggers or [None] * len(logs), logs, strict=True)
        ],
    )
    for place, (log, engine) in enumerate(zip(logs, engines, strict=True)):
        own = nominal.chosen(slice(place, place + 1))
        volts, sums, _ = besides[place]
        found = observations_of(
            [*log.readings, *volts], passage, own, prepared, sounding=sounding, beside=sums
        )
        fits.append(
            LogFit(
                found,
                engine,
                passage,
                prior_sd=prior_sd,
                prior_mean=prior_mean,
                days=days[place],
            )
        )
    tell(0.2)
    nows = [
        Now(
            soc=soc[:members],
            left_L=left_L[:members],
            factors=Factors._make(np.asarray(one)[:members] for one in factors),
        )
        for soc, left_L, factors in fit(
            fits,
            forcing,
            passage,
            sun_frac=sun_frac,
            seed=seed,
            progress=lambda done_frac: tell(0.2 + 0.7 * done_frac),
        )
    ]
    log_factors = np.array([one.unknowns.log_factor for one in fits]).T
    best = _mean_history(passage, forcing, engines, days, log_factors, sun_frac)
    tell(1.0)
    as_planned = hindcast_as_planned(passage, prepared, n_steps=n_steps)
    planned = simulated(as_planned, Factors(*np.ones((N_FACTORS, 1))))
    filed_sd = priors_of(passage, prepared).array  # what was measured counts as told too
    return [
        Posterior(
            passage=passage,
            prepared=prepared,
            log=log,
            left_out=tuple(
                _slip(*slip, (*log.readings, *besides[place][0])) for slip in one.left_out
            ),
            reads_lower=any(
                observation.kind == "soc"
                and observation.value < expected
                and observation.at_h >= log.readings[-1].at_h - _LATELY_h
                for observation, expected in one.left_out
            ),
            observations=tuple(one.observations),
            until_h=log.readings[-1].at_h,
            planned=planned,
            engine=one.engine,
            best=best.chosen(slice(place, place + 1)),
            priors=priors,
            estimate=replace(one.estimate, prior_sd=filed_sd),
            misfit=one.misfit,
            now=now,
            bought_L=sum(each.entry.fuel_added_L or 0.0 for each in log.readings),
            late=besides[place][2],
        )
        for place, (log, one, now) in enumerate(zip(logs, fits, nows, strict=True))
    ]


def _until_now(logger, log):
    """Volts and sums of a logger until the last entry of the log, and how many come later."""
    if logger is None:
        return (), (), 0
    until_h = log.readings[-1].at_h
    volts, sums = (
        tuple(one for one in some if one.at_h <= until_h) for some in (logger.readings, logger.sums)
    )
    late = len(logger.readings) + len(logger.sums) - len(volts) - len(sums)
    return volts, sums, late


def _engines(passage, logs, forcing, n_steps):
    """What the engine did by each log, in each member."""
    prepared = forcing.prepared
    motoring = forcing.motoring(slice(0, n_steps))
    motoring = np.broadcast_to(motoring, (n_steps, forcing.members)).astype(float)
    planned = engine_as_planned(passage, prepared, n_steps=n_steps)
    return [
        engine_from_log(log.readings, passage, prepared, planned=planned, motoring=motoring)
        for log in logs
    ]


def _mean_history(passage, forcing, engines, days, unknowns, sun_frac) -> History:
    """The past with some factors and sun, for each log a mean over a few members."""
    few = slice(0, min(_FEW, forcing.members))
    hindcast = hindcast_of(
        forcing.chosen(np.tile(np.arange(few.stop), len(engines))),
        passage,
        side_by_side([one.chosen(few) for one in engines]),
    )
    x = np.repeat(unknowns, few.stop, axis=1)
    hindcast = with_sun(hindcast, np.hstack([one.weights[:, few] for one in days]))
    history = simulated(hindcast, factors_with_sky(x, np.tile(sun_frac[few], len(engines))))
    return history.mean(len(engines))


def _prepared_until(passage, until_h, step_h) -> Prepared:
    prepared = prepare(passage, step_h=step_h)
    late_h = until_h - prepared.track.n_steps * step_h
    return prepared if late_h <= 0.0 else prepare(passage, step_h=step_h, hold_h=late_h + 1.0)


def _slip(observation, expected, readings) -> Problem:
    """A reading that no factors explain, in the words of its file's reader; no logger has a pen."""
    shown = {
        "soc": lambda value: f"{100.0 * value:.0f} %",
        "litres": aboard().volume.text,
        **dict.fromkeys(("monitor_Ah", "solar_Ah", "loads_Ah", "net_Ah"), "{:.0f} Ah".format),
        "absorb_A": lambda value: f"{value:.0f} A",
    }[observation.kind]
    reason = f"says {shown(observation.value)}, which does not agree with the other readings"
    right = f"about {shown(expected)} by the others"
    for one in readings:
        entry = one.entry
        if (entry.file, entry.line) == (observation.file, observation.line) and entry.row:
            return entry.problem(observation.column, reason, f"{right}; is it a slip of the pen?")
    text = f"{observation.source}: {reason}"
    return Problem(file=observation.file, line=observation.line, text=text, expected=right)
