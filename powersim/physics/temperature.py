"""How much of a bank's charge a cold bank gives.

Cold makes charge unreachable; it does not destroy it: it is there again in the trades.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from powersim.records import CHEMISTRIES

if TYPE_CHECKING:
    from powersim.records.arrays import FloatsT


def reachable_frac(chemistry: str, bank_C: FloatsT) -> FloatsT:
    """Share of the capacity that can be reached at this temperature.

    Parameters
    ----------
    chemistry : str
        One of records.CHEMISTRIES.
    bank_C : float or ndarray
        Temperature of the bank. [degC]

    Returns
    -------
    float or ndarray
        Share of the 20-hour capacity at 25 degC. [-]

    Notes
    -----
    Clips to the chemistry's table: colder than its coldest row (-3.9 degC for lead-acid) it gives
    that row; warmer than 25 degC it gives 1, so warmth is never credited, though a lead-acid bank
    gives some 6 % more at 32 degC. The factors are those of discharges over many hours.

    References
    ----------
    .. [1] IEEE Std 485, Recommended Practice for Sizing Lead-Acid Batteries for Stationary
       Applications, Table 1: the reciprocal of the cell size correction factor.

    Examples
    --------
    >>> float(reachable_frac("flooded", 30.0))
    1.0
    """
    table = CHEMISTRIES[chemistry].curves.reachable
    return np.interp(bank_C, table.bank_C, table.share_frac)
