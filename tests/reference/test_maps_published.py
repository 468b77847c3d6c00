"""Maps against a printed example, the size of the world's land, and places that all charts show."""

import numpy as np
import pytest

from powersim.report.coastline import land_in, rings
from powersim.report.projection import Mercator

#: Authalic radius of the earth, Moritz, Geodetic Reference System 1980, from memory. [km]
RADIUS_KM = 6371.007


def test_mercator_as_snyder_prints_it():
    """J. P. Snyder, Map Projections: A Working Manual, USGS Professional Paper 1395 (1987),
    page 266, sphere of radius 1, from memory: 35 N 75 W counted from 180 W is x 1.8325957,
    y 0.6528366. By the definition: 105 degrees are 1.8325957, and asinh(tan 35) is 0.6528366."""
    x, y = Mercator(middle_lon_deg=-180.0).place(35.0, -75.0)
    assert (float(x), float(y)) == pytest.approx((1.8325957, 0.6528366), abs=5e-8)


def test_the_land_has_the_size_of_the_worlds_land():
    """The World Factbook has 148.94 million square kilometres of land, from memory. Outlines at
    1:50 million leave out small islands and bends, and one lake is water here: 2 %."""
    doubled = 0.0
    for ring in rings():
        # The cylinder over the equator has the areas of the sphere (Archimedes).
        x, y = np.radians(ring[:, 0]), np.sin(np.radians(ring[:, 1]))
        doubled += float(np.sum(x[1:] * y[:-1] - x[:-1] * y[1:]))
    assert doubled / 2.0 * RADIUS_KM**2 / 1e6 == pytest.approx(148.94, rel=0.02)


#: Positions from any chart or atlas; the buoys' from their own pages in tests/reference/data.
@pytest.mark.parametrize(
    ("name", "lat_deg", "lon_deg", "land"),
    [
        ("Madrid", 40.4, -3.7, True),
        ("Pico in the Azores", 38.46, -28.4, True),
        ("Santiago in Cabo Verde", 15.1, -23.6, True),
        ("Viti Levu, close to the date line", -17.8, 178.0, True),
        ("Chukotka, west of the date line", 67.0, 178.0, True),
        ("Chukotka, east of it", 67.0, -178.0, True),
        ("near the south pole", -89.5, 10.0, True),
        ("the Caspian Sea", 42.0, 51.0, False),
        ("the buoy at 0 N 140 W", 0.0, -140.0, False),
        ("the buoy at 12 N 90 E", 12.0, 90.0, False),
        ("the north pole", 89.5, 0.0, False),
    ],
)
def test_land_and_sea_are_where_they_are(name, lat_deg, lon_deg, land):
    """In a box about the place, which cuts the outlines as a map's frame does."""
    box = {"west_deg": lon_deg - 6.0, "east_deg": lon_deg + 6.0}
    box |= {"south_deg": max(lat_deg - 5.0, -90.0), "north_deg": min(lat_deg + 5.0, 90.0)}
    assert (turns_about(lat_deg, lon_deg, land_in(**box)) != 0) is land, name


def turns_about(lat_deg, lon_deg, outlines):
    """How often outlines go round a place."""
    turns = 0
    for ring in outlines:
        angle = np.unwrap(np.arctan2(ring[:, 1] - lat_deg, ring[:, 0] - lon_deg))
        turns += round((angle[-1] - angle[0]) / (2.0 * np.pi))
    return turns
