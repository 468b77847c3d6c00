"""What shore power offers: its rated current at a berth, within its hours of ship's time."""

from types import SimpleNamespace

import numpy as np
import pytest

from powersim.physics.shore_power import shore_offer_A
from powersim.records import BOAT_STATES, ShorePower


def day_at(state, *, ship_offset_h=0.0):
    """Twenty-four steps of an hour from midnight UTC, all in one state."""
    return SimpleNamespace(
        mid_utc_s=3600.0 * (np.arange(24) + 0.5),
        ship_offset_h=np.full(24, ship_offset_h),
        state=np.full(24, BOAT_STATES.index(state)),
    )


@pytest.mark.parametrize(
    ("state", "amps"), [("berthed", 20.0), ("anchored", 0.0), ("sailing", 0.0)]
)
def test_only_at_a_berth(state, amps):
    offered = shore_offer_A(ShorePower(rated_A=20.0), track=day_at(state), sky=None)
    assert offered.tolist() == [amps] * 24


def test_only_within_its_hours_of_ships_time_over_midnight_too():
    """18:00 to 08:00 are 14 hours; three hours ahead of UTC they are 15:00 to 05:00 there."""
    charger = ShorePower(rated_A=20.0, hours_h=(18.0, 8.0))
    at_home = shore_offer_A(charger, track=day_at("berthed"), sky=None)
    assert np.flatnonzero(at_home).tolist() == [*range(8), *range(18, 24)]
    east = shore_offer_A(charger, track=day_at("berthed", ship_offset_h=3.0), sky=None)
    assert np.flatnonzero(east).tolist() == [*range(5), *range(15, 24)]
