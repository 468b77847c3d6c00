"""When the acid of a lead-acid bank freezes: the flatter the bank, the nearer to 0 degrees."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from powersim.records.arrays import FloatsT

# State of charge, the acid's specific gravity at 25 degrees (common practice, no source) and where
# acid of that strength freezes (from memory; the tests hold them against the freezing points of
# sulphuric acid and water). A worn bank's acid is weaker, and so is that of one drained below 0.
_ACID = (
    (0.00, 1.12, -10.0),
    (0.25, 1.155, -16.0),
    (0.50, 1.19, -25.0),
    (0.75, 1.225, -37.0),
    (1.00, 1.265, -60.0),
)


def freezes_C(soc: FloatsT) -> FloatsT:
    """Temperature at which the acid begins to freeze.

    Parameters
    ----------
    soc : float or ndarray
        State of charge; flatter than 0 it is held. [-]

    Returns
    -------
    float or ndarray
        Straight lines between five states of charge. [degC]

    Examples
    --------
    >>> float(freezes_C(0.5))
    -25.0
    """
    socs, _, points_C = zip(*_ACID, strict=True)
    return np.interp(soc, socs, points_C)
