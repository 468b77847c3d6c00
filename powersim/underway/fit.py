"""Factors fitted to what logs say, weather and engine hours being as uncertain as they are.

Logs are looked at side by side: their trials are members of the same runs of the kernel, one log
after the other, and for each log one weather after the other.
"""

from __future__ import annotations

import numpy as np

from powersim.simulation.factors import Factors
from powersim.sky import streams
from powersim.underway.doubt import (
    ABOARD_SD,
    OTHER_BURN_SD,
    covariance,
    fuel_covariance,
    reading_covariance,
)
from powersim.underway.engine_so_far import side_by_side
from powersim.underway.estimate import Estimate, estimated, whitening
from powersim.underway.observations import predicted
from powersim.underway.past import History, past_in, simulated

#: Weathers over which the simulation is averaged while factors are sought.
TRIED_IN = 6
#: A reading so many standard deviations off what all others say is left out as a slip.
FARTHEST_SD = 4.0
_MOST_LEFT_OUT = 10
#: Share of what is left to do after one trial more, as far as can be told. [-]
_STILL_LEFT = 0.85
N_FACTORS = len(Factors._fields)


class LogFit:
    """One log's readings beside what the weathers make of them, and the factors found.

    Attributes
    ----------
    observations : list of Observation
        That count.
    left_out : list of (Observation, float)
        Slips, and what each should have said.
    engine : EngineSoFar
        In each weather.
    estimate : Estimate
        Of this log alone, once it is fitted.
    """

    def __init__(self, observations, engine, in_weathers: History, passage):
        self.observations, self.left_out, self.engine = list(observations), [], engine
        self.passage, self.in_weathers = passage, in_weathers
        self.estimate: Estimate | None = None
        self._weigh()

    def _weigh(self):
        """What the readings say, and how they err and hang together."""
        self.values = np.array([[one.value] for one in self.observations]).reshape(-1, 1)
        said = predicted(self.in_weathers, self.observations, self.passage)
        self.usual = said.mean(axis=1, keepdims=True)
        few = said[:, :TRIED_IN].mean(axis=1, keepdims=True)
        #: How much all weathers differ from those few in which factors are sought.
        self.offset = self.usual - few
        self.luck = said - self.usual
        self.readings = reading_covariance(self.observations)
        normal = self.in_weathers.mean()
        self.total = (
            self.readings
            + fuel_covariance(self.observations, normal, self.passage)
            + covariance(self.luck)
        )

    def expected(self, place) -> float:
        """What one reading should have said."""
        return float(self.estimate.said[place, 0] + self.offset[place, 0])

    def drop_slip(self, prior_sd) -> bool:
        """Leave out the reading that lies too far off what all the others say, if one does."""
        if len(self.observations) < 3 or len(self.left_out) >= _MOST_LEFT_OUT:
            return False
        # What each reading should be from all the others, by the inverse of their covariance.
        slopes = self.estimate.jacobian[0]
        whole = self.total + slopes @ np.diag(prior_sd**2) @ slopes.T
        inverse = np.linalg.inv(whole)
        off = self.values[:, 0] - self.offset[:, 0] - self.estimate.said[:, 0]
        off += slopes @ self.estimate.log_factor[:, 0]
        apart = np.abs(inverse @ off) / np.sqrt(np.diag(inverse))
        worst = int(apart.argmax())
        if apart[worst] <= FARTHEST_SD:
            return False
        self.left_out.append((self.observations[worst], self.expected(worst)))
        del self.observations[worst]
        self._weigh()
        return True


def fit(logs: list[LogFit], weathers, passage, *, prior_sd, progress=None) -> None:
    """Find the factors of some logs, and leave out the slips in them.

    Parameters
    ----------
    logs : list of LogFit
        Whose estimates are set.
    weathers : Weathers
        In the first TRIED_IN of which factors are tried.
    passage : Passage
    prior_sd : ndarray, shape (factors,)
    progress : callable, optional
        Called with a share that grows towards 1: how many trials it takes nobody knows beforehand.
    """
    left_frac = 1.0
    few = min(TRIED_IN, weathers.members)
    tries = N_FACTORS + 1
    past = past_in(
        weathers.chosen(np.tile(np.arange(few), tries * len(logs))),
        passage,
        side_by_side([log.engine.chosen(slice(0, few)) for log in logs], times=tries),
        keep=True,
    )
    columns = np.arange(tries * len(logs) * few).reshape(tries, len(logs), few)

    def said_by(log, history, place):
        """Means over the weathers, shaped (readings, tries)."""
        told = predicted(history.chosen(columns[:, place].ravel()), log.observations, passage)
        return told.reshape(len(told), tries, few).mean(axis=2)

    while True:
        longest = max(len(log.observations) for log in logs)

        def says(factors, longest=longest):
            nonlocal left_frac
            history = simulated(past, Factors(*(np.repeat(one, few) for one in factors)))
            said = np.zeros((longest, tries, len(logs)))
            for place, log in enumerate(logs):
                said[: len(log.observations), :, place] = said_by(log, history, place)
            left_frac *= _STILL_LEFT
            if progress is not None:
                progress(1.0 - left_frac)
            return said.reshape(longest, tries * len(logs))

        values, white = np.zeros((longest, len(logs))), np.zeros((len(logs), longest, longest))
        for place, log in enumerate(logs):
            count = len(log.observations)
            values[:count, place] = (log.values - log.offset)[:, 0]
            # Rows behind a log's own readings weigh nothing.
            white[place, :count, :count] = whitening(log.total)
        found = estimated(says, values, white=white, prior_sd=prior_sd)
        for place, log in enumerate(logs):
            log.estimate = found.of(place, len(log.observations))
        slips = [log.drop_slip(prior_sd) for log in logs]
        if not any(slips):
            return


def draws(logs: list[LogFit], weathers, passage, *, seed):
    """Factors, charge and litres as uncertain as each log leaves them, one draw a weather.

    Parameters
    ----------
    logs : list of LogFit
        Fitted.
    weathers : Weathers
    passage : Passage
    seed : int

    Returns
    -------
    list of tuple of (ndarray, ndarray, Factors)
        Charge now [-], litres left [L], and factors, each of arrays shaped (members,).

    Notes
    -----
    A draw that the readings do not bear out is moved to where it would agree with them (Matheron's
    rule): what the covariances say of charge and litres, given the readings.
    """
    members = weathers.members
    drawn = [_drawn(log, seed=seed, members=members) for log in logs]
    past = past_in(
        weathers.chosen(np.tile(np.arange(members), len(logs))),
        passage,
        side_by_side([log.engine for log in logs]),
    )
    factors = [factors for factors, _ in drawn]
    history = simulated(
        past, Factors(*(np.concatenate(some) for some in zip(*factors, strict=True)))
    )
    return [
        (*_moved(log, history.chosen(slice(at, at + members)), errors), factors)
        for at, log, (factors, errors) in zip(
            range(0, members * len(logs), members), logs, drawn, strict=True
        )
    ]


def _drawn(log, *, seed, members):
    """Factors as the estimate has them, and normal numbers for all that else may err."""
    z = streams.normal(
        streams.UNDERWAY,
        seed=seed,
        index=0,
        members=members,
        per_member=N_FACTORS + len(log.observations) + 2,
    )
    root = np.linalg.cholesky(log.estimate.covariance[0])
    return Factors(*np.exp(log.estimate.log_factor + root @ z[:N_FACTORS])), z[N_FACTORS:]


def _moved(log, history, errors):
    """Charge and litres now, each draw moved to where it agrees with the readings."""
    fuel, k = log.passage.boat.fuel, len(log.observations)
    aboard_L = fuel.aboard_L if fuel else 0.0
    at_h = np.array([one.at_h for one in log.observations])
    dips = np.array([one.kind == "litres" for one in log.observations], dtype=float)[:, None]
    normal = log.in_weathers.mean()
    soc = history.soc[-1]
    more_L = ABOARD_SD * aboard_L * errors[-1] - OTHER_BURN_SD * normal.other_L[-1] * errors[-2]
    left_L = aboard_L - history.charging_L[-1] - history.other_L[-1] + more_L
    if k:
        dip_luck = dips * (
            ABOARD_SD * aboard_L * errors[-1]
            - OTHER_BURN_SD * normal.at("other_L", at_h) * errors[-2]
        )
        said = predicted(history, log.observations, log.passage) + dip_luck
        off = log.values - said - np.linalg.cholesky(log.readings) @ errors[:k]
        pull = np.linalg.solve(log.total, off)
        now = log.in_weathers
        soc_luck = now.soc[-1:] - now.soc[-1:].mean()
        burnt_luck = -(now.charging_L[-1:] + now.other_L[-1:])
        left_luck = burnt_luck - burnt_luck.mean() + more_L
        soc = soc + (_across(soc_luck, log.luck) @ pull)[0]
        left_L = left_L + (_across(left_luck, log.luck + dip_luck) @ pull)[0]
    # Straight lines do not know that a bank cannot be fuller than full.
    return np.clip(soc, 0.0, 1.0), np.maximum(left_L, 0.0)


def _across(some, others):
    """Covariance of two sets of anomalies over their members."""
    return some @ others.T / max(some.shape[1] - 1, 1)
