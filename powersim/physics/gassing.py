"""What of a charging current stays in the bank, and what leaves it as gas.

Little is lost below 70 %, most near full: the share that stays falls with the eighth power of the
state of charge. The shape is a choice of our own between Stevens and Corey's old antimony cell,
which loses far more from 80 % on, and a loss that is the same everywhere.
"""

from __future__ import annotations

import numpy as np

# Most of the current at full that is laid to gassing alone; a worse bank loses everywhere alike.
_MOST_GASSING_FRAC = 0.9
_HALVINGS = 50  # of the bracket for gassing: to the last digit of a float
_CYCLE_POINTS = 2000  # at which a cycle's gassing is summed: to 1e-5 of the efficiency


def gassing_of(efficiency_frac: float, *, floor_soc: float) -> tuple[float, float]:
    """How much is stored when empty, and how much less when full, for a cycle's efficiency.

    Parameters
    ----------
    efficiency_frac : float
        Ampere-hours out over ampere-hours in, from the floor to full. [-]
    floor_soc : float
        Where the cycle begins. [-]

    Returns
    -------
    tuple of float
        Share stored at soc 0, and by how much it has fallen at soc 1. [-]

    Notes
    -----
    Ah in for each Ah stored is the mean of 1 / stored share over the cycle.

    References
    ----------
    .. [1] J. W. Stevens and G. P. Corey, "A study of lead-acid battery efficiency near
       top-of-charge and the impact on PV system design", IEEE PVSC 1996: 55 % between 79 and 84 %
       of charge, a stress case and not what is used here.

    Examples
    --------
    >>> gassing_of(1.0, floor_soc=0.5)[0]
    1.0
    """
    soc = floor_soc + (1.0 - floor_soc) * (np.arange(_CYCLE_POINTS) + 0.5) / _CYCLE_POINTS
    eighth = soc**8

    def efficiency(gassing: float) -> float:
        return 1.0 / float(np.mean(1.0 / (1.0 - gassing * eighth)))

    low, high = 0.0, _MOST_GASSING_FRAC
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if efficiency(middle) > efficiency_frac:
            low = middle
        else:
            high = middle
    kept = min(1.0, efficiency_frac / efficiency(high))
    return kept, kept * high
