"""Factors fitted to what logs say, with weather and engine hours left as uncertain as they are.

Several logs are fitted side by side: their draws are members of the same batch, one log after the
other.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from powersim.logbook.charge_readings import FULL_SOC
from powersim.logbook.engine_so_far import side_by_side
from powersim.logbook.estimate import (
    WIDEST,
    Estimate,
    FittedLine,
    bayesian_regression,
    line_through,
    moment_matched,
)
from powersim.logbook.hindcast import hindcast_of, simulated, with_sun
from powersim.logbook.observations import predicted
from powersim.logbook.reading_errors import (
    ABOARD_SD,
    OTHER_BURN_SD,
    fuel_covariance,
    reading_covariance,
    set_anew_covariance,
)
from powersim.records import Passage
from powersim.simulation.factors import Factors
from powersim.sky import streams

if TYPE_CHECKING:
    from powersim.logbook.engine_so_far import EngineSoFar
    from powersim.logbook.hindcast import History
    from powersim.logbook.observations import Observation
    from powersim.logbook.sun_so_far import CountedDays
    from powersim.simulation.member_signals import EnsembleForcing

#: Rounds of linearising the simulation over what is still possible.
ROUNDS = 4
#: Standard deviations off what all others say, from which on a reading is left out as a slip.
FARTHEST_SD = 4.0
_MOST_LEFT_OUT = 10
#: Most of a source's readings that can be slips; of a meter that is off more often, or a boat that
#: the files do not describe, the misfit tells. Judgement. [-]
_MOST_SLIPS_FRAC = 0.25
#: Fewest readings of a source of which it can be said how well they fit.
_ENOUGH_TO_JUDGE = 4
#: Standard deviation of the simulated charge by itself, since the hours of runs and the sun of each
#: day are only likely ones; as the twins of docs/validation.md show it. [-]
MODEL_SD = 0.02
#: After so many days' charge a monitor's count is off otherwise (by the factor 1/e); without any
#: charge in between it is off alike, so that a night shows the draw. By the twins too. [days]
MODEL_DAYS = 0.25
#: Share of the draws with a full bank from which on its monitor may have been set anew; judgement.
#: [-]
_OFTEN_FRAC = 0.1
#: Most member-steps of signals that are kept from round to round, some 100 bytes each.
_KEPT = 2_000_000
N_FACTORS = len(Factors._fields)


class LogFit:
    """One log's readings, what the simulation has in their place, and what explains them.

    Attributes
    ----------
    observations : list of Observation
        The readings that count.
    left_out : list of (Observation, float)
        Slips, and what each should have said.
    engine : EngineSoFar
        What the engine did in each member.
    unknowns : Estimate
        Estimate of the factors, and last of the sun so far against the usual.
    line : FittedLine
        The readings in the simulation as a linear function of the unknowns.
    errors : ndarray, shape (k, k)
        Covariance of readings and residuals together.
    """

    def __init__(
        self,
        observations: Sequence[Observation],
        engine: EngineSoFar,
        passage: Passage,
        *,
        prior_sd: np.ndarray,
        prior_mean: np.ndarray,
        days: CountedDays,
    ) -> None:
        self.observations, self.engine, self.days = list(observations), engine, days
        self.left_out: list[tuple[Observation, float]] = []
        self.passage, self.prior_sd, self.prior_mean = passage, prior_sd, prior_mean
        self.line: FittedLine  # from the first `explain` on
        self.unknowns = Estimate(
            log_factor=prior_mean, covariance=np.diag(prior_sd**2), prior_sd=prior_sd
        )

    @property
    def estimate(self) -> Estimate:
        """The estimate of the factors alone."""
        return self.unknowns.first(N_FACTORS)

    @property
    def misfit(self) -> float:
        """How far readings lie off what explains them best, as a multiple of how far they should.

        It is that of the worst source with four readings or more; 0 if none has four. [-]
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
        """Estimate the unknowns anew from draws of them and their simulation."""
        self.normal = history.mean()
        often_full = (history.soc >= FULL_SOC).mean(axis=1) > _OFTEN_FRAC
        self.full_h = history.at_h[often_full]
        self.line = line_through(x, predicted(history, self.observations, self.passage))
        self._explain()

    def _explain(self):
        self.readings = reading_covariance(self.observations) + set_anew_covariance(
            self.observations, self.full_h
        )
        fuel = fuel_covariance(self.observations, self.normal, self.passage)
        known = self.readings + fuel + self._model_covariance()
        self.errors = known + self.line.spread(known)
        self.unknowns = bayesian_regression(
            self.line,
            self.values,
            errors=self.errors,
            prior_sd=self.prior_sd,
            prior_mean=self.prior_mean,
        )

    def _model_covariance(self):
        """Covariance due to the simulated charge's own error, alike for what is read at one time.

        All members may have a bank that a run has just filled, where the run was hours before.
        """
        lower = replace(self.normal, soc=self.normal.soc - MODEL_SD)
        as_it_is, moved = (
            predicted(one, self.observations, self.passage)[:, 0] for one in (self.normal, lower)
        )
        at_h = np.array([one.at_h for one in self.observations])
        charged_Ah = self.normal.charged_Ah(at_h)
        day_Ah = charged_Ah.max() * 24.0 / self.normal.at_h[-1] if charged_Ah.size else 1.0
        apart_days = np.abs(charged_Ah[:, None] - charged_Ah) / max(day_Ah, 1e-9)
        alike = off_alike(self.observations, apart_days)
        return alike * np.outer(as_it_is - moved, as_it_is - moved)

    def drop_slips(self) -> None:
        """Leave out, one by one, readings too far off what all the others say."""
        while len(self.observations) >= 3 and len(self.left_out) < _MOST_LEFT_OUT:
            # What each reading should be from all the others, by the inverse of their covariance.
            slopes, line = self.line.slopes, self.line
            inverse = np.linalg.inv(self.errors + (slopes * self.prior_sd**2) @ slopes.T)
            off = self.values - line.middle + slopes @ (line.centre - self.prior_mean)
            apart = inverse @ off / np.diag(inverse)
            sds = np.abs(apart) * np.sqrt(np.diag(inverse))
            sds[[not self._may_be_slip(one.source) for one in self.observations]] = 0.0
            worst = int(sds.argmax())
            if sds[worst] <= FARTHEST_SD:
                return
            slip = self.observations.pop(worst)
            self.left_out.append((slip, slip.value - float(apart[worst])))
            self.line = FittedLine(
                centre=line.centre,
                middle=np.delete(line.middle, worst),
                slopes=np.delete(line.slopes, worst, axis=0),
                residuals=np.delete(line.residuals, worst, axis=0),
            )
            self._explain()

    def _may_be_slip(self, source: str) -> bool:
        """Whether one more of a source's readings may be left out: until a quarter has been."""
        slips = sum(one.source == source for one, _ in self.left_out)
        readings = slips + sum(one.source == source for one in self.observations)
        return slips < max(_MOST_SLIPS_FRAC * readings, 1.0)


def off_alike(observations: Sequence[Observation], apart_days: np.ndarray) -> np.ndarray:
    """How alike the simulated charge is off at two readings, 0 to 1, shape (k, k).

    `apart_days` is the charge between them. A monitor's counts are taken for themselves: were they
    bound to what else was read at one time only, and to each other through a night, the matrix
    would be that of no errors.
    """
    at_h = np.array([one.at_h for one in observations])
    counts = np.array([one.kind == "monitor_Ah" for one in observations], dtype=bool)
    through = np.where(counts[:, None] & counts, np.exp(-apart_days / MODEL_DAYS), 0.0)
    return np.where(counts[:, None] | counts, through, at_h[:, None] == at_h)


def fit(
    logs: list[LogFit],
    forcing: EnsembleForcing,
    passage: Passage,
    *,
    sun_frac: np.ndarray,
    seed: int,
    progress: Callable | None = None,
) -> list[tuple[np.ndarray, np.ndarray, Factors]]:
    """Estimate the factors of some logs, leave out slips, and draw charge and litres now.

    Each log gets charge now [-], litres left [L] and factors, of arrays shaped (members,). A member
    gives the days their pattern; the sum of the sun so far is an unknown of its own, so that the
    bank comes to the charge that the log shows.
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
        """Draws of all unknowns, and the past simulated with them, for each log."""
        drawn = [_drawn(log.unknowns, z, about=log.prior_mean) for log in logs]
        factors = [factors_with_sky(x, sun_frac) for x in drawn]
        together = zip(*factors, strict=True)
        sunny = with_sun(hindcast, np.hstack([log.days.weights for log in logs]))
        history = simulated(sunny, Factors._make(np.concatenate(some) for some in together))
        own = (slice(at, at + members) for at in range(0, members * len(logs), members))
        return [(x, history.chosen(some)) for x, some in zip(drawn, own, strict=True)]

    for done in range(ROUNDS):
        for log, (x, history) in zip(logs, sailed(), strict=True):
            log.explain(x, history)
            log.days.agree_with(history.solar_Ah)
            if done >= 1:
                log.drop_slips()
        if progress is not None:
            progress((done + 1) / (ROUNDS + 1))
    return [
        (*_moved(log, x, history, seed=seed), Factors(*np.exp(x[:N_FACTORS])))
        for log, (x, history) in zip(logs, sailed(), strict=True)
    ]


def _drawn(unknowns, z, *, about):
    """Draws from the estimate of the unknowns, shape (unknowns, members), as far as the widest."""
    x = unknowns.log_factor[:, None] + np.linalg.cholesky(unknowns.covariance) @ z
    middle = about[:, None]
    return np.clip(x, middle - math.log(WIDEST), middle + math.log(WIDEST))


def factors_with_sky(x: np.ndarray, sun_frac: np.ndarray) -> Factors:
    """The factors of a simulation, with the sun so far against the usual in that of the panels.

    `x` has the logarithms of the factors and of that sun, shape (factors + 1, members).
    """
    factors = Factors(*np.exp(x[:N_FACTORS]))
    return factors._replace(solar=factors.solar * np.exp(x[N_FACTORS]) / sun_frac)


def _moved(log, x, history, *, seed):
    """Charge and litres now, with each draw moved to agree with the readings (Matheron's rule).

    The covariance of charge and litres with the readings says how far.
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
        less_L = moved[1]  # burnt
        if not dips.any():
            # Straight lines do not know that no less than nothing is burnt: without a reading of
            # the tank no draw has burnt less, or more, than some of them did before.
            burnt_L = history.charging_L[-1] + history.other_L[-1]
            less_L = burnt_L - np.clip(burnt_L - less_L, burnt_L.min(), burnt_L.max())
        soc, left_L = soc + moved[0], left_L + less_L
    soc = soc + MODEL_SD * model_z
    # Nor that a bank cannot be fuller than full.
    return np.clip(soc, 0.0, 1.0), np.maximum(left_L, 0.0)
