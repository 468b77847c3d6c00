"""Light under a cloudless sky at sea level."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from powersim.sky.months import between_months

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Ints

CELLS_PER_DEG = 12  # pvlib's turbidity table has 2160 x 4320 cells
TABLE_SCALE = 20.0  # it holds twenty times the turbidity [-]
# Perez et al. 2002: exp(0.01 m^1.8), m the air mass; held beyond m = 8, a sun of 6.7 degrees, up to
# which it was within 7 % of what was measured (docs/model/track-and-sky.md). [-]
ENHANCED_FACTOR, ENHANCED_POWER = 0.01, 1.8
MOST_ENHANCED_AIRMASS = 8.0
# Haze in the cleanest air, by latitude: what the brightest days of measured years are seen in,
# docs/model/synthetic_days.md. Moist air is never as clean as polar air. [deg, -]
CLEANEST_AT_DEG, CLEANEST_TURBIDITY = (15.0, 35.0), (3.0, 2.5)
# A track of months touches some thousand cells, and is looked up again and again.
MOST_READ = 50_000  # cells that are remembered [-]
_READ: dict[int, Ints] = {}  # cell: its twelve months


class ClearLight(NamedTuple):
    """Light under a cloudless sky.

    Attributes
    ----------
    ghi_W_m2 : ndarray
        On the horizontal. [W/m^2]
    dni_W_m2 : ndarray
        Beam, facing the sun. [W/m^2]
    """

    ghi_W_m2: Array
    dni_W_m2: Array


def clear_light(elevation_deg: Array, *, turbidity: Array, extra_W_m2: Array) -> ClearLight:
    """Clear-sky light on the horizontal and beam by Ineichen and Perez, low sun enhanced.

    Parameters
    ----------
    elevation_deg : ndarray
        Apparent elevation of the sun. [deg]
    turbidity : ndarray
        Linke turbidity at air mass 2. [-]
    extra_W_m2 : ndarray
        Light above the atmosphere facing the sun. [W/m^2]

    Returns
    -------
    ClearLight
        0 with the sun below the horizon.

    Notes
    -----
    With the factor exp(0.01 m^1.8) of the air mass m that Perez puts on the light of the first
    paper. Without it a sun of 10 degrees gives a fifth too little, nearly all of that diffuse: the
    clearest days of December at 53 N were a third brighter than such a sky. It is made for the sun
    well up and grows without bounds at the horizon, so beyond an air mass of 8 it is held.

    References
    ----------
    .. [1] P. Ineichen and R. Perez, A new airmass independent formulation for the Linke turbidity
       coefficient, Solar Energy 73 (2002) 151-157; pvlib.clearsky.ineichen.
    .. [2] R. Perez et al., A new operational model for satellite-derived irradiances: description
       and validation, Solar Energy 73 (2002) 307-317; the same with perez_enhancement.
    .. [3] F. Kasten and A. T. Young, Revised optical air mass tables, Applied Optics 28 (1989)
       4735-4738; pvlib.atmosphere.get_relative_airmass.
    """
    from pvlib.atmosphere import get_relative_airmass
    from pvlib.clearsky import ineichen

    up = elevation_deg > 0
    zenith_deg = 90.0 - elevation_deg[up]
    # At sea level the absolute air mass is the relative one.
    airmass = get_relative_airmass(zenith_deg, model="kastenyoung1989")
    sky = ineichen(
        zenith_deg,
        airmass,
        turbidity[up],
        altitude=0,
        dni_extra=extra_W_m2[up],
        perez_enhancement=True,
    )
    held = np.minimum(airmass, MOST_ENHANCED_AIRMASS) ** ENHANCED_POWER - airmass**ENHANCED_POWER
    ghi_W_m2, dni_W_m2 = np.zeros(elevation_deg.shape), np.zeros(elevation_deg.shape)
    ghi_W_m2[up] = sky["ghi"] * np.exp(ENHANCED_FACTOR * held)
    dni_W_m2[up] = np.minimum(sky["dni"], ghi_W_m2[up] / np.cos(np.radians(zenith_deg)))
    return ClearLight(ghi_W_m2=ghi_W_m2, dni_W_m2=dni_W_m2)


def clear_ghi_W_m2(elevation_deg: Array, *, turbidity: Array, extra_W_m2: Array) -> Array:
    """Clear-sky light on the horizontal.

    Parameters
    ----------
    elevation_deg : ndarray
        Apparent elevation of the sun. [deg]
    turbidity : ndarray
        Linke turbidity at air mass 2. [-]
    extra_W_m2 : ndarray
        Light above the atmosphere facing the sun. [W/m^2]

    Returns
    -------
    ndarray
        0 with the sun below the horizon. [W/m^2]
    """
    return clear_light(elevation_deg, turbidity=turbidity, extra_W_m2=extra_W_m2).ghi_W_m2


def linke_turbidity(lat_deg: Array, lon_deg: Array, utc_s: Array) -> Array:
    """Haze and moisture of the air, from pvlib's monthly world table.

    Parameters
    ----------
    lat_deg, lon_deg : ndarray, shape (n,)
        Place; any turn of longitude. [deg]
    utc_s : ndarray, shape (n,)
        Unix time. [s]

    Returns
    -------
    ndarray, shape (n,)
        Number of clean, dry atmospheres that would dim the beam as much. [-]

    Notes
    -----
    Gives what pvlib.clearsky.lookup_linke_turbidity gives place by place: the cell the boat is in,
    and between the middles of months a straight line, by the day. Each cell is read once in the
    life of the process.

    References
    ----------
    .. [1] J. Remund et al., Worldwide Linke turbidity information, ISES Solar World Congress,
       Goteborg 2003; the table LinkeTurbidities.h5 of pvlib.
    """
    row = _cell(90.0 - np.asarray(lat_deg, dtype=float), 180 * CELLS_PER_DEG)
    lon_deg = lon_deg - 360.0 * np.round(np.asarray(lon_deg) / 360.0)  # 180 stays, and so does -180
    column = _cell(lon_deg + 180.0, 360 * CELLS_PER_DEG)
    cells, inverse = np.unique(row * 360 * CELLS_PER_DEG + column, return_inverse=True)
    by_month = _table_of(cells.tolist()) / TABLE_SCALE
    before, after, weight = between_months(utc_s)
    early, late = by_month[inverse, before], by_month[inverse, after]
    return early + weight * (late - early)


def cleanest_turbidity(lat_deg: Array) -> Array:
    """Haze and moisture of the cleanest air that there is at a latitude.

    Parameters
    ----------
    lat_deg : ndarray
        Latitude. [deg]

    Returns
    -------
    ndarray
        As of `linke_turbidity`. [-]

    Examples
    --------
    >>> cleanest_turbidity(np.array([0.0, -25.0, 53.0])).tolist()
    [3.0, 2.75, 2.5]
    """
    return np.interp(np.abs(lat_deg), CLEANEST_AT_DEG, CLEANEST_TURBIDITY)


def _cell(from_edge_deg: Array, count: int) -> Ints:
    # pvlib rounds to the nearest of `count` centres that begin half a cell from the edge.
    nearest = np.around(from_edge_deg * CELLS_PER_DEG - 0.5).astype(int)
    return np.clip(nearest, 0, count - 1)


def _table_of(cells: Sequence[int]) -> Array:
    """The twelve months of some cells, as the table holds them, shape (cells, 12)."""
    if unread := [cell for cell in cells if cell not in _READ]:
        import h5py
        import pvlib

        if len(_READ) > MOST_READ:
            _READ.clear()
            unread = [*cells]
        with h5py.File(f"{pvlib.__path__[0]}/data/LinkeTurbidities.h5", "r") as file:
            table = file["LinkeTurbidity"]
            _READ.update({cell: table[divmod(cell, 360 * CELLS_PER_DEG)] for cell in unread})
    picked = [_READ[cell] for cell in cells]
    return np.array(picked, dtype=float).reshape(len(picked), 12)  # also where there are none
