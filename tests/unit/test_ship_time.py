"""Ship's time at the borders of zones and at the date line."""

import numpy as np
import pytest

from powersim.voyage.ship_time import ship_offset_h


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
