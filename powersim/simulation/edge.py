"""The edge of an ensemble: what all members stay above, but for as many as may fail."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from powersim.simulation.verdict import too_often

if TYPE_CHECKING:
    from powersim.records.arrays import Array
    from powersim.simulation.ensemble import EnsembleResult


def may_fail(members: int, *, risk_frac: float) -> int:
    """How many members may fail.

    Parameters
    ----------
    members : int
        How many there are.
    risk_frac : float
        Share of them that is put up with. [-]

    Returns
    -------
    int
        The most of which the verdict still says that it holds.

    Examples
    --------
    >>> may_fail(200, risk_frac=0.05), may_fail(10, risk_frac=0.05)
    (10, 0)
    """
    shares = np.arange(members + 1) / members
    return int(np.count_nonzero(~too_often(shares, risk_frac))) - 1


def edge_soc(ensemble: EnsembleResult, *, risk_frac: float) -> Array:
    """The lowest charge, hour by hour, of all members but those that fall lowest.

    Parameters
    ----------
    ensemble : EnsembleResult
        What came of the members.
    risk_frac : float
        Share of them that may fail, and is left out. [-]

    Returns
    -------
    ndarray, shape (hours,)
        Lowest state of charge within each hour or at its end. [-]

    Notes
    -----
    Its lowest point is below the floor if more members fall below the floor than may, and only
    then. A quantile hour by hour would not do: members that fall below the floor one after the
    other, each for a night, hardly move it.
    """
    left_out = min(may_fail(ensemble.members, risk_frac=risk_frac), ensemble.members - 1)
    kept = np.argsort(ensemble.lowest_soc, kind="stable")[left_out:]
    edge = ensemble.hour_soc[:, kept].min(axis=1)
    # Within an hour a member may have been lower than at its end.
    at = np.clip(np.ceil(ensemble.lowest_h[kept]).astype(int) - 1, 0, len(edge) - 1)
    np.minimum.at(edge, at, ensemble.lowest_soc[kept])
    return edge
