"""What a boat usually draws: before dawn, when a voltmeter is read, and over a day."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from powersim.voyage.ship_time import in_hours

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools
    from powersim.simulation.prepared import Prepared

#: Ship's time before dawn, long after the last charge. [h]
BEFORE_DAWN_h = (3.0, 6.0)


def usual_load_A(prepared: Prepared) -> float:
    """Mean draw of all loads before dawn.

    Parameters
    ----------
    prepared : Prepared
        The passage.

    Returns
    -------
    float
        At the nominal voltage. [A]
    """
    return mean_load_A(prepared, in_hours(prepared.track, BEFORE_DAWN_h))


def mean_load_A(prepared: Prepared, some: Bools | None = None) -> float:
    """Mean draw of all loads over some steps, or over all if there are none.

    Parameters
    ----------
    prepared : Prepared
        The passage.
    some : ndarray of bool, shape (n,), optional
        Which steps; all if left out.

    Returns
    -------
    float
        At the nominal voltage. [A]
    """
    draw_A = load_A(prepared)
    chosen_A = draw_A if some is None else draw_A[some]
    return float(np.mean(chosen_A if chosen_A.size else draw_A))


def load_A(prepared: Prepared) -> Array:
    """Draw of all loads in average weather.

    Parameters
    ----------
    prepared : Prepared
        The passage.

    Returns
    -------
    ndarray, shape (n,)
        At the nominal voltage. [A]
    """
    signals = prepared.signals
    nominal_V = 12.0 * prepared.plant.bank.blocks
    return (signals.load_A + signals.load_W / nominal_V).sum(axis=1)[..., 0]
