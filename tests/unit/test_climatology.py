"""The monthly table between its cells, over the date line and at the poles."""

import numpy as np
import pytest

from powersim.sky.climatology import monthly_mean

NAMES = ("kt", "cloud_frac", "air_C", "wind_m_s")
# April has 30 days: its middle is the start of the 15th, where the table stands alone.
MID_APRIL_S = np.datetime64("2027-04-15", "s").astype(float)


def at(lat_deg, lon_deg, utc_s=MID_APRIL_S, names=NAMES):
    places = np.broadcast_arrays(
        np.asarray(lat_deg, dtype=float), np.asarray(lon_deg, dtype=float), np.asarray(utc_s)
    )
    lat_deg, lon_deg, utc_s = (np.atleast_1d(place) for place in places)
    return np.array(monthly_mean(*names, lat_deg=lat_deg, lon_deg=lon_deg, utc_s=utc_s))


def test_values_lie_within_what_the_sea_can_be():
    lat_deg, lon_deg = np.meshgrid(np.linspace(-75, 75, 61), np.linspace(-180, 180, 91))
    kt, cloud_frac, air_C, wind_m_s = at(lat_deg.ravel(), lon_deg.ravel())
    assert 0.1 < kt.min() < kt.max() < 0.9
    assert 0.0 <= cloud_frac.min() < cloud_frac.max() <= 1.0
    assert -60.0 < air_C.min() < air_C.max() < 40.0
    assert 0.5 < wind_m_s.min() < wind_m_s.max() < 16.0


def test_between_four_cells_is_their_mean():
    corners = at([11.25, 11.25, 13.75, 13.75], [-41.25, -38.75, -41.25, -38.75])
    assert at(12.5, -40.0)[:, 0] == pytest.approx(corners.mean(axis=1))


def test_between_the_last_and_the_first_column_is_their_mean():
    corners = at([11.25, 11.25], [178.75, -178.75])
    for date_line in (180.0, -180.0, 540.0):
        assert at(11.25, date_line)[:, 0] == pytest.approx(corners.mean(axis=1))


def test_the_poles_hold_the_last_row():
    for pole, row in ((90.0, 88.75), (-90.0, -88.75)):
        assert at(pole, 33.75) == pytest.approx(at(row, 33.75))


def test_the_year_closes():
    before, after = (
        at(-40.0, -150.0, np.datetime64(stamp, "s").astype(float))
        for stamp in ("2027-12-31T23:00", "2028-01-01T01:00")
    )
    january, december = (
        at(-40.0, -150.0, np.datetime64(stamp, "s").astype(float))
        for stamp in ("2028-01-16", "2027-12-16")
    )
    span = np.abs(january - december)
    assert np.all(np.abs(after - before) <= span / 25.0)
