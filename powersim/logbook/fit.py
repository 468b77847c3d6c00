"""Factors fitted to what logs say, weather and engine hours being as uncertain as they are.

Logs are looked at side by side: their draws are members of the same runs of the kernel, one log
after the other, and for each log one weather after the other.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from powersim.logbook.engine_so_far import side_by_side
from powersim.logbook.estimate import (
    Estimate,
    FittedLine,
    bayesian_regression,
    line_through,
    moment_matched,
)
from powersim.logbook.hindcast import hindcast_of, simulated
from powersim.logbook.observations import predicted
from powersim.logbook.priors import WIDEST
from powersim.logbook.reading_errors import (
    ABOARD_SD,
    OTHER_BURN_SD,
    fuel_covariance,
    reading_covariance,
)
from powersim.records import Passage
from powersim.simulation.factors import Factors
from powersim.sky import streams

if TYPE_CHECKING:
    from powersim.logbook.hindcast import History
    from powersim.simulation.member_signals import EnsembleForcing

#: So often the simulation is made straight over what is still possible.
ROUNDS = 4
#: A reading so many standard deviations off what all others say is left out as a slip.
FARTHEST_SD = 4.0
_MOST_LEFT_OUT = 10
#: Readings of one source without which nothing is said of how well they fit.
_ENOUGH_TO_JUDGE = 4
#: How far the simulated charge may be off by itself, since runs are laid at likely hours and days
#: have the sun of others; one standard deviation, as the twins of docs/validation.md show it. [-]
MODEL_SD = 0.02
#: Less sun than this, of the usual, is not told from none: an hour of dusk makes no unknown. [-]
LEAST_SUN_FRAC = 0.05
#: So many member-steps of signals are kept from round to round, some 100 bytes each.
_KEPT = 2_000_000
N_FACTORS = len(Factors._fields)


class LogFit:
    """One log's readings beside what the simulation makes of them, and what explains them.

    Attributes
    ----------
    observations : list of Observation
        That count.
    left_out : list of (Observation, float)
        Slips, and what each should have said.
    engine : EngineSoFar
        In each weather.
    unknowns : Estimate
        Of the factors, and last of the sun so far against the usual.
    line : FittedLine
        What the simulation says in place of the readings.
    errors : ndarray, shape (k, k)
        How readings and what lies beside the line err together.
    """

    def __init__(self, observations, engine, passage, *, prior_sd):
        self.observations, self.left_out, self.engine = list(observations), [], engine
        self.passage, self.prior_sd = passage, prior_sd
        self.line: FittedLine | None = None
        self.unknowns = Estimate(
            log_factor=np.zeros_like(prior_sd), covariance=np.diag(prior_sd**2), prior_sd=prior_sd
        )

    @property
    def estimate(self) -> Estimate:
        """Of the factors alone."""
        return self.unknowns.first(N_FACTORS)

    @property
    def misfit(self) -> float:
        """How far readings lie off what explains them best, of how far they should. [-]

        Of the source that is worst off, among those of four readings or more; 0 if none has four.
        """
        line = self.line
        off = self.values - line.middle - line.slopes @ (self.unknowns.log_factor - line.centre)
        sources = np.array([one.source for one in self.observations])
        worst = 0.0
        for source in set(sources.tolist()):
            own = sources == source
            if own.sum() >= _ENOUGH_TO_JUDGE:
                root = np.linalg.cholesky(self.errors[np.ix_(own, own)])
                apart = np.linalg.solve(root, off[own])
                worst = max(worst, float(np.sqrt((apart**2).mean())))
        return worst

    @property
    def values(self) -> np.ndarray:
        """What the readings say, shape (k,)."""
        return np.array([one.value for one in self.observations])

    def explain(self, x: np.ndarray, history: History) -> None:
        """Find the unknowns anew from draws of them and what the simulation made of these."""
        self.normal = history.mean()
        self.line = line_through(x, predicted(history, self.observations, self.passage))
        self._explain()

    def _explain(self):
        self.readings = reading_covariance(self.observations)
        fuel = fuel_covariance(self.observations, self.normal, self.passage)
        self.errors = self.readings + fuel + self.line.spread(self.readings + fuel)
        self.unknowns = bayesian_regression(
            self.line, self.values, errors=self.errors, prior_sd=self.prior_sd
        )

    def drop_slips(self) -> None:
        """Leave out, one by one, readings that lie too far off what all the others say."""
        while len(self.observations) >= 3 and len(self.left_out) < _MOST_LEFT_OUT:
            # What each reading should be from all the others, by the inverse of their covariance.
            slopes, line = self.line.slopes, self.line
            inverse = np.linalg.inv(self.errors + (slopes * self.prior_sd**2) @ slopes.T)
            off = self.values - line.middle + slopes @ line.centre
            apart = inverse @ off / np.diag(inverse)
            sds = np.abs(apart) * np.sqrt(np.diag(inverse))
            worst = int(sds.argmax())
            if sds[worst] <= FARTHEST_SD:
                return
            slip = self.observations.pop(worst)
            self.left_out.append((slip, slip.value - float(apart[worst])))
            self.line = FittedLine(
                centre=line.centre,
                middle=np.delete(line.middle, worst),
                slopes=np.delete(line.slopes, worst, axis=0),
                beside=np.delete(line.beside, worst, axis=0),
            )
            self._explain()


def sky_sd(sun_frac: np.ndarray) -> float:
    """How far the sun so far may be off the usual, one standard deviation of the logarithm. [-]"""
    return max(float(np.log(sun_frac).std()), 1e-3)


def sun_in(forcing: EnsembleForcing, *, n_steps: int) -> np.ndarray:
    """What the panels offer so far in each weather, of the mean over all.

    Returns
    -------
    ndarray, shape (members,)
        LEAST_SUN_FRAC or more; 1 where there was no sun at all. [-]
    """
    signals = forcing.signals(slice(0, n_steps))
    offered = np.zeros(forcing.members)
    for controller in signals.controllers:
        volts = controller.knots_V[0] if controller.knots_V else 1.0
        part = controller.first_A * volts if controller.knots_V else controller.power_W
        offered = offered + part.sum(axis=0)
    if not offered.any():
        return np.ones(forcing.members)
    return np.maximum(offered / offered.mean(), LEAST_SUN_FRAC)


def fit(
    logs: list[LogFit],
    forcing: EnsembleForcing,
    passage: Passage,
    *,
    sun_frac: np.ndarray,
    seed: int,
    progress: Callable | None = None,
) -> list[tuple[np.ndarray, np.ndarray, Factors]]:
    """Find the factors of some logs, leave out the slips, and draw charge and litres now.

    Returns
    -------
    list of tuple of (ndarray, ndarray, Factors)
        Charge now [-], litres left [L], and factors, each of arrays shaped (members,).

    Notes
    -----
    Each weather gives the days their pattern; how much sun there was in all is an unknown of its
    own, so that the bank is where it was and not full or flat.
    """
    members = forcing.members
    hindcast = hindcast_of(
        forcing.chosen(np.tile(np.arange(members), len(logs))),
        passage,
        side_by_side([log.engine for log in logs]),
        keep=members * len(logs) * len(logs[0].engine.charging) <= _KEPT,
    )
    z = streams.normal(
        streams.UNDERWAY, seed=seed, index=0, members=members, per_member=N_FACTORS + 1
    )
    z = moment_matched(z)

    def sailed():
        """Draws of all unknowns, and the past with them, for each log."""
        drawn = [_drawn(log.unknowns, z) for log in logs]
        factors = [factors_with_sky(x, sun_frac) for x in drawn]
        together = zip(*factors, strict=True)
        history = simulated(hindcast, Factors(*(np.concatenate(some) for some in together)))
        own = (slice(at, at + members) for at in range(0, members * len(logs), members))
        return [(x, history.chosen(some)) for x, some in zip(drawn, own, strict=True)]

    for done in range(ROUNDS):
        for log, (x, history) in zip(logs, sailed(), strict=True):
            log.explain(x, history)
            if done >= 1:
                log.drop_slips()
        if progress is not None:
            progress((done + 1) / (ROUNDS + 1))
    return [
        (*_moved(log, x, history, seed=seed), Factors(*np.exp(x[:N_FACTORS])))
        for log, (x, history) in zip(logs, sailed(), strict=True)
    ]


def _drawn(unknowns, z):
    """Draws of the unknowns, shape (unknowns, members)."""
    x = unknowns.log_factor[:, None] + np.linalg.cholesky(unknowns.covariance) @ z
    return np.clip(x, -math.log(WIDEST), math.log(WIDEST))


def factors_with_sky(x: np.ndarray, sun_frac: np.ndarray) -> Factors:
    """What the simulation is run with, panels and sky in one.

    Parameters
    ----------
    x : ndarray, shape (factors + 1, members)
        Logarithms of the factors, and of the sun so far against the usual.
    """
    factors = Factors(*np.exp(x[:N_FACTORS]))
    return factors._replace(solar=factors.solar * np.exp(x[N_FACTORS]) / sun_frac)


def _moved(log, x, history, *, seed):
    """Charge and litres now, each draw moved to where it agrees with the readings.

    A draw that the readings do not bear out is moved by what the covariances say of charge and
    litres, given the readings (Matheron's rule).
    """
    fuel, k, members = log.passage.boat.fuel, len(log.observations), x.shape[1]
    errors = streams.normal(streams.UNDERWAY, seed=seed, index=1, members=members, per_member=k + 3)
    aboard_L = fuel.aboard_L if fuel else 0.0
    aboard_z, other_z, model_z = errors[k:]
    other_L = log.normal.other_L[-1]
    more_L = ABOARD_SD * aboard_L * aboard_z - OTHER_BURN_SD * other_L * other_z
    soc = history.soc[-1]
    left_L = aboard_L - history.charging_L[-1] - history.other_L[-1] + more_L
    if k:
        at_h = np.array([one.at_h for one in log.observations])
        dips = np.array([one.kind == "litres" for one in log.observations], dtype=float)[:, None]
        dip_luck = dips * (
            ABOARD_SD * aboard_L * aboard_z
            - OTHER_BURN_SD * log.normal.at("other_L", at_h) * other_z
        )
        said = predicted(history, log.observations, log.passage) + dip_luck
        now = line_through(x, np.vstack([said, soc, left_L]))
        off = log.values[:, None] - said - np.linalg.cholesky(log.readings) @ errors[:k]
        cross = now.spread()[k:, :k]
        moved = cross @ np.linalg.solve(log.readings + now.spread()[:k, :k], off)
        soc, left_L = soc + moved[0], left_L + moved[1]
    soc = soc + MODEL_SD * model_z
    # Straight lines do not know that a bank cannot be fuller than full.
    return np.clip(soc, 0.0, 1.0), np.maximum(left_L, 0.0)
