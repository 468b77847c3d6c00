"""For how much of its open window a load wants to be on, with the temperature rule that it has."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from powersim.physics.windows import open_h_per_day

if TYPE_CHECKING:
    from powersim.records import Load
    from powersim.records.arrays import Array, FloatsT
    from powersim.sky.sky import Sky

FRIDGE_BOX_C = 5.0  # [degC] inside of the box; common practice, no source
FRIDGE_RATED_CABIN_C = 25.0  # [degC] cabin for which the stated on-time holds; same
FRIDGE_COLD_C = -10.0  # [degC] at which a fridge takes up heat, its evaporator; same
FRIDGE_WARMER_C = 15.0  # [degC] by which it gives heat off above the cabin, its condenser; same
HEATER_BELOW_C = 15.0  # [degC] cabin below which a heater is lit; same


def wanted_share(load: Load, sky: Sky) -> Array:
    """Share of its open window that a load should be on, with its temperature rule.

    Parameters
    ----------
    load : Load
        How long it is on, in which window, and by which temperature rule.
    sky : Sky
        Nights and cabin temperature.

    Returns
    -------
    ndarray, shape (n,)
        Above 1 where a fridge cannot keep cold, however long it runs. [-]
    """
    share = np.ones_like(sky.cabin_C)
    if load.on_frac is not None:
        share *= load.on_frac
    else:
        on_h = load.time_on_h_per_day
        assert on_h is not None, "a load has a share of the time or a time a day"
        hours = np.asarray(open_h_per_day(load.window, sky=sky), dtype=float)
        # A window shorter than the on-time leaves the load fully on; so does one of no length,
        # whose open share is zero anyway.
        share *= on_h / np.maximum(hours, max(on_h, 1e-9))
    if load.temperature_rule == "fridge":
        return share * fridge_factor(sky.cabin_C)
    if load.temperature_rule == "heater":
        return share * (sky.cabin_C < HEATER_BELOW_C)
    return share


def fridge_factor(cabin_C: FloatsT) -> FloatsT:
    """How much longer a fridge runs than in a cabin of 25 degrees.

    Parameters
    ----------
    cabin_C : float or ndarray
        Temperature in the cabin. [degC]

    Returns
    -------
    float or ndarray
        Of its on-time there; 0 where the cabin is no warmer than the box. [-]

    Notes
    -----
    Heat leaks in as the cabin is warmer than the box. Above 25 degrees the machine also moves less
    of it for the same draw, as an ideal one between evaporator and condenser does: its coefficient
    of performance is T / (T' - T) in kelvin, and T stays. Below 25 degrees the same would be a
    gain, which is not counted on. From a cabin of 5 to one of 43 degrees, the warmest that fridges
    are built for (climate class T, from memory); beyond it is the same line.

    Examples
    --------
    >>> [float(fridge_factor(cabin_C)) for cabin_C in (5.0, 15.0, 25.0, 35.0)]
    [0.0, 0.5, 1.0, 1.8]
    """
    leak = (cabin_C - FRIDGE_BOX_C) / (FRIDGE_RATED_CABIN_C - FRIDGE_BOX_C)
    lift_C = cabin_C + FRIDGE_WARMER_C - FRIDGE_COLD_C
    rated_lift_C = FRIDGE_RATED_CABIN_C + FRIDGE_WARMER_C - FRIDGE_COLD_C
    return np.maximum(leak, 0.0) * np.maximum(lift_C / rated_lift_C, 1.0)
