"""What a charger on shore power offers: its rated current, wherever the boat lies at a berth."""

from __future__ import annotations

import numpy as np

from powersim.physics.offering import Offering
from powersim.records import BOAT_STATES
from powersim.voyage.ship_time import in_hours

_BERTHED = BOAT_STATES.index("berthed")


def shore_offer_A(charger, *, track, sky):
    """What a charger on shore power offers along a track.

    Parameters
    ----------
    charger : ShorePower
    track : Track
        For the state, and ship's time.
    sky : Sky
        Without effect.

    Returns
    -------
    ndarray, shape (n,)
        Its rated current while berthed and within its hours, else 0; the middle of the step
        decides. [A]
    """
    plugged = (track.state == _BERTHED) & in_hours(track, charger.hours_h)
    return np.where(plugged, charger.rated_A, 0.0)


OFFERING = Offering(along=shore_offer_A)  # a berth has power in any weather
