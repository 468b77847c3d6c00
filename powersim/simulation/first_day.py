"""The day of grace in which a bank that is low at the start may come up to its floor.

`simulate`, `plan`, `underway` and `size` all take it from here. A rule cannot be blamed for what
the bank held before it was followed, and where every rule fails a search cannot tell them apart.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from powersim.records import Boat, ChargingRule
from powersim.simulation.aboard import aboard_of
from powersim.simulation.carry import Batch
from powersim.simulation.plant import has_charging_alternator, rule_of
from powersim.simulation.reading import as_read
from powersim.simulation.verdict import too_often

if TYPE_CHECKING:
    from powersim.records.arrays import Array
    from powersim.simulation.aboard import ForcingAboard
    from powersim.simulation.mean_sky import MeanSky
    from powersim.simulation.member_signals import EnsembleForcing

#: Time for a low bank to come up: a morning's run, a day's sun and an evening's run (common
#: practice, no source). [h]
DAY_h = 24.0
#: About what a night takes (common practice, no source). [-]
NIGHT_SOC = 0.10
#: No rule stops above it: the last hundredths take hours. [-]
HIGHEST_STOP_SOC = 0.97
#: How little below its stop the rule that always charges starts. [-]
_LEAST_GAP_SOC = 0.01


def counted_from_h(
    boat: Boat, forcing: EnsembleForcing | ForcingAboard | MeanSky, *, risk_frac: float
) -> float:
    """When the floor begins to count: 0, or DAY_h where the bank is low at the start.

    It is low if, in a larger share of the members than the risk, it begins at its floor or below
    it, or so little above it that no rule keeps it above on the first day.

    Parameters
    ----------
    boat : Boat
        For her floor, and for what charges her.
    forcing : EnsembleForcing, ForcingAboard or MeanSky
        The members that she meets.
    risk_frac : float
        Share of the members that may fail. [-]

    Returns
    -------
    float
        After departure. [h]
    """
    start_soc = np.broadcast_to(aboard_of(forcing, boat.battery).soc, forcing.members)
    above_soc = start_soc - boat.battery.floor_soc
    if too_often(float(np.mean(above_soc <= 0.0)), risk_frac):
        return DAY_h
    if not too_often(float(np.mean(above_soc <= NIGHT_SOC)), risk_frac):
        return 0.0
    # Not whether it is dark too: darkness is excused on no day.
    below = _lowest_on_first_day(boat, forcing) < boat.battery.floor_soc
    return DAY_h if too_often(float(np.mean(below)), risk_frac) else 0.0


def always_charge(boat: Boat) -> ChargingRule:
    """The rule that charges whenever the hours allow it.

    Parameters
    ----------
    boat : Boat
        For the hours of her own rule.

    Returns
    -------
    ChargingRule
        Her own, with start and stop as high as they go.
    """
    return replace(
        boat.charging,
        by_engine=True,
        daily=(),
        read_at_h=(),
        wait_below_soc=None,
        start_soc=HIGHEST_STOP_SOC - _LEAST_GAP_SOC,
        stop_soc=HIGHEST_STOP_SOC,
        run_h=None,
        stop_below_A=None,
    )


def _lowest_on_first_day(boat: Boat, forcing: EnsembleForcing | ForcingAboard | MeanSky) -> Array:
    """Lowest charge of each member with the engine charging whenever it may. (members,) [-]"""
    if has_charging_alternator(boat):
        charging = always_charge(boat)
    else:
        charging = replace(boat.charging, by_engine=False, daily=(), full_every_days=None)
    rule = as_read(
        rule_of(replace(boat, charging=charging)),
        boat.battery,
        misread=forcing.misread,
    )
    aboard = aboard_of(forcing, boat.battery)
    plant = aboard.plant(replace(forcing.plant, rule=rule))
    track = forcing.prepared.track
    batch = Batch(
        plant=plant,
        state=aboard.state(plant, members=forcing.members),
        step_h=track.step_h,
        switches=aboard.switches(),
        floor_soc=boat.battery.floor_soc,
    )
    signals = forcing.signals(slice(0, min(round(DAY_h / track.step_h), track.n_steps)))
    # Runs at set times are among those that are tried already.
    batch.through(replace(signals, ordered=np.zeros_like(signals.ordered)))
    return np.asarray(batch.told["lowest_soc"])
