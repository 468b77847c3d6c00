"""What a charger on shore power offers: its rated current, wherever the boat lies at a berth."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from powersim.physics.offering import Offering
from powersim.records import BOAT_STATES, ShorePower
from powersim.voyage.ship_time import in_hours

if TYPE_CHECKING:
    from powersim.records.arrays import Array
    from powersim.sky.sky import Sky
    from powersim.voyage.track import Track

_BERTHED = BOAT_STATES.index("berthed")


def shore_offer_A(charger: ShorePower, *, track: Track, sky: Sky) -> Array:
    """What a charger on shore power offers along a track.

    Parameters
    ----------
    charger : ShorePower
        Its current, and the hours in which it is plugged in.
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
