"""The priors of the factors: how far each figure of the files may be off before the log speaks."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from powersim.records import Passage
from powersim.simulation.factors import Factors

if TYPE_CHECKING:
    from powersim.simulation.prepared import Prepared

#: How far all loads may err together: longer hours, cables, what is not listed. [-]
COMMON_DRAW_SD = 0.15
#: Shade of sails, salt and mounting, beyond what the model takes off. [-]
SOLAR_SD = 0.15
#: Spread of the litres of an hour of charging. [-]
BURN_SD = 0.20
#: Spread of the alternator's hot output. [-]
ALTERNATOR_SD = 0.08
#: Largest factor; its inverse is the smallest. [-]
WIDEST = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Priors:
    """Standard deviations of the logarithms of all factors, before the log.

    Attributes
    ----------
    sd : Factors
        One for each factor, whose median is 1. [-]
    """

    sd: Factors

    @property
    def array(self) -> np.ndarray:
        """The same, shaped (factors,). [-]"""
        return np.array(self.sd)


def priors_of(passage: Passage, prepared: Prepared) -> Priors:
    """The priors of a passage.

    The loads' own spreads count by their share of the demand and are independent of each other;
    COMMON_DRAW_SD, by which all err together, is added. All of it is judgement: common practice, no
    source.
    """
    battery = passage.boat.battery
    draws_W = prepared.demand.power_W + prepared.demand.current_A * battery.nominal_V
    mean_W = draws_W.mean(axis=1)
    # Exact sums, which hang on no order of the loads.
    shares = mean_W[: len(passage.drawn)] / max(math.fsum(mean_W), 1e-9)
    spreads = np.array([load.spread_frac for load in passage.drawn])
    own_sd = math.sqrt(math.fsum((shares * spreads) ** 2))
    return Priors(
        sd=Factors(
            demand=math.hypot(COMMON_DRAW_SD, own_sd),
            solar=SOLAR_SD,
            capacity=battery.capacity_sd,
            burn=BURN_SD,
            alternator=ALTERNATOR_SD,
        )
    )
