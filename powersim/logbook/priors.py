"""The priors of the factors: how far each figure of the files may be off before the log speaks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from powersim.logbook.load_shares import LoadsPrior, loads_prior
from powersim.records import Passage
from powersim.simulation.factors import Factors

if TYPE_CHECKING:
    from powersim.simulation.prepared import Prepared

#: Shade of sails, salt and mounting, beyond what the model takes off. [-]
SOLAR_SD = 0.15
#: Spread of the litres of an hour of charging. [-]
BURN_SD = 0.20
#: Spread of the alternator's hot output. [-]
ALTERNATOR_SD = 0.08


@dataclass(frozen=True, slots=True, kw_only=True)
class Priors:
    """What is known of the logarithms of all factors before the log.

    Attributes
    ----------
    sd : Factors
        Standard deviation of each. [-]
    mean : Factors
        Mean of each: 0, but for loads that were measured. [-]
    loads : LoadsPrior
        What that of the loads is made of.
    """

    sd: Factors
    mean: Factors
    loads: LoadsPrior

    @property
    def array(self) -> np.ndarray:
        """The standard deviations, shaped (factors,). [-]"""
        return np.array(self.sd)


def priors_of(
    passage: Passage,
    prepared: Prepared,
    *,
    trial: Mapping[str, tuple[float, float]] | None = None,
) -> Priors:
    """The priors of a passage.

    Those of the loads are `loads_prior`'s, and `trial` is its too. All of it is judgement: common
    practice, no source.
    """
    loads = loads_prior(passage, prepared, trial)
    return Priors(
        sd=Factors(
            demand=loads.total_sd,
            solar=SOLAR_SD,
            capacity=passage.boat.battery.capacity_sd,
            burn=BURN_SD,
            alternator=ALTERNATOR_SD,
        ),
        loads=loads,
        mean=Factors(loads.total_mean, 0.0, 0.0, 0.0, 0.0),
    )
