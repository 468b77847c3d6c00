"""Outlines of land, cut to a box."""

import numpy as np
import pytest

from powersim.report.coastline import is_shore, land_in, rings


def test_no_outline_crosses_the_date_line_and_all_are_closed():
    for ring in rings():
        assert np.array_equal(ring[0], ring[-1])
        assert np.abs(np.diff(ring[:, 0])).max() <= 180.0 or (np.abs(ring[:, 0]) == 180.0).any()
        assert -180.0 <= ring[:, 0].min() <= ring[:, 0].max() <= 180.0


def test_what_is_cut_lies_in_the_box_and_is_closed():
    box = {"west_deg": 170.0, "east_deg": 190.0, "south_deg": -45.0, "north_deg": -10.0}
    found = land_in(**box)
    assert found
    for ring in found:
        assert np.array_equal(ring[0], ring[-1])
        assert ring[:, 0].min() >= 170.0 - 1e-9
        assert ring[:, 0].max() <= 190.0 + 1e-9
        assert ring[:, 1].min() >= -45.0 - 1e-9
        assert ring[:, 1].max() <= -10.0 + 1e-9
    # Fiji lies on both sides of the line, and so do its outlines here.
    assert any(ring[:, 0].min() < 180.0 for ring in found)
    assert any(ring[:, 0].max() > 180.0 for ring in found)


def test_a_box_in_the_same_sea_counted_once_more_around_holds_the_same_land():
    box = {"south_deg": 30.0, "north_deg": 45.0}
    once = land_in(west_deg=-35.0, east_deg=-5.0, **box)
    again = land_in(west_deg=325.0, east_deg=355.0, **box)
    assert len(once) == len(again) > 0
    for ring, other in zip(once, again, strict=True):
        assert other - ring == pytest.approx(np.full(ring.shape, (360.0, 0.0)))


def test_a_box_within_land_is_land_and_one_at_sea_is_empty():
    (sahara,) = land_in(west_deg=0.0, east_deg=2.0, south_deg=22.0, north_deg=24.0)
    assert np.ptp(sahara, axis=0) == pytest.approx([2.0, 2.0])
    assert land_in(west_deg=-41.0, east_deg=-39.0, south_deg=29.0, north_deg=31.0) == []


def test_the_cut_along_the_date_line_and_the_pole_is_no_shore():
    chukotka = max(land_in(west_deg=170.0, east_deg=190.0, south_deg=62.0, north_deg=72.0), key=len)
    seam = np.isclose(chukotka[:, 0], 180.0)
    assert (~is_shore(chukotka) == (seam[1:] & seam[:-1])).all()
    antarctica = max(rings(), key=lambda ring: np.ptp(ring[:, 0]) - ring[:, 1].min())
    assert not is_shore(antarctica)[
        (antarctica[:-1, 1] == -90.0) & (antarctica[1:, 1] == -90.0)
    ].any()
    assert is_shore(antarctica).sum() > 100
