"""A sailor's own rested volts at known charges, and what of them cannot be."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from powersim.records.chemistry import Chemistry

#: (state of charge, rested volts of the whole bank).
RestedPoints = Sequence[tuple[float, float]]
#: More points narrow nothing further, since charge and meter err alike in all; judgement.
MOST_POINTS = 4
#: Nearer to each other than this two points say nothing of the rise between them; judgement. [-]
LEAST_APART_SOC = 0.2
#: Farther than this from what is usual for its kind the bank was not at rest, or has a dead cell;
#: three times what such banks differ by, and a meter; judgement. [V per 12 V block]
FARTHEST_V = 0.5


def rested_fault(points: RestedPoints, traits: Chemistry, *, blocks: float) -> str | None:
    """What is wrong with rested volts at known charges, in words; None for sound ones.

    Parameters
    ----------
    points : sequence of (float, float)
        Charge and volts, the lowest charge first. [-], [V]
    traits : Chemistry
        Of the bank.
    blocks : float
        How many 12 V blocks stand in series. [-]
    """
    if len(points) > MOST_POINTS:
        return f"{len(points)} points, where {MOST_POINTS} say all"
    for soc, volts in points:
        if not 0 <= soc <= 1:
            return f"a charge of {_percent(soc)}, which is not 0 to 100 %"
        mute = traits.mute_soc
        if mute and mute[0] < soc < mute[1]:
            return (
                f"a point at {_percent(soc)}, where {traits.word} shows the same volts from "
                f"{_percent(mute[0])} to {_percent(mute[1])}"
            )
        usual_V = blocks * _usual_V(traits.curves.emf_knots, soc)
        if not abs(volts - usual_V) <= FARTHEST_V * blocks:
            return (
                f"{volts:.4g} V at {_percent(soc)}, where such a bank at rest has about "
                f"{usual_V:.4g} V"
            )
    for (low, low_V), (high, high_V) in pairwise(points):
        if not high - low >= LEAST_APART_SOC - 1e-9:
            return (
                f"points at {_percent(low)} and {_percent(high)}, which are less than "
                f"{_percent(LEAST_APART_SOC)} apart"
            )
        if not high_V > low_V:
            return f"no more volts at {_percent(high)} than at {_percent(low)}"
    return None


def _usual_V(knots: Sequence[tuple[float, float]], soc: float) -> float:
    """Straight lines between the knots of the middle bank. [V per 12 V block]"""
    for (low, low_V), (high, high_V) in pairwise(knots):
        if soc <= high:
            return low_V + (high_V - low_V) * (soc - low) / (high - low)
    return knots[-1][1]


def _percent(share_frac: float) -> str:
    return f"{100.0 * share_frac:.4g} %"
