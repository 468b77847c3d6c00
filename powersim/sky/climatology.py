"""What a month usually brings at sea: clearness, cloud, air temperature, wind.

The tables (data/ocean_climatology.npz and, for light, data/second_light.npz; data/PROVENANCE.md
tells where they are from and how good they are) have a value for the middle of each month on a grid
of 2.5 degrees, every cell filled.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from powersim.sky.months import between_months

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Ints

GRID_DEG = 2.5  # cell to cell, centres 1.25 degrees off the poles and the date line [deg]
# The clearness in the table is a share of 1361 W/m2 at the mean distance of the sun. [W/m^2]
SOLAR_CONSTANT_W_m2 = 1361.0
_DATA = Path(__file__).parent / "data"
_TABLE, _SECOND = _DATA / "ocean_climatology.npz", _DATA / "second_light.npz"
# Two tables of light, neither better than the other: measured months lie halfway between them, at
# the coasts of 53 N, at 50 N 145 W and on the equator alike; docs/model/monthly_light.md. [-]
SECOND_WEIGHT = 0.5
# name: (file, key in it, what one count stands for)
_FIELDS = {
    "kt_first": (_TABLE, "kt_x1000", 1e-3),
    "kt_second": (_SECOND, "kt_x1000", 1e-3),
    "cloud_frac": (_TABLE, "cloud_x100", 1e-2),
    "air_C": (_TABLE, "air_C_x10", 1e-1),
    "wind_m_s": (_TABLE, "wind_m_s_x100", 1e-2),
}


def monthly_mean(*names: str, lat_deg: Array, lon_deg: Array, utc_s: Array) -> tuple[Array, ...]:
    """Monthly means at given places and moments.

    Parameters
    ----------
    *names : str
        Of "kt" (light at the surface over light above the atmosphere), "kt_first" and "kt_second"
        (the two tables that it is the mean of), "kt_apart" (how far they are apart), "cloud_frac",
        "air_C" and "wind_m_s" (at 10 m).
    lat_deg, lon_deg : ndarray, shape (n,)
        Place; any turn of longitude. [deg]
    utc_s : ndarray, shape (n,)
        Unix time. [s]

    Returns
    -------
    tuple of ndarray, shape (n,)
        One for each name.

    Notes
    -----
    Straight lines between the four nearest centres and between the middles of months. Poleward of
    the last centres, at 88.75 degrees, their values are held.
    """
    before, after, weight = between_months(utc_s)
    rows, row_weights = _corners(np.clip(np.asarray(lat_deg) + 90.0, 1.25, 178.75))
    columns, column_weights = _corners(np.asarray(lon_deg) + 180.0)
    means = []
    for name in names:
        grid = _grid(name)
        mean = np.zeros(())
        for row, row_weight in zip(rows, row_weights, strict=True):
            for column, column_weight in zip(columns, column_weights, strict=True):
                cell = np.minimum(row, grid.shape[1] - 1), column % grid.shape[2]
                early, late = grid[before, *cell], grid[after, *cell]
                mean = mean + row_weight * column_weight * (early + weight * (late - early))
        means.append(mean)
    return tuple(means)


def _corners(from_edge_deg: Array) -> tuple[tuple[Ints, Ints], tuple[Array, Array]]:
    """The centre below and the one above, and their weights."""
    centre = from_edge_deg / GRID_DEG - 0.5
    low = np.floor(centre).astype(int)
    return (low, low + 1), (1.0 - (centre - low), centre - low)


@cache
def _grid(name: str) -> Array:
    if name == "kt":
        return _grid("kt_first") + SECOND_WEIGHT * (_grid("kt_second") - _grid("kt_first"))
    if name == "kt_apart":
        return np.abs(_grid("kt_second") - _grid("kt_first"))
    path, key, count = _FIELDS[name]
    with np.load(path) as table:
        return table[key] * count
