"""Ship's time at the borders of zones and at the date line."""

from types import SimpleNamespace

import numpy as np
import pytest

from powersim.voyage.ship_time import in_hours, ship_offset_h


@pytest.mark.parametrize(
    ("lon_deg", "offset_h"),
    [
        (0.0, 0),
        (7.49, 0),
        (7.5, 1),
        (-7.5, 0),
        (-7.51, -1),
        (-22.0, -1),
        (172.5, 12),
        (180.0, 12),
        (-180.0, -12),
        (-172.6, -12),
    ],
)
def test_zones_of_fifteen_degrees(lon_deg, offset_h):
    """Zone time at sea, 15 degrees an hour about Greenwich; common practice, no source."""
    assert ship_offset_h(np.array([lon_deg])).tolist() == [offset_h]


def test_a_fixed_offset_holds_everywhere():
    assert ship_offset_h(np.array([-100.0, 100.0]), fixed_h=5.5).tolist() == [5.5, 5.5]


@pytest.mark.parametrize(
    ("hours_h", "utc"),
    [((8.0, 10.0), [10, 11]), ((22.0, 2.0), [0, 1, 2, 3]), ((0.0, 24.0), list(range(24)))],
)
def test_hours_of_the_ships_day(hours_h, utc):
    """At 30 W the clock aboard is two hours behind UTC: 8 to 10 aboard are 10 to 12 UTC, and 22 to
    2 are 0 to 4. Hours by their middle, half past.
    """
    track = SimpleNamespace(
        mid_utc_s=3600.0 * (np.arange(24) + 0.5), ship_offset_h=np.full(24, -2.0)
    )
    assert np.flatnonzero(in_hours(track, hours_h)).tolist() == utc
