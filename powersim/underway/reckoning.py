"""A log held against the passage: what is really going on, and what bank and tank hold now."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from powersim.errors import Problem
from powersim.simulation.ensemble import blocks
from powersim.simulation.factors import Factors
from powersim.simulation.prepare import Prepared, prepare
from powersim.simulation.weathers import weathers_of
from powersim.sky import streams
from powersim.underway.contradictions import CheckedLog
from powersim.underway.doubt import (
    ABOARD_SD,
    OTHER_BURN_SD,
    covariance,
    fuel_covariance,
    reading_covariance,
    weather_anomalies,
)
from powersim.underway.estimate import Estimate, estimated, whitening
from powersim.underway.observations import Observation, observations_of, predicted
from powersim.underway.past import (
    History,
    Past,
    engine_from_log,
    engine_laid_into,
    past_of,
    simulated,
    steps_until,
)
from powersim.underway.priors import Priors, priors_of

#: Step of the past's simulation: the same run is made some fifty times over. [h]
STEP_h = 0.5
#: A reading so many standard deviations off what all others say is left out as a slip.
FARTHEST_SD = 4.0
_MOST_LEFT_OUT = 10


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Now:
    """What bank and tank hold at the last entry, in as many draws as weathers were tried.

    Attributes
    ----------
    soc : ndarray, shape (members,)
        [-]
    left_L : ndarray, shape (members,)
        In tank and cans, the unusable included. [L]
    factors : Factors
        Of arrays shaped (members,), drawn from what the log leaves open.
    """

    soc: np.ndarray
    left_L: np.ndarray
    factors: Factors


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reckoned:
    """A log held against its passage.

    Attributes
    ----------
    passage : Passage
    prepared : Prepared
        At the steps of the reckoning.
    log : CheckedLog
    left_out : tuple of Problem
        Readings that no factors explain beside all the others.
    observations : tuple of Observation
        What counted.
    until_h : float
        Of the last entry, after departure. [h]
    planned : History
        The plan so far: the boat's own rule in the mean sky.
    past : Past
    best : History
        The past with the best factors.
    priors : Priors
    estimate : Estimate
        Of one log.
    now : Now
    bought_L : float
        Diesel taken aboard since departure. [L]
    """

    passage: object
    prepared: Prepared
    log: CheckedLog
    left_out: tuple[Problem, ...]
    observations: tuple[Observation, ...]
    until_h: float
    planned: History
    past: Past
    best: History
    priors: Priors
    estimate: Estimate
    now: Now
    bought_L: float

    @property
    def factors(self) -> Factors:
        """The best factors, as floats."""
        return Factors(*(float(one) for one in np.exp(self.estimate.log_factor[:, 0])))


def reckon(passage, log: CheckedLog, *, members, seed, sounding=None, progress=None) -> Reckoned:
    """Find the factors that explain a log, and what bank and tank hold now.

    Parameters
    ----------
    passage : Passage
    log : CheckedLog
        With a reading or more.
    members : int
        Weathers that the past is tried in, and draws of what the log leaves open.
    seed : int
    sounding : callable, optional
        sounding(depth_m) gives litres and their standard deviation.
    progress : callable, optional
        Called with the share of the work that is done.

    Returns
    -------
    Reckoned

    Raises
    ------
    ValueError
        If the log has no reading.
    """
    if not log.readings:
        raise ValueError("a log without readings tells nothing")
    tell = progress or (lambda done_frac: None)
    until_h = log.readings[-1].at_h
    prepared = _prepared_until(passage, until_h)
    n_steps = steps_until(prepared, until_h)
    engine = engine_from_log(log.readings, passage, prepared, n_steps=n_steps)
    past = past_of(passage, prepared, engine)
    nominal = simulated(past, Factors(*np.ones((5, 1))))
    found = observations_of(log.readings, passage, nominal, prepared, sounding=sounding)
    tell(0.1)
    weathers = weathers_of(passage, prepared, members=members, seed=seed)
    weathers = replace(weathers, factors=np.ones_like(weathers.factors))
    in_weathers = simulated(
        past,
        Factors(*np.ones((5, members))),
        signals_in_blocks=_laid_in(weathers, engine, n_steps),
    )
    tell(0.5)
    priors = priors_of(passage, prepared)
    kept, left_out = list(found), []
    while True:
        fit = _Fit(passage, past, nominal, in_weathers, kept, priors)
        worst = fit.worst()
        if worst is None or len(left_out) >= _MOST_LEFT_OUT:
            break
        left_out.append(_slip(kept[worst], fit.expected(worst), log))
        del kept[worst]
    tell(0.8)
    now = fit.now(seed=seed, members=members)
    best = simulated(past, Factors(*np.exp(fit.estimate.log_factor)))
    tell(1.0)
    return Reckoned(
        passage=passage,
        prepared=prepared,
        log=log,
        left_out=tuple(left_out),
        observations=tuple(kept),
        until_h=until_h,
        planned=_plan_so_far(passage, prepared, n_steps),
        past=past,
        best=best,
        priors=priors,
        estimate=fit.estimate,
        now=now,
        bought_L=sum(one.entry.fuel_added_L or 0.0 for one in log.readings),
    )


def _prepared_until(passage, until_h) -> Prepared:
    prepared = prepare(passage, step_h=STEP_h)
    late_h = until_h - prepared.track.n_steps * STEP_h
    return prepared if late_h <= 0.0 else prepare(passage, step_h=STEP_h, hold_h=late_h + 1.0)


def _laid_in(weathers, engine, n_steps):
    """The signals of the weathers until now, block by block, with the engine as it was."""
    for steps in blocks(n_steps, step_h=STEP_h):
        yield engine_laid_into(weathers.signals(steps), engine, steps.start)


def _plan_so_far(passage, prepared, n_steps) -> History:
    """The plan's own rule in the mean sky."""
    past = Past(
        signals=prepared.signals.between(0, n_steps),
        plant=prepared.plant,
        soc_start=passage.boat.battery.soc_at_departure,
        engine=None,
    )
    return simulated(past, Factors(*np.ones((5, 1))))


class _Fit:
    """One fit of all factors to some observations."""

    def __init__(self, passage, past, nominal, in_weathers, observations, priors):
        self.past, self.observations, self.priors = past, observations, priors
        self.passage, self.nominal = passage, nominal
        self.values = np.array([[one.value] for one in observations]).reshape(-1, 1)
        said = predicted(nominal, observations, passage)
        self.offset, self.anomalies = weather_anomalies(
            predicted(in_weathers, observations, passage), said
        )
        self.soc_anomalies = weather_anomalies(in_weathers.soc[-1:], nominal.soc[-1:])
        self.readings = reading_covariance(observations)
        self.total = (
            self.readings
            + fuel_covariance(observations, nominal, passage)
            + covariance(self.anomalies)
        )
        self.estimate = estimated(
            lambda factors: predicted(simulated(past, factors), observations, passage),
            self.values - self.offset,
            white=whitening(self.total)[None],
            prior_sd=priors.array,
        )

    def expected(self, place) -> float:
        """What one reading should have said."""
        return float(self.estimate.said[place, 0] + self.offset[place, 0])

    def worst(self):
        """The reading that lies too far off what all the others say; None if none does."""
        if len(self.observations) < 3:
            return None
        # What each reading should be from all the others, by the inverse of their covariance.
        slopes = self.estimate.jacobian[0]
        whole = self.total + slopes @ np.diag(self.priors.array**2) @ slopes.T
        inverse = np.linalg.inv(whole)
        off = self.values[:, 0] - self.offset[:, 0] - self.estimate.said[:, 0]
        off += slopes @ self.estimate.log_factor[:, 0]
        apart = np.abs(inverse @ off) / np.sqrt(np.diag(inverse))
        worst = int(apart.argmax())
        return worst if apart[worst] > FARTHEST_SD else None

    def now(self, *, seed, members) -> Now:
        """Draws of factors, charge and litres, given all that the log says.

        A draw that the readings do not bear out is moved to where it would agree with them
        (Matheron's rule): what the covariances say of charge and litres, given the readings.
        """
        count, k = len(self.priors.array), len(self.observations)
        z = streams.normal(
            streams.UNDERWAY, seed=seed, index=0, members=members, per_member=count + k + 2
        )
        root = np.linalg.cholesky(self.estimate.covariance[0])
        apart = root @ z[:count]
        factors = Factors(*np.exp(self.estimate.log_factor + apart))
        history = simulated(self.past, factors)
        fuel = self.passage.boat.fuel
        aboard_L = fuel.aboard_L if fuel else 0.0
        at_h = np.array([one.at_h for one in self.observations])
        dips = np.array([one.kind == "litres" for one in self.observations])
        luck = self.anomalies + dips[:, None] * (
            ABOARD_SD * aboard_L * z[-1] - OTHER_BURN_SD * self.nominal.at("other_L", at_h) * z[-2]
            if k
            else 0.0
        )
        left_luck_L = (
            ABOARD_SD * aboard_L * z[-1] - OTHER_BURN_SD * self.nominal.other_L[-1] * z[-2]
        )
        offset, soc_luck = self.soc_anomalies
        soc = history.soc[-1] + offset[0] + soc_luck[0]
        left_L = aboard_L - history.charging_L[-1] - history.other_L[-1] + left_luck_L
        if k:
            errors = np.linalg.cholesky(self.readings) @ z[count:-2]
            said = self.estimate.said + self.estimate.jacobian[0] @ apart
            off = self.values - self.offset - said - luck - errors
            pull = np.linalg.solve(self.total, off)
            soc = soc + (_across(soc_luck, self.anomalies) @ pull)[0]
            left_L = left_L + (_across(left_luck_L[None], luck * dips[:, None]) @ pull)[0]
        # Straight lines do not know that a bank cannot be fuller than full.
        return Now(soc=np.clip(soc, 0.0, 1.0), left_L=np.maximum(left_L, 0.0), factors=factors)


def _across(some, others):
    """Covariance of two sets of anomalies over their members."""
    return some @ others.T / max(some.shape[1] - 1, 1)


def _slip(observation, expected, log) -> Problem:
    """A reading that no factors explain, as the log's reader names things."""
    entry = next(one.entry for one in log.readings if one.entry.line == observation.line)
    shown = {
        "soc": lambda value: f"{100.0 * value:.0f} %",
        "litres": lambda value: f"{value:.0f} L",
        "solar_Ah": lambda value: f"{value:.0f} Ah",
    }[observation.kind]
    return entry.problem(
        observation.column,
        f"tells of {shown(observation.value)}, which does not go with all the other readings",
        f"about {shown(expected)} by those; is it a slip of the pen?",
    )
