"""How a bank comes to rest: what its voltage still has of a charge, and lacks after a discharge.

The kernel's bank is at rest at once. What that leaves out counts where a voltmeter is read, and is
part of how far a reading errs (simulation/reading_parts.py).
"""

from __future__ import annotations

import math

#: What stands on a full lead-acid bank of 12 V after its charger is switched off, with nothing on:
#: a part that goes within minutes, and one that takes a night and a day. Fitted to four rests of
#: two measured batteries (docs/fit_rest.py, docs/model/reading.md). [V], [h]
SURFACE = ((0.06, 0.13), (0.41, 7.1))
#: What is lacking after a discharge to the end at a sixth to a tenth of the capacity an hour,
#: fitted to four rests of the same two batteries. [V], [h]
SAGGED = ((0.22, 0.41), (0.05, 3.3))
#: Share of the capacity that is drawn while what stood on the bank falls to 1/e. In three measured
#: discharges the volts were within 0.02 V of where the discharge went on by the time a quarter per
#: cent had been drawn, which makes it 0.1 % at most; five times that, since a usual load draws it
#: far more slowly. [-]
DRAWN_FRAC = 0.005
#: Share of the capacity after which little of it is left: a seventh. [-]
CLEARED_FRAC = 2.0 * DRAWN_FRAC


def surface_V(rest_h: float, *, drawn_frac: float = 0.0) -> float:
    """How far a lead-acid bank stands above its rested voltage after a full charge.

    Parameters
    ----------
    rest_h : float
        Time since the charge ended. [h]
    drawn_frac : float
        Share of its capacity that loads have drawn since. [-]

    Returns
    -------
    float
        For a block of 12 V. [V]

    Examples
    --------
    >>> round(surface_V(2.0), 2), round(surface_V(2.0, drawn_frac=0.02), 3)
    (0.31, 0.006)
    """
    return _left_V(SURFACE, rest_h) * math.exp(-drawn_frac / DRAWN_FRAC)


def sagged_V(rest_h: float) -> float:
    """How far a lead-acid bank stands below its rested voltage after a discharge to the end.

    Parameters
    ----------
    rest_h : float
        Time since the discharge ended. [h]

    Returns
    -------
    float
        For a block of 12 V. [V]

    Examples
    --------
    >>> round(sagged_V(0.5), 2), round(sagged_V(2.0), 2)
    (0.12, 0.03)
    """
    return _left_V(SAGGED, rest_h)


def _left_V(parts: tuple[tuple[float, float], ...], rest_h: float) -> float:
    return sum(volts * math.exp(-rest_h / time_h) for volts, time_h in parts)
