"""What a charging rule costs in each member, all of it in litres: fuel, hours, starts and wear."""

from __future__ import annotations

import numpy as np

from powersim.records import Boat
from powersim.records.belt import wanted_W
from powersim.simulation.light_load import LIGHT_FRAC

#: Fields of an evaluation that `cost_L` is made of.
COSTED = ("charging_L", "charging_h", "charging_runs", "longest_since_full_h")


def cost_L(
    boat: Boat,
    *,
    charging_L: np.ndarray,
    charging_h: np.ndarray,
    charging_runs: np.ndarray,
    longest_since_full_h: np.ndarray,
) -> np.ndarray:
    """Fuel for the bank, and what else the runs cost by the boat's own prices.

    Parameters
    ----------
    boat : Boat
        For her prices, her engine, and how often her bank is to be full.
    charging_L : ndarray
        Fuel for the bank. [L]
    charging_h : ndarray
        Time that the engine charges at rest. [h]
    charging_runs : ndarray
        How often it is started for that.
    longest_since_full_h : ndarray
        Longest time between full charges. [h]

    Returns
    -------
    ndarray
        Shaped as they are. [L]
    """
    costs, days = boat.costs, boat.charging.full_every_days
    found = charging_L + costs.engine_hour_L * charging_h + costs.start_L * charging_runs
    if is_light(boat):
        found = found + costs.light_load_hour_L * charging_h
    if days is not None:
        late_days = np.maximum(longest_since_full_h / 24.0 - days, 0.0)
        found = found + costs.late_full_day_L * late_days
    return found


def is_light(boat: Boat) -> bool:
    """Whether charging alone never loads her diesel enough to keep it clean.

    Parameters
    ----------
    boat : Boat
        With engine and alternator, or without.

    Notes
    -----
    Judged by the alternator's whole output, which is more than a run's mean: where that is more
    than light load, the hours of a taper are not counted. Petrol minds light load less (common
    practice, no source).
    """
    if boat.engine is None or boat.driven_alternator is None or boat.fuel_word != "diesel":
        return False
    alternator = boat.driven_alternator
    shaft_W = wanted_W(alternator, boat.battery, alternator.charging_A)
    return bool(shaft_W < LIGHT_FRAC * 1000.0 * boat.engine.rated_kW)
